"""A comparison before and after in words: what was seen, how surely, and never why."""

from trends.cautions import LEAST_YEARS_A_SIDE
from trends.effects import Effect
from trends.number_words import counted, format_p, listed, rounded, unit_words
from trends.stats.before_after import BeforeAfter

ALSO = "It also happened; the record cannot show whether it is the reason."


def _places(effect: Effect) -> int:
    return max(effect.measure.decimals, 1)


def _amount(effect: Effect, value: float) -> str:
    sign = "+" if value > 0 else ""
    return f"{sign}{rounded(value, _places(effect))}"


def agreed(result: BeforeAfter) -> int | None:
    """1 higher after, -1 lower, 0 no difference shown by either way; None: the two ways disagree."""
    found = set()
    for one in result.estimates[:2]:
        found.add(1 if one.lower > 0 else -1 if one.upper < 0 else 0)
    return found.pop() if len(found) == 1 else None


def headline(effect: Effect) -> str:
    """What was seen, in one or two sentences."""
    result = effect.result
    title = effect.note.title
    stations = listed([s.code for s in effect.impact]) or "the stations concerned"
    if result is None:
        return f"{title}: nothing can be said yet about before and after at {stations}. {_refusal(effect)}".strip()
    against = " compared with the control stations" if effect.controls else ""
    years = f"{result.n_before} years before, {result.n_after} after"
    unit = unit_words(effect.measure)
    limits = f"{rounded(result.lower, _places(effect))} to {rounded(result.upper, _places(effect))}"
    verdict = agreed(result)
    if verdict:
        word = "higher" if verdict > 0 else "lower"
        size = rounded(abs(result.effect), _places(effect))
        return (
            f"After “{title}” {effect.measure.plain} at {stations} was {word} than before by about {size} "
            f"{unit}{against} (95 % limits of the difference {limits}; {years}). {ALSO}"
        )
    if verdict is None:
        return (
            f"The two ways of estimating disagree on {effect.measure.plain} before and after “{title}” ({years}), "
            "so we cannot tell."
        )
    seen = rounded(result.just_significant, _places(effect))
    return (
        f"We cannot tell whether {effect.measure.plain} at {stations} differs before and after “{title}”{against}: the "
        f"difference is {_amount(effect, result.effect)} {unit} ({limits}; {years}). A difference below about "
        f"{seen} would not show yet."
    )


def _refusal(effect: Effect) -> str:
    return effect.refusal


def further(effect: Effect) -> str:
    """How many more yearly visits would show a stated step."""
    before = sum(1 for r in effect.rows if r.side == "before" and r.difference is not None)
    if before < LEAST_YEARS_A_SIDE:
        years = counted(before, "comparable year", "comparable years")
        return f"{years} before the change on record; no visit made now can add to them."
    if effect.further_for is None:
        lacking = LEAST_YEARS_A_SIDE - (effect.result.n_after if effect.result else 0)
        return (
            f"{counted(lacking, 'more yearly visit', 'more yearly visits')} needed."
            if not effect.result
            else ""
        )
    unit = unit_words(effect.measure)
    step = f"a step of {effect.further_for:g} {unit}"
    if effect.further_years is None:
        return f"At the present scatter {step} is beyond what any number of further years could show."
    if effect.further_years == 0:
        return f"The years on record are enough to see {step} with a chance of 8 in 10."
    more = counted(effect.further_years, "more yearly visit", "more yearly visits")
    return f"{more} after the change would be needed to see {step} with a chance of 8 in 10, at the present scatter."


def estimate_rows(effect: Effect) -> list[tuple[str, str, str, str, str]]:
    """Each way of estimating: name, effect, limits, p, remark."""
    if effect.result is None:
        return []
    rows = []
    for one in effect.result.estimates:
        if one.usable:
            limits = f"{rounded(one.lower, _places(effect))} to {rounded(one.upper, _places(effect))}"
            rows.append((one.method, _amount(effect, one.effect), limits, format_p(one.p_value), ""))
        else:
            rows.append((one.method, "none", "none", "none", one.reason))
    return rows


def ratio_words(effect: Effect) -> str:
    """The same comparison as a ratio, for counts."""
    r = effect.ratio
    if r is None or not r.usable:
        return ""
    against = ", beyond what the controls did" if effect.controls else ""
    return (
        f"As a ratio: {rounded(r.effect, 2)} times as many after as before{against} (95 % limits "
        f"{rounded(r.lower, 2)} to {rounded(r.upper, 2)})."
    )


def assumptions(effect: Effect) -> list[str]:
    """What has to hold for the comparison to mean anything."""
    told = ["The year is the unit: neither fish nor single visits count as proofs of their own."]
    if effect.controls:
        told.append(
            "Without the change the stations concerned and the controls would have kept their distance. Look at the "
            "years before: a drift there speaks against it."
        )
        drift = effect.result.drift_before if effect.result else None
        if drift is not None:
            told.append(
                f"Drift of the difference before the change: {format_p(drift.p_value)} over {drift.n} years."
            )
    else:
        told.append("There is no control, so a run of dry or wet years looks the same as an effect.")
    told.append(
        "Years are taken as independent of each other; years with a visit during the works are on neither side."
    )
    if effect.left_out_by_method:
        told.append(
            f"Years fished by another method are left out: {listed([str(y) for y in effect.left_out_by_method])}."
        )
    if effect.result is not None and effect.result.n_incomplete_years:
        n = effect.result.n_incomplete_years
        told.append(f"{counted(n, 'year is', 'years are')} left out because a station has no value.")
    return told


def made_of(effect: Effect) -> str:
    """Which stations are in the picture, for its caption."""
    concerned = listed([s.code for s in effect.impact])
    words = f"Stations concerned: {concerned}." if concerned else ""
    return f"{words} Controls: {listed([s.code for s in effect.controls])}." if effect.controls else words


def windows_words(effect: Effect) -> str:
    """Whether the answer hangs on which after-years are looked at."""
    result = effect.result
    if result is None or len(result.by_after_years) < 2:
        return ""
    ways = {1 if w.lower > 0 else -1 if w.upper < 0 else 0 for w in result.by_after_years}
    low = min(w.effect for w in result.by_after_years)
    high = max(w.effect for w in result.by_after_years)
    spread = f"from {_amount(effect, low)} to {_amount(effect, high)}"
    n = len(result.by_after_years)
    if len(ways) == 1:
        return (
            f"Over all {n} choices of three or more after-years in a row the difference goes {spread}; the answer is "
            "the same in each."
        )
    return f"The answer depends on which after-years are looked at: over {n} choices the difference goes {spread}."
