"""Cautions on how many years there are, and which are missing: C01-C05, C33, C38, C40."""

import datetime
import itertools
from collections.abc import Iterator

from trends.cautions import limits
from trends.cautions.situation import Situation, caution, fraction, years_words
from trends.outcomes import Caution

WAITING = {
    "submitted": "awaiting review",
    "returned": "returned",
    "withdrawn": "withdrawn",
    "draft": "not sent in yet",
}


def too_few(s: Situation) -> Iterator[Caution]:
    period = s.period
    if period is None:
        return
    if period.certainty == "not_assessed":
        yield caution(
            "C01",
            "stop",
            f"Too few years: {period.reason or f'fewer than {limits.LEAST_YEARS} comparable years'}.",
            "There are not enough comparable years yet to name a direction.",
            years=period.n,
            least=limits.LEAST_YEARS,
        )
    elif period.n < limits.FEW_YEARS:
        seen = period.smallest_change_per_decade
        strong = f": about {seen:.2g} {s.measure.unit} a decade" if seen else ""
        yield caution(
            "C02",
            "warn",
            f"{period.n} comparable years; with fewer than {limits.FEW_YEARS} only a strong change could show{strong}.",
            f"With {period.n} years, only a strong change could show.",
            years=period.n,
            few=limits.FEW_YEARS,
            smallest_change_per_decade=seen,
        )


def ends_not_covered(s: Situation) -> Iterator[Caution]:
    calendar = sorted({y.year for one in s.outcome.series for y in one.years})
    present = {y.year for one in s.outcome.series for y in one.present()}
    if len(calendar) < limits.LEAST_YEARS or not present:
        return
    first, last = calendar[0], calendar[-1]
    reach = limits.ENDS_PART * (last - first + 1)
    bare = []
    if min(present) >= first + reach:
        bare.append(("first", first, min(present) - 1))
    if max(present) <= last - reach:
        bare.append(("last", max(present) + 1, last))
    if bare:
        told = " and ".join(f"the {end} {fraction(limits.ENDS_PART)} ({a} to {b})" for end, a, b in bare)
        yield caution(
            "C03",
            "warn",
            f"No value in {told} of the period {first} to {last}.",
            f"Nothing is known from {' and '.join(f'{a} to {b}' for _, a, b in bare)}, so the record does not cover "
            "the whole period.",
            first=first,
            last=last,
            part=limits.ENDS_PART,
            first_value=min(present),
            last_value=max(present),
        )


def long_gap(s: Situation) -> Iterator[Caution]:
    years = [y.year for y in s.points]
    if len(years) < 2:
        return
    span = years[-1] - years[0] + 1
    gaps = [(a, b, b - a - 1) for a, b in itertools.pairwise(years) if b - a > 1]
    longest = max(gaps, key=lambda g: g[2], default=None)
    if longest and (longest[2] >= limits.LONG_GAP_YEARS or longest[2] > limits.LONG_GAP_PART * span):
        first, last = longest[0] + 1, longest[1] - 1
        when = str(first) if first == last else f"{first} to {last}"
        yield caution(
            "C04",
            "warn",
            f"No comparable value for {longest[2]} {'year' if longest[2] == 1 else 'years'}, {when} (limit "
            f"{limits.LONG_GAP_YEARS} years, or {fraction(limits.LONG_GAP_PART)} of the span).",
            f"There is a long gap in the record, {when}.",
            gap_years=longest[2],
            limit=limits.LONG_GAP_YEARS,
            part=limits.LONG_GAP_PART,
            first=first,
            last=last,
        )


def coarse(s: Situation) -> Iterator[Caution]:
    period = s.period
    if period is None or period.certainty == "not_assessed":
        return
    values = [round(y.value, 9) for y in s.points if y.value is not None]
    distinct = len(set(values))
    pairs = len(values) * (len(values) - 1) / 2
    tied = sum(values.count(v) * (values.count(v) - 1) / 2 for v in set(values))
    if distinct < limits.LEAST_DISTINCT or tied > limits.TIED_PART * pairs:
        yield caution(
            "C05",
            "warn",
            f"{distinct} different values; {tied:.0f} of {pairs:.0f} pairs of years are tied (limits: "
            f"{limits.LEAST_DISTINCT} values, {fraction(limits.TIED_PART)} of the pairs).",
            "This number moves in few steps, so small changes do not show.",
            distinct=distinct,
            tied_pairs=tied,
            pairs=pairs,
            least=limits.LEAST_DISTINCT,
            part=limits.TIED_PART,
        )


def left_out(s: Situation) -> Iterator[Caution]:
    chosen = {station.pk for station in s.stations}
    span = _span(s)
    if span is None:
        return
    waiting = [
        (day, status)
        for station, day, status in s.record.left_out
        if station in chosen
        and status in WAITING
        and span[0] <= day.year <= max(span[1], s.record.last_year or 0)
    ]
    if waiting:
        counts = {word: sum(1 for _, st in waiting if WAITING[st] == word) for word in WAITING.values()}
        told = ", ".join(f"{n} {word}" for word, n in counts.items() if n)
        n = len(waiting)
        yield caution(
            "C33",
            "note",
            f"{n} {'visit is' if n == 1 else 'visits are'} left out ({told}): "
            f"{years_words(d.year for d, _ in waiting)}.",
            f"{n} {'visit is' if n == 1 else 'visits are'} not counted, because nobody has accepted "
            f"{'it' if n == 1 else 'them'}.",
            visits=n,
            years=sorted({d.year for d, _ in waiting}),
        )


def _span(s: Situation) -> tuple[int, int] | None:
    years = sorted(v.date.year for v in s.visits)
    return (years[0], years[-1]) if years else None


def no_fish_no_season(s: Situation) -> Iterator[Caution]:
    empty = {v.date.year for v in s.visits if v.total_catch == 0}
    span = _span(s)
    called_off = {
        year: why
        for year, why in s.record.no_season.items()
        if span and span[0] <= year <= span[1] and year not in {v.date.year for v in s.visits}
    }
    places = {x.pk: x.code for x in s.stations}
    for (station, year), why in getattr(s.record, "gap_reasons", {}).items():
        if station in places and span and span[0] <= year <= span[1] and year not in called_off:
            called_off[year] = f"{places[station]} {why}" if len(places) > 1 else why
    staff, public = [], []
    if empty:
        staff.append(f"A visit caught no fish in {years_words(empty)}: a result, not a missing visit.")
        public.append(f"A visit caught no fish in {years_words(empty)}.")
    if called_off:
        told = "; ".join(f"{year}: {why}" for year, why in sorted(called_off.items()))
        staff.append(f"No season in {told}. Not visited is not zero.")
        public.append(
            f"We did not visit in {years_words(called_off)}: {'; '.join(sorted(set(called_off.values())))}."
        )
    if staff:
        yield caution(
            "C38",
            "note",
            " ".join(staff),
            " ".join(public),
            years=sorted(empty),
            not_visited=sorted(called_off),
        )


def season_open(s: Situation, today: datetime.date | None = None) -> Iterator[Caution]:
    """The latest season is not over, not signed off though others are, or visits of it are not decided on."""
    latest = max((v.date.year for v in s.visits), default=None)
    if latest is None:
        return
    closes = max(
        (v.season_closes for v in s.visits if v.date.year == latest and v.season_closes), default=None
    )
    today = today or datetime.date.today()
    chosen = {station.pk for station in s.stations}
    waiting = sum(
        1
        for station, day, status in s.record.left_out
        if station in chosen and day.year >= latest and status in ("submitted", "returned", "draft")
    )
    signed = latest in s.record.closed_years
    is_open = closes is not None and today <= closes and not signed
    # A county that never signs seasons off is not told for ever that one is missing.
    unsigned = bool(s.record.closed_years) and not signed and not is_open
    if is_open or waiting or unsigned:
        why = [f"its season runs to {closes:%Y-%m-%d}"] if is_open else []
        why += ["its season is not signed off"] if unsigned else []
        why += (
            [f"{waiting} of its visits {'is' if waiting == 1 else 'are'} not decided on"] if waiting else []
        )
        yield caution(
            "C40",
            "note",
            f"{latest} is provisional: {' and '.join(why)}.",
            f"The numbers for {latest} are provisional.",
            year=latest,
            closes_on=closes.isoformat() if is_open and closes else None,
            waiting=waiting,
            unsigned=unsigned,
        )


RULES = (too_few, ends_not_covered, long_gap, coarse, left_out, no_fish_no_season, season_open)
