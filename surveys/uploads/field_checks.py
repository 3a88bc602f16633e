"""Checks of what a field sheet says beyond the catch, within a row, a pass and a visit: weights with and without
the container, what became of the fish, where they were held, times of the passes, the current. Pure code.

The limits that ask are those in force: see ``surveys.rules``.
"""

import datetime
import itertools
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from surveys.rules import RULES, Rules
from surveys.said import marked, said
from surveys.uploads.cells import Cells
from surveys.uploads.field_columns import CONTAINERS, FATES
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding
from surveys.uploads.grouping import Grouped
from surveys.uploads.known import Known

# Times are written to the minute, the seconds of current to the second.
CLOCK_PLAY_S = RULES["effort_above_clock"].limit("seconds").default
# Fish that are hurt more often by fast pulses.
TENDER_GENERA = frozenset(
    {"Anguilla", "Salmo", "Salvelinus", "Oncorhynchus", "Thymallus", "Coregonus", "Prosopium"}
)
_SHEET = marked("Check it against the field sheet.")
_NOT_GIVEN = marked("not given")
# The parts that make up the count, what is said where they do not, and what to do.
_PARTS = (
    (
        FATES,
        marked(
            "released {released}, died {died}, kept {kept}: that does not make up the {count} fish of the row."
        ),
        marked("Give all three, or leave all three empty where what became of the fish is not known."),
    ),
    (
        CONTAINERS,
        marked(
            "in the main container {in_main}, in the eel well {in_eel_well}, held elsewhere {in_other}: that does "
            "not make up the {count} fish of the row."
        ),
        marked("Give all three, or leave all three empty where it is not known where the fish were held."),
    ),
)


def complete_catches(cells: dict[str, Cells], findings: list[Finding]) -> None:
    """Fill in what follows from the rest of a row: the net weight, and parts that can only be none."""
    net = cells["gross_g"].numbers() - cells["tare_g"].numbers()
    at = np.flatnonzero((net >= 0) & (cells["biomass_g"].codes == -1))
    if len(at):
        cells["biomass_g"] = cells["biomass_g"].replaced({int(r): round(float(net[r]), 6) for r in at})
        columns = {"column": "biomass_g", "column_2": "gross_g", "column_3": "tare_g"}
        findings.append(
            Finding(
                level=NOTE,
                code="weight_worked_out",
                column="biomass_g",
                message=said("In 1 row {column} is worked out as {column_2} less {column_3}.", **columns)
                if len(at) == 1
                else said(
                    "In {number} rows {column} is worked out as {column_2} less {column_3}.",
                    number=len(at),
                    **columns,
                ),
            )
        )
    count = cells["count"].numbers()
    for names in (FATES, CONTAINERS):
        parts = _numbers(cells, names)
        whole = ~np.isnan(parts).all(axis=0) & (np.nansum(parts, axis=0) == count)
        for name, part in zip(names, parts, strict=True):
            blank = np.flatnonzero(whole & np.isnan(part) & (cells[name].codes == -1))
            if len(blank):
                cells[name] = cells[name].replaced(dict.fromkeys(blank.tolist(), 0))


def _numbers(cells: dict[str, Cells], names: Sequence[str]) -> NDArray[np.float64]:
    """Shape (names, rows)."""
    return np.stack([cells[name].numbers() for name in names])


def fish_weighed(rows: Grouped) -> NDArray[np.float64]:
    """Fish in the batch of each row: those weighed where that is noted, else all of them."""
    count, weighed = _numbers(rows.cells, ("count", "weighed"))
    return np.where(np.isnan(weighed), count, weighed)


def check_record(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    """All checks of the optional columns but those against earlier visits."""
    _weights(rows, known.rules, findings)
    for names, message, remedy in _PARTS:
        _parts(rows, names, message, remedy, findings)
    _times(rows, known.rules, findings)
    _current(rows, known, findings)
    _pulse(rows, known, findings)
    _meters(rows, known.rules, findings)
    _widths(rows, known.rules, findings)


def _add(rows: Grouped, row: int, level: str, code: str, column: str, message: str, remedy: str) -> Finding:
    value = rows.cells[column].value(row)
    return Finding(
        level=level,
        code=code,
        row=rows.line(row),
        column=column,
        value=f"{value:g}" if isinstance(value, int | float) else str(value or ""),
        message=message,
        remedy=remedy,
    )


def _weights(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    gross, tare, net, count, weighed = _numbers(
        rows.cells, ("gross_g", "tare_g", "biomass_g", "count", "weighed")
    )
    for row in np.flatnonzero(np.isnan(gross) != np.isnan(tare)).tolist():
        given, missing = ("gross_g", "tare_g") if np.isnan(tare[row]) else ("tare_g", "gross_g")
        if rows.cells[missing].codes[row] == -1:
            words = said(
                "{column} is given, {column_2} is not; the net weight cannot be worked out.",
                column=given,
                column_2=missing,
            )
            remedy = said("Give both, or neither: {column} alone is the net weight.", column="biomass_g")
            findings.append(_add(rows, row, ERROR, "half_a_weight", missing, words, remedy))
    for row in np.flatnonzero(gross < tare).tolist():
        words = said(
            "{gross} g with the container is less than the container alone ({tare} g).",
            gross=f"{gross[row]:g}",
            tare=f"{tare[row]:g}",
        )
        findings.append(_add(rows, row, ERROR, "net_below_zero", "gross_g", words, _SHEET))
    # Weights are read from a scale that shows grams or tenths of them.
    share = rules.limit("net_differs", "percent") / 100
    play = np.maximum(rules.limit("net_differs", "grams"), share * np.abs(gross - tare))
    for row in np.flatnonzero((gross >= tare) & (np.abs(gross - tare - net) > play)).tolist():
        words = said(
            "{gross} g less {tare} g is {difference} g, but {column} is {net} g.",
            gross=f"{gross[row]:g}",
            tare=f"{tare[row]:g}",
            difference=f"{gross[row] - tare[row]:g}",
            column="biomass_g",
            net=f"{net[row]:g}",
        )
        remedy = said(
            "Correct one of the three, or leave {column} empty: it is worked out then.", column="biomass_g"
        )
        findings.append(_add(rows, row, WARNING, "net_differs", "biomass_g", words, remedy))
    for row in np.flatnonzero(weighed > count).tolist():
        words = said(
            "{weighed} fish weighed cannot be among {count} fish.",
            weighed=f"{weighed[row]:g}",
            count=f"{count[row]:g}",
        )
        findings.append(_add(rows, row, ERROR, "weighed_above_count", "weighed", words, _SHEET))
    for row in np.flatnonzero((weighed > 0) & (rows.cells["biomass_g"].codes == -1)).tolist():
        words = said("{weighed} fish were weighed, but no weight is given.", weighed=f"{weighed[row]:g}")
        findings.append(_add(rows, row, WARNING, "weighed_without_weight", "weighed", words, _SHEET))


def _parts(rows: Grouped, names: Sequence[str], message: str, remedy: str, findings: list[Finding]) -> None:
    """Either none of the parts is given, or all are and they make up the count."""
    parts, count = _numbers(rows.cells, names), rows.cells["count"].numbers()
    readable = (np.stack([rows.cells[name].codes for name in names]) != -2).all(axis=0)
    given = ~np.isnan(parts).all(axis=0) & readable
    for row in np.flatnonzero(given & (np.nansum(parts, axis=0) != count) & ~np.isnan(count)).tolist():
        told = {
            name: _NOT_GIVEN if math.isnan(part) else f"{part:g}"
            for name, part in zip(names, parts[:, row].tolist(), strict=True)
        }
        first = next(n for n, part in zip(names, parts[:, row], strict=True) if not np.isnan(part))
        findings.append(
            _add(
                rows,
                row,
                ERROR,
                "parts_differ_from_count",
                first,
                said(message, **told, count=f"{count[row]:g}"),
                remedy,
            )
        )


def _minutes(time: datetime.time) -> float:
    return time.hour * 60 + time.minute + time.second / 60


def _times(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    begun, ended = rows.pass_values("started_at"), rows.pass_values("ended_at")
    effort = rows.pass_values("effort_s")
    rest = rules.limit("short_rest", "minutes")
    first = rows.first_row_of_pass.tolist()
    for p, (start, end) in enumerate(zip(begun, ended, strict=True)):
        if start is None or end is None:
            continue
        words = rows.pass_words(p)
        if end <= start:
            message = said(
                "{which_pass} ends at {end}, which is not after its start at {start}.",
                which_pass=words,
                end=f"{end:%H:%M}",
                start=f"{start:%H:%M}",
            )
            findings.append(
                _add(rows, first[p], ERROR, "pass_ends_before_start", "ended_at", message, _SHEET)
            )
        elif effort[p] is not None and effort[p] > (_minutes(end) - _minutes(start)) * 60 + CLOCK_PLAY_S:
            message = said(
                "The current of {which_pass} was on for {effort} s, but the pass took only {seconds} s by the "
                "clock.",
                which_pass=words,
                effort=effort[p],
                seconds=f"{(_minutes(end) - _minutes(start)) * 60:g}",
            )
            remedy = marked("Check whether the counter was set back before the pass, and the times.")
            findings.append(_add(rows, first[p], ERROR, "effort_above_clock", "effort_s", message, remedy))
    order = np.lexsort((rows.number_of_pass, rows.visit_of_pass)).tolist()
    for before, after in itertools.pairwise(order):
        start, last = begun[after], ended[before] or begun[before]
        if rows.visit_of_pass[before] != rows.visit_of_pass[after] or start is None or last is None:
            continue
        pause = _minutes(start) - _minutes(last)
        if pause < 0:
            message = said(
                "{which_pass} begins at {start}, before pass {number} was over at {end}.",
                which_pass=rows.pass_words(after),
                start=f"{start:%H:%M}",
                number=rows.number_of_pass[before],
                end=f"{last:%H:%M}",
            )
            findings.append(_add(rows, first[after], ERROR, "passes_overlap", "started_at", message, _SHEET))
        elif ended[before] is not None and pause < rest:
            message = said(
                "{which_pass} begins at {start}, {minutes} minutes after the pass before it ended; {least} are "
                "asked for.",
                which_pass=rows.pass_words(after),
                start=f"{start:%H:%M}",
                minutes=f"{pause:g}",
                least=f"{rest:g}",
            )
            remedy = marked("Keep it if it was so: fish that have not settled again are caught less easily.")
            findings.append(_add(rows, first[after], WARNING, "short_rest", "started_at", message, remedy))


def _current(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    for p, form in enumerate(rows.pass_values("waveform")):
        if form != "AC":
            continue
        message = said(
            "Alternating current is noted for {which_pass}; it harms fish more than direct current.",
            which_pass=rows.pass_words(p),
        )
        remedy = (
            marked("Keep it only if it was so.")
            if known.alternating_current
            else marked(
                "Correct it. Where a programme may use it, whoever runs the site can allow it in the settings."
            )
        )
        findings.append(
            _add(
                rows,
                int(rows.first_row_of_pass[p]),
                WARNING if known.alternating_current else ERROR,
                "alternating_current",
                "waveform",
                message,
                remedy,
            )
        )


def _pulse(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    """Fast pulses where eels, salmon or trout were caught, once for a visit."""
    limit = known.rules.limit("fast_pulses", "hertz")
    fast = {
        p: name
        for name in ("pulse_hz_last", "pulse_hz_first")
        for p, rate in enumerate(rows.pass_values(name))
        if rate is not None and rate > limit
    }
    if not fast:
        return
    taxon = rows.cells["taxon"]
    names = [known.taxon_names.get(key[1], "") if key[0] == "known" else "" for key in taxon.values]
    tender = [bool(name) and name.split()[0] in TENDER_GENERA for name in names]
    is_tender = np.array([*tender, False, False], dtype=bool)[taxon.codes]
    met: dict[int, str] = {}
    for row in np.flatnonzero(is_tender & (rows.visit_of_row >= 0)).tolist():
        met.setdefault(int(rows.visit_of_row[row]), names[taxon.codes[row]])
    for p, column in sorted(fast.items()):
        fish = met.pop(int(rows.visit_of_pass[p]), None)
        if fish:
            row = int(rows.first_row_of_pass[p])
            rate = rows.cells[column].value(row) or said("More than {number}", number=f"{limit:g}")
            message = said(
                "{rate} pulses a second where {written} was caught: above {limit} a second such fish are hurt more "
                "often.",
                rate=rate,
                written=fish,
                limit=f"{limit:g}",
            )
            remedy = marked(
                "Check it against the field sheet and against what the permit says; keep it if it was so."
            )
            findings.append(_add(rows, row, WARNING, "fast_pulses", column, message, remedy))


def _meters(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    usual = rules.limit("calibration_old", "days")
    for v, day in enumerate(rows.visit_values("calibrated_on")):
        if day is None:
            continue
        row, ago = int(rows.first_row_of_visit[v]), (rows.date(v) - day).days
        if ago < 0:
            message = said("The meters were calibrated on {day}, after the visit.", day=day)
            findings.append(
                _add(rows, row, ERROR, "calibrated_after_visit", "calibrated_on", message, _SHEET)
            )
        elif ago > usual:
            message = said(
                "The meters were calibrated {number} days before the visit; {usual} are usual.",
                number=ago,
                usual=f"{usual:g}",
            )
            remedy = marked("Check the day; keep it if it is right.")
            findings.append(_add(rows, row, WARNING, "calibration_old", "calibrated_on", message, remedy))


def _widths(rows: Grouped, rules: Rules, findings: list[Finding]) -> None:
    means = rows.visit_values("mean_width_m")
    share = rules.limit("width_differs_from_widths", "percent") / 100
    for v, widths in enumerate(rows.visit_values("widths_m")):
        if not widths or means[v] is None:
            continue
        mean = sum(widths) / len(widths)
        if abs(mean - means[v]) > share * mean + 1e-9:
            message = said(
                "The {number} widths have a mean of {mean} m, but {column} is {given} m.",
                number=len(widths),
                mean=f"{mean:.3g}",
                column="mean_width_m",
                given=f"{means[v]:g}",
            )
            findings.append(
                _add(
                    rows,
                    int(rows.first_row_of_visit[v]),
                    WARNING,
                    "width_differs_from_widths",
                    "mean_width_m",
                    message,
                    marked("Check the widths and their mean; keep both if they are right."),
                )
            )
