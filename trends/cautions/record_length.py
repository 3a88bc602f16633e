"""Cautions on how many years there are, and which are missing: C01-C05, C33, C38, C40."""

import datetime
import itertools
from collections.abc import Iterator

from surveys.said import marked, said
from trends.cautions import limits
from trends.cautions.situation import Situation, caution, fraction, years_words
from trends.number_words import two_digits
from trends.outcomes import Caution

WAITING = {
    "submitted": marked("{n} awaiting review"),
    "returned": marked("{n} returned"),
    "withdrawn": marked("{n} withdrawn"),
    "draft": marked("{n} not sent in yet"),
}


def _both(parts: list[str]) -> str:
    """One, or two joined by their and."""
    return parts[0] if len(parts) == 1 else said("{first} and {second}", first=parts[0], second=parts[1])


def too_few(s: Situation) -> Iterator[Caution]:
    period = s.period
    if period is None:
        return
    if period.certainty == "not_assessed":
        yield caution(
            "C01",
            "stop",
            said(
                "Too few years: {reason}.",
                reason=period.reason or said("fewer than {least} comparable years", least=limits.LEAST_YEARS),
            ),
            marked("There are not enough comparable years yet to name a direction."),
            years=period.n,
            least=limits.LEAST_YEARS,
        )
    elif period.n < limits.FEW_YEARS:
        seen = period.smallest_change_per_decade
        staff = (
            said(
                "{n} comparable years; with fewer than {few} only a strong change could show: about {size} {unit} a "
                "decade.",
                n=period.n,
                few=limits.FEW_YEARS,
                size=two_digits(seen),
                unit=s.measure.english_unit,
            )
            if seen
            else said(
                "{n} comparable years; with fewer than {few} only a strong change could show.",
                n=period.n,
                few=limits.FEW_YEARS,
            )
        )
        yield caution(
            "C02",
            "warn",
            staff,
            said("With {n} years, only a strong change could show.", n=period.n),
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
        bare.append((True, first, min(present) - 1))
    if max(present) <= last - reach:
        bare.append((False, max(present) + 1, last))
    if bare:
        part = fraction(limits.ENDS_PART)
        ends = _both(
            [
                said("at the start ({a} to {b}, at least {part})", part=part, a=a, b=b)
                if is_first
                else said("at the end ({a} to {b}, at least {part})", part=part, a=a, b=b)
                for is_first, a, b in bare
            ]
        )
        yield caution(
            "C03",
            "warn",
            said("No value {ends} of the period {first} to {last}.", ends=ends, first=first, last=last),
            said(
                "Nothing is known from {years}, so the record does not cover the whole period.",
                years=_both([said("{first} to {last}", first=a, last=b) for _, a, b in bare]),
            ),
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
        when = str(first) if first == last else said("{first} to {last}", first=first, last=last)
        yield caution(
            "C04",
            "warn",
            said(
                "No comparable value in {when}, years in a row without one: {n} (limit {years} years, or {part} of "
                "the span).",
                n=longest[2],
                when=when,
                years=limits.LONG_GAP_YEARS,
                part=fraction(limits.LONG_GAP_PART),
            ),
            said("There is a long gap in the record, {when}.", when=when),
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
            said(
                "Number of different values: {distinct}; {tied} of {pairs} pairs of years are tied (limits: "
                "{least_distinct} values, {tied_part} of the pairs).",
                distinct=distinct,
                tied=f"{tied:.0f}",
                pairs=f"{pairs:.0f}",
                least_distinct=limits.LEAST_DISTINCT,
                tied_part=fraction(limits.TIED_PART),
            ),
            marked("This number moves in few steps, so small changes do not show."),
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
        states = "; ".join(said(word, n=n) for word, n in counts.items() if n)
        years = years_words(d.year for d, _ in waiting)
        n = len(waiting)
        yield caution(
            "C33",
            "note",
            said("1 visit is left out ({states}): {years}.", states=states, years=years)
            if n == 1
            else said("{n} visits are left out ({states}): {years}.", n=n, states=states, years=years),
            said("1 visit is not counted, because nobody has accepted it.")
            if n == 1
            else said("{n} visits are not counted, because nobody has accepted them.", n=n),
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
        staff.append(
            said(
                "A visit caught no fish in {years}: a result, not a missing visit.", years=years_words(empty)
            )
        )
        public.append(said("A visit caught no fish in {years}.", years=years_words(empty)))
    if called_off:
        told = "; ".join(f"{year}: {why}" for year, why in sorted(called_off.items()))
        staff.append(said("No season in {years}. Not visited is not zero.", years=told))
        public.append(
            said(
                "We did not visit in {years}: {reasons}.",
                years=years_words(called_off),
                reasons="; ".join(sorted(set(called_off.values()))),
            )
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
        why = [said("its season runs to {day}", day=f"{closes:%Y-%m-%d}")] if is_open else []
        why += [said("its season is not signed off")] if unsigned else []
        if waiting:
            why.append(
                said("1 of its visits is not decided on")
                if waiting == 1
                else said("{n} of its visits are not decided on", n=waiting)
            )
        yield caution(
            "C40",
            "note",
            said("{latest} is provisional: {why}.", latest=latest, why="; ".join(why)),
            said("The numbers for {latest} are provisional.", latest=latest),
            year=latest,
            closes_on=closes.isoformat() if is_open and closes else None,
            waiting=waiting,
            unsigned=unsigned,
        )


RULES = (too_few, ends_not_covered, long_gap, coarse, left_out, no_fish_no_season, season_open)
