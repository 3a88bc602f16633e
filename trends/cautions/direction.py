"""Cautions on what the direction rests on: C18, C19, C21, C26, C31, C32."""

import math
from collections.abc import Iterator

import numpy as np

from surveys.said import marked, said
from trends.cautions import limits
from trends.cautions.situation import Situation, caution, years_words
from trends.number_words import small_p, two_digits
from trends.outcomes import Caution

EVENTS = {
    "drought": marked("{title} (drought)"),
    "flood": marked("{title} (flood or storm)"),
    "pipe": marked("{title} (pipe, sewer or spill)"),
}
# Single years whose leaving out is tried: those that pull hardest at the sum of signs.
YEARS_TRIED = 4


def _verdict(s: Situation) -> int:
    """1 rising, -1 falling, 0 no supported direction."""
    period = s.period
    if not s.supported or period is None:
        return 0
    return {"up": 1, "down": -1}.get(period.direction, 0)


def _without(s: Situation, years: frozenset[int]) -> int | None:
    if s.retest is None:
        return None
    again = s.retest(years)
    if again is None:
        return None
    confidence, sign = again
    return sign if confidence >= limits.DIRECTION_CONFIDENCE else 0


def _may_be_retested(s: Situation) -> bool:
    period = s.period
    return (
        period is not None and s.retest is not None and period.certainty not in ("not_assessed", "disagree")
        and period.n > limits.LEAST_YEARS
    )  # fmt: skip


def one_year_carries_it(s: Situation) -> Iterator[Caution]:
    """Leave single years out in turn; name those without which there is another verdict."""
    if not _may_be_retested(s) or (s.period and s.period.certainty == "steady"):
        return
    now = _verdict(s)
    lost: list[int] = []
    won: list[int] = []
    for year in _pulling_years(s, now):
        verdict = _without(s, frozenset({year}))
        if verdict is not None and verdict != now:
            (lost if now else won).append(year)
    if lost:
        yield caution(
            "C19",
            "warn",
            said(
                "Without {lost} the direction is no longer likely (confidence below {direction_confidence}) or turns.",
                lost=_single(lost),
                direction_confidence=f"{limits.DIRECTION_CONFIDENCE:g}",
            ),
            said("The direction rests on single years: {lost}.", lost=years_words(lost)),
            years=sorted(lost),
            confidence_limit=limits.DIRECTION_CONFIDENCE,
        )
    elif won:
        yield caution(
            "C19",
            "warn",
            said(
                "Without {won} a direction would be likely (confidence {direction_confidence} or more).",
                won=_single(won),
                direction_confidence=f"{limits.DIRECTION_CONFIDENCE:g}",
            ),
            said("Whether a direction shows rests on single years: {won}.", won=years_words(won)),
            years=sorted(won),
            confidence_limit=limits.DIRECTION_CONFIDENCE,
        )


def _single(years: list[int]) -> str:
    if len(years) == 1:
        return said("the single year {year}", year=years[0])
    return said("any one of {years}", years=years_words(years))


def _pulling_years(s: Situation, now: int) -> list[int]:
    """The years with most pairs that agree with the verdict, or that speak against the leaning one."""
    years = np.array([y.year for y in s.points], dtype=float)
    values = np.array([y.value for y in s.points], dtype=float)
    signs = np.sign(np.subtract.outer(values, values)) * np.sign(np.subtract.outer(years, years))
    pull = signs.sum(axis=1)
    towards = now or (1 if pull.sum() >= 0 else -1)
    order = np.argsort(-pull * towards if now else pull * towards, kind="stable")
    return sorted(int(years[i]) for i in order[:YEARS_TRIED])


def event_years(s: Situation) -> Iterator[Caution]:
    """A drought, flood or spill noted within a year before a visit that is used."""
    hit: dict[int, set[str]] = {}
    for note in s.record.notes:
        if note.category not in EVENTS or not s.concerns(note):
            continue
        last = note.ends_on or note.starts_on
        for v in s.visits:
            months = (v.date - last).days / 30.4375
            if v.date >= note.starts_on and months <= limits.EVENT_MONTHS:
                hit.setdefault(v.date.year, set()).add(said(EVENTS[note.category], title=note.title))
    years = {y.year for y in s.points} & set(hit)
    if not years:
        return
    names = "; ".join(sorted({name for year in years for name in hit[year]}))
    now = _verdict(s)
    again = _without(s, frozenset(years)) if _may_be_retested(s) else None
    changed = again is not None and again != now
    if changed:
        staff = said(
            "Without the event years {years} ({names}) the verdict is another one.",
            years=years_words(years),
            names=names,
        )
        public = (
            said("Without the unusual year {year} the answer would be another one.", year=years_words(years))
            if len(years) == 1
            else said(
                "Without the unusual years {years} the answer would be another one.", years=years_words(years)
            )
        )
    else:
        kept = (
            said("The verdict stands without them.")
            if again is not None
            else said("No test without them was made.")
        )
        staff = said(
            "{names}: within {months} months before visits of {years}. {kept}",
            names=names,
            months=limits.EVENT_MONTHS,
            years=years_words(years),
            kept=kept,
        )
        public = said(
            "Also in these years: {names}. Visits of {years} came soon after.",
            names=names,
            years=years_words(years),
        )
    yield caution(
        "C18",
        "warn" if changed else "note",
        staff,
        public,
        years=sorted(years),
        months=limits.EVENT_MONTHS,
        verdict_stands=None if again is None else not changed,
    )


def alike_neighbours(s: Situation) -> Iterator[Caution]:
    period = s.period
    if period is None or period.slope is None or len(s.points) < limits.LEAST_YEARS:
        return
    values = np.array([y.value for y in s.points], dtype=float)
    years = np.array([y.year for y in s.points], dtype=float)
    residuals = values - period.slope * years
    residuals = residuals - residuals.mean()
    total = float(np.sum(residuals**2))
    follow = np.diff(years) == 1
    if total <= 1e-12 or follow.sum() < limits.LEAST_YEARS - 1:
        return
    r1 = float(np.sum(residuals[1:][follow] * residuals[:-1][follow])) / total
    limit = limits.SERIAL_LONG if period.n >= limits.FEW_YEARS else limits.SERIAL_SHORT
    if r1 <= limit:
        return
    p = corrected_p(period.p_value, r1)
    staff = said(
        "Neighbouring years resemble each other (lag-one correlation {r1}, limit {limit}); the test then finds "
        "directions too easily.",
        r1=f"{r1:.2f}",
        limit=limit,
    )
    if p is not None:
        staff = said(
            "{words} Allowing for it, p would be {p} instead of {plain}.",
            words=staff,
            p=small_p(p),
            plain=small_p(period.p_value or 0.0),
        )
    yield caution(
        "C21",
        "warn",
        staff,
        marked("Neighbouring years resemble each other, so the direction is less sure than it looks."),
        lag_one=round(r1, 3),
        limit=limit,
        corrected_p=None if p is None else round(p, 4),
    )


def corrected_p(p_value: float | None, r1: float) -> float | None:
    """The p of the same test when its variance is raised by (1 + r) / (1 - r).

    That factor is the effective number of years of a first-order process (Bayley & Hammersley 1946;
    from memory). It is rough in short records and only shown beside the plain p.
    """
    from scipy.special import ndtr, ndtri

    if p_value is None or not 0 < p_value < 1 or not 0 < r1 < 1:
        return None
    z = -float(ndtri(p_value / 2)) / math.sqrt((1 + r1) / (1 - r1))
    return float(2 * ndtr(-z))


def stations_disagree(s: Situation) -> Iterator[Caution]:
    period = s.period
    if period is None or period.certainty != "disagree":
        return
    up, down = ", ".join(period.stations_up), ", ".join(period.stations_down)
    staff = said(
        "Stations move in different directions (heterogeneity p {p}, limit 0.05); no single statement fits the creek.",
        p=f"{period.heterogeneity_p:.4f}",
    )
    if up:
        staff = said("{words} Rising: {stations}.", words=staff, stations=up)
    if down:
        staff = said("{words} Falling: {stations}.", words=staff, stations=down)
    yield caution(
        "C26",
        "stop",
        staff,
        marked("The stations on this creek do not agree, so no single statement fits it."),
        heterogeneity_p=period.heterogeneity_p,
        limit=0.05,
        rising=list(period.stations_up),
        falling=list(period.stations_down),
    )


def clear_but_small(s: Situation) -> Iterator[Caution]:
    period = s.period
    if period is None or None in (period.slope, period.lower, period.upper):
        return
    assert period.slope is not None and period.lower is not None and period.upper is not None
    if period.lower <= 0 <= period.upper:
        return
    whole = abs(period.slope) * (period.last_year - period.first_year)
    sizes = {
        marked("one rating class"): s.class_width,
        marked("the usual difference between years"): period.scatter,
    }
    above = {word: size for word, size in sizes.items() if size and whole < size}
    if above:
        word, size = next(iter(above.items()))
        yield caution(
            "C31",
            "note",
            said(
                "Clear but small: about {whole} {unit} over {first_year} to {last_year}, less than {word} ({size}).",
                whole=two_digits(whole),
                unit=s.measure.english_unit,
                first_year=period.first_year,
                last_year=period.last_year,
                word=word,
                size=two_digits(size),
            ),
            said("The change is clear but small: less than {word}.", word=word),
            whole_change=whole,
            **{word.replace(" ", "_"): value for word, value in above.items()},
        )


def either_way(s: Situation) -> Iterator[Caution]:
    """The limits hold both a rise and a fall that would matter, so the size is not known."""
    period, matters = s.period, s.matters
    if period is None or matters is None or period.lower is None or period.upper is None:
        return
    if 10 * period.lower > -matters or 10 * period.upper < matters:
        return
    needed = period.years_needed
    staff = (
        said(
            "The limits hold both a rise and a fall of {size} {unit} a decade; about {years} yearly visits in all "
            "would show it.",
            size=f"{matters:g}",
            unit=s.measure.english_unit,
            years=needed,
        )
        if needed and needed > period.n
        else said(
            "The limits hold both a rise and a fall of {size} {unit} a decade.",
            size=f"{matters:g}",
            unit=s.measure.english_unit,
        )
    )
    yield caution(
        "C32",
        "warn",
        staff,
        marked("Both a rise and a fall that matter would still fit these years."),
        lower=10 * period.lower,
        upper=10 * period.upper,
        matters=matters,
        years_needed=needed,
    )


RULES = (
    one_year_carries_it,
    event_years,
    alike_neighbours,
    stations_disagree,
    clear_but_small,
    either_way,
)
