"""Checks of a season file against the fish met before: a taxon new to the watershed, one missing that was always
there, half the species gone, fish far too heavy or too light. Pure code.

The limits are those in force: see ``surveys.rules``.
"""

import statistics
from collections.abc import Iterable

import numpy as np

from surveys.rules import Rules
from surveys.said import marked, said, said_n
from surveys.uploads.field_checks import fish_weighed
from surveys.uploads.findings import WARNING, Finding
from surveys.uploads.grouping import Grouped
from surveys.uploads.known import Known, KnownStation, MeanWeights
from surveys.uploads.values import fold


def check_history(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    """Visit by visit what is missing, row by row what is new to the watershed or weighs too much or little."""
    station, taxon, count = rows.cells["station"], rows.cells["taxon"], rows.cells["count"].numbers()
    weight, in_batch = rows.cells["biomass_g"].numbers(), fish_weighed(rows)
    caught = np.flatnonzero(station.filled & taxon.filled & (count > 0) & (rows.visit_of_row >= 0))
    met: list[set[int]] = [set() for _ in range(rows.visit_count)]
    told: set[tuple[int, int]] = set()
    for row in caught.tolist():
        place = known.stations.get(fold(station.value(row)))
        key = taxon.value(row)
        if place is None or key[0] != "known":
            continue
        fish = int(key[1])
        met[int(rows.visit_of_row[row])].add(fish)
        if place.watershed_taxa and fish not in place.watershed_taxa and (place.key, fish) not in told:
            told.add((place.key, fish))
            findings.append(_new_to_watershed(rows.line(row), known.taxon_names[fish], place))
        weights = known.mean_weights.get(fish)
        # A weight of zero has a remark of its own.
        if weights and weight[row] > 0:
            each = weight[row] / in_batch[row]
            findings += _weight(rows.line(row), known.taxon_names[fish], each, weights, known.rules)
    for visit in range(rows.visit_count):
        place = known.stations.get(fold(rows.station(visit)))
        if place is not None:
            line = rows.line(int(rows.first_row_of_visit[visit]))
            findings += _missing(rows, visit, line, met[visit], place, known)


def _new_to_watershed(line: int, name: str, place: KnownStation) -> Finding:
    return Finding(
        level=WARNING,
        code="taxon_new_to_watershed",
        row=line,
        column="taxon",
        value=name,
        message=said(
            "{written} has never been caught in the watershed of {written_2} before.",
            written=name,
            written_2=place.code,
        ),
        remedy=marked(
            "Check the name against its look-alikes; keep it if a voucher or a photograph confirms it."
        ),
    )


def _weight(line: int, name: str, each: float, weights: MeanWeights, rules: Rules) -> Iterable[Finding]:
    times = rules.limit("unusual_weight", "times")
    low, high = weights.least / times, weights.most * times
    if weights.batches < rules.limit("unusual_weight", "batches") or low <= each <= high:
        return
    yield Finding(
        level=WARNING,
        code="unusual_weight",
        row=line,
        column="biomass_g",
        value=f"{each:.3g}",
        message=said(
            "{each} g a fish is far from what {written} weighed here before ({least} to {most} g in {number} "
            "batches).",
            each=f"{each:.3g}",
            written=name,
            least=f"{weights.least:.3g}",
            most=f"{weights.most:.3g}",
            number=weights.batches,
        ),
        remedy=marked("Check tare and unit of the scale, and that all fish of the batch were weighed."),
    )


def _missing(
    rows: Grouped, visit: int, line: int, met: set[int], place: KnownStation, known: Known
) -> Iterable[Finding]:
    # After few visits it is often chance that a taxon was met at each, or that their number seems usual.
    earlier = [taxa for day, taxa in place.history if day < rows.date(visit)]
    rules = known.rules
    enough = len(earlier) >= rules.limit("taxon_missing", "visits")
    always: frozenset[int] = frozenset.intersection(*earlier) if enough else frozenset()
    for fish in sorted(always - met, key=lambda key: known.taxon_names[key]):
        yield Finding(
            level=WARNING,
            code="taxon_missing",
            row=line,
            column="taxon",
            value=known.taxon_names[fish],
            message=said(
                "{written} was caught at each of the {number} earlier visits to {written_2} and is missing now.",
                written=known.taxon_names[fish],
                number=len(earlier),
                written_2=place.code,
            ),
            remedy=marked("Check that no line of the sheet was left out; keep it if none was caught."),
        )
    if len(earlier) < rules.limit("richness_drop", "visits"):
        return
    usual = statistics.median(len(taxa) for taxa in earlier)
    left = rules.limit("richness_drop", "percent") / 100
    if usual >= rules.limit("richness_drop", "usual") and len(met) <= left * usual:
        yield Finding(
            level=WARNING,
            code="richness_drop",
            row=line,
            value=str(len(met)),
            message=said_n(
                "{n} taxon was caught, where {usual} are usual at {written}.",
                "{n} taxa were caught, where {usual} are usual at {written}.",
                len(met),
                usual=f"{usual:g}",
                written=place.code,
            ),
            remedy=marked("Check that the whole sheet was typed; keep it if so few were caught."),
        )
