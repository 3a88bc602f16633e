"""The parts of a brief as plain data: numbers, cautions, comparisons, notes, fish, sources."""

import datetime
from collections.abc import Iterable, Sequence
from typing import Any

from surveys.language import told, worded
from surveys.models import Station, Taxon, Visit, Watershed
from surveys.queries import visit_records
from surveys.withholding import without_sensitive
from trends import cautions, wording
from trends.cautions import pages
from trends.choice import Choice, chosen_outcome, narrowed
from trends.community import community
from trends.listed import caution_codes
from trends.many_tests import adjust
from trends.measures import BY_KEY, INDEX
from trends.method_standing import standing_sentence, versions_behind
from trends.note_dates import when
from trends.number_words import (
    counted,
    format_slope,
    format_value,
    per_decade,
    range_decimals,
)
from trends.outcomes import Caution, Outcome
from trends.public_figures import guarded_watersheds, withheld_taxa
from trends.reading import NumberedNote
from trends.record import Record
from trends.scores import loaded_method

# More creeks than this are not set beside each other on one sheet of paper.
MOST_OTHERS = 8
NOT_SEEN_YEARS = 5


def slope_words(outcome: Outcome) -> str:
    """The change per decade with its limits, or that there is none to give."""
    period = outcome.current
    if period is None or period.slope is None:
        return worded("not known")
    measure = BY_KEY[outcome.measure]
    slope = format_slope(measure, period.slope)
    if period.lower is None and period.upper is None:
        return worded("{slope}; too few years for limits", slope=slope)
    places = range_decimals(period.slope, period.lower, period.upper)
    low = worded("no lower limit") if period.lower is None else per_decade(period.lower, places)
    high = worded("no upper limit") if period.upper is None else per_decade(period.upper, places)
    return worded("{slope} ({low} to {high})", slope=slope, low=low, high=high)


def facts(outcome: Outcome, *, staff: bool = True) -> list[dict[str, str]]:
    """Three numbers: the latest value, the change per decade with its range, the comparable years."""
    measure = BY_KEY[outcome.measure]
    period = outcome.current
    rating = f"{told(outcome.latest_rating)}, " if outcome.latest_rating else ""
    value = format_value(measure, outcome.latest_value)
    stations = counted(outcome.latest_stations, "station", "stations")
    return [
        {
            "label": worded("Latest, {year}", year=outcome.latest_year),
            "value": f"{rating}{value}",
            "small": worded("median of {stations}", stations=stations)
            if outcome.scope == "watershed"
            else "",
        },
        {
            "label": worded("Change per decade, with 95 % limits"),
            "value": slope_words(outcome),
            "small": wording.outcome_verdict(outcome, staff=staff),
        },
        {
            "label": worded("Comparable years"),
            "value": str(period.n) if period else worded("none"),
            "small": worded(
                "{first} to {last}, {method}",
                first=period.first_year,
                last=period.last_year,
                method=period.method_name,
            )
            if period
            else "",
        },
    ]


def _named(name: str, words: str) -> str:
    """A caution behind the measure that it is about, which some name themselves."""
    return words if words.startswith(f"{name}:") else f"{name}: {words}"


def every_caution(
    outcomes: Sequence[Outcome], main: Outcome, notes: Sequence[NumberedNote], *, staff: bool
) -> list[Caution]:
    """The main outcome's cautions with those of the page; of other measures what they alone raise."""
    found = {c.code: c for c in main.cautions}
    for other in outcomes:
        for one in other.cautions:
            if one.code not in found and other is not main:
                name = BY_KEY[other.measure].name
                found[one.code] = Caution(
                    code=one.code,
                    level="note" if one.level == "stop" else one.level,
                    staff=_named(name, told(one.staff)),
                    public=_named(name, told(one.public)),
                    numbers=one.numbers,
                )
    tests = sum(1 for o in outcomes if o.current and o.current.p_value is not None)
    if (many := pages.many_tests(tests)) is not None:
        found["C24"] = many
    own = [n.note for n in notes]
    for note in own:
        if (near := pages.confounded(note, own)) is not None:
            found["C30"] = near
            break
    return list(cautions.for_reader(found.values(), staff=staff, today=datetime.date.today()))


def measure_rows(outcomes: Iterable[Outcome | None], *, staff: bool) -> list[dict[str, Any]]:
    """Each measure asked for: latest, word, slope, years; words adjusted for looking at all of them."""
    rows = []
    for o in adjust([o for o in outcomes if o is not None]):
        measure = BY_KEY[o.measure]
        rows.append(
            {
                "key": o.measure,
                "name": measure.name,
                "unit": measure.unit,
                "latest": format_value(measure, o.latest_value) if o.latest_year else worded("not known"),
                "year": o.latest_year,
                "mark": wording.mark(o.current),
                "word": wording.outcome_verdict(o, staff=staff),
                "slope": slope_words(o),
                "years": o.current.n if o.current else 0,
                "codes": list(caution_codes(o)),
            }
        )
    return rows


def station_rows(record: Record, main: Outcome, choice: Choice, *, staff: bool) -> list[dict[str, Any]]:
    """Each station: distance from the mouth, latest value, word by the adjusted p, slope, years."""
    from trends.assessments import assess

    part = narrowed(record, choice)
    with_visits = [s for s in part.stations if part.visits.get(s.pk)]
    made = adjust([assess(part, main.measure, s) for s in with_visits])
    measure = BY_KEY[main.measure]
    return [
        {
            "code": s.code,
            "name": s.name,
            "stream": s.stream,
            "km": "" if s.river_km is None else f"{s.river_km:g}",
            "latest": format_value(measure, o.latest_value) if o.latest_year else worded("not known"),
            "rating": told(o.latest_rating),
            "year": o.latest_year,
            "mark": wording.mark(o.current),
            "word": wording.outcome_verdict(o, staff=staff),
            "slope": slope_words(o),
            "years": o.current.n if o.current else 0,
            "codes": list(caution_codes(o)),
        }
        for s, o in zip(with_visits, made, strict=True)
    ]


def compared(
    watershed: Watershed, measure: str, choice: Choice, stations: Sequence[Station], *, staff: bool
) -> dict[str, Any]:
    """The other creeks over the same years, and the stations that stand as controls for these.

    A brief is handed on, so counts of creeks where places are withheld stay out of it whoever makes it,
    and their index is the published one.
    """
    if BY_KEY[measure].is_index:
        measure = INDEX.key
    window = Choice(first=choice.first, last=choice.last)
    strata = {s.stratum for s in stations}
    every = Watershed.objects.exclude(pk=watershed.pk).prefetch_related("stations").order_by("name")
    guarded = frozenset() if measure == INDEX.key else guarded_watersheds()
    others = [w for w in every if w.pk not in guarded]
    others.sort(key=lambda w: (not strata & {s.stratum for s in w.stations.all()}, w.name))
    found = [
        (w, o) for w in others[:MOST_OTHERS] if (o := chosen_outcome(w, window, measure)) and o.latest_year
    ]
    adjusted = adjust([o for _, o in found])
    rows = [_row(w.name, o, staff=staff) for (w, _), o in zip(found, adjusted, strict=True)]
    controls = Station.objects.filter(control_for__in=stations).select_related("control_for", "watershed")
    return {
        "others": rows,
        "left_out": max(0, len(others) - MOST_OTHERS),
        **({"kept_back": kept_back} if (kept_back := len(every) - len(others)) else {}),
        "controls": [
            worded(
                "{control} ({watershed}) for {station}",
                control=c.code,
                watershed=c.watershed.name,
                station=c.control_for.code,
            )
            for c in controls.order_by("code")
            if c.control_for is not None
        ],
    }


def _row(name: str, outcome: Outcome, *, staff: bool) -> dict[str, Any]:
    measure = BY_KEY[outcome.measure]
    return {
        "name": name,
        "latest": format_value(measure, outcome.latest_value),
        "rating": told(outcome.latest_rating),
        "year": outcome.latest_year,
        "mark": wording.mark(outcome.current),
        "word": wording.outcome_verdict(outcome, staff=staff),
        "slope": slope_words(outcome),
        "years": outcome.current.n if outcome.current else 0,
        "codes": list(caution_codes(outcome)),
    }


def note_line(one: NumberedNote) -> dict[str, Any]:
    note = one.note
    return {
        "number": one.number,
        "when": when(note),
        "title": note.title,
        "category": note.get_category_display(),
        "station": note.station.code if note.station else "",
        "source": note.source,
    }


def species_box(watershed: Watershed, stations: Sequence[Station], choice: Choice) -> list[dict[str, str]]:
    """Native and other species, species whose places are withheld, newcomers, not seen lately."""
    visits = Visit.objects.accepted().filter(station__in=stations)
    if choice.first is not None:
        visits = visits.filter(visit_date__year__gte=choice.first)
    if choice.last is not None:
        visits = visits.filter(visit_date__year__lte=choice.last)
    records = [without_sensitive(r) for r in visit_records(visits)]
    met: dict[Taxon, int] = {}
    for r in records:
        for taxon in r.counts_by_taxon():
            if taxon.is_species:
                met[taxon] = max(met.get(taxon, 0), r.date.year)
    native = [t for t in met if t.native]
    foreign = [t for t in met if t.native is False]
    withheld = withheld_taxa([watershed.pk]).get(watershed.pk, [])
    intolerant = [t for t in native if t.tolerance == "intolerant"]
    years = sorted({r.date.year for r in records})
    recent = set(years[-NOT_SEEN_YEARS:])
    unseen = [t for t in native if met[t] not in recent] if len(years) > NOT_SEEN_YEARS else []
    changed = community(records)
    newcomers = [c.taxon for c in changed.gained if c.probable and c.taxon.native is False]
    rows = [
        (worded("Native species"), str(len(native))),
        (worded("Not native"), f"{len(foreign)}{': ' + _names(foreign) if foreign else ''}"),
        (worded("Bear little disturbance"), _names(intolerant) or worded("none met")),
        (worded("Newcomers that are not native"), _names(newcomers) or worded("none for sure")),
        (
            worded("Native, not met in the last {n} visited years", n=str(NOT_SEEN_YEARS)),
            _names(unseen) or worded("none"),
        ),
    ]
    if withheld:
        rows.append((worded("Place withheld, somewhere in this watershed"), _names(withheld)))
    return [{"label": label, "words": words} for label, words in rows]


def _names(taxa: Iterable[Taxon], most: int = 8) -> str:
    names = sorted(t.common_name or t.scientific_name for t in taxa)
    shown = ", ".join(names[:most])
    if len(names) <= most:
        return shown
    return worded("{names} and {n} more", names=shown, n=str(len(names) - most))


def sources(outcome: Outcome, record: Record, others: Iterable[Outcome] = ()) -> list[str]:
    """Where the numbers are from; ``others`` are outcomes shown beside the one that the brief is about."""
    lines = []
    for code, version in versions_behind([outcome, *others]):
        method = loaded_method(code, version)
        named = worded("Index: {method}, version {version}.", method=method.title, version=version)
        lines.append(f"{named} {standing_sentence(code, version)}".strip())
    names = sorted({v.method_name for values in record.visits.values() for v in values})
    lines.append(
        worded(
            "Sampling: {methods}. Accepted visits only; the value of a year is the median of its visits in season.",
            methods="; ".join(names),
        )
    )
    if outcome.current and outcome.current.test:
        lines.append(
            worded(
                "Test: {test}; Sen slope (Sen 1968, J. Am. Stat. Assoc. 63:1379-1389).",
                test=told(outcome.current.test),
            )
        )
    lines.append(
        worded(
            "Notes are written down as they happened; the record cannot show whether one of them is the reason."
        )
    )
    return lines
