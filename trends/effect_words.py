"""A comparison before and after in words: what was seen, how surely, and never why."""

from surveys.language import marked, told, worded, worded_n
from trends.cautions import LEAST_YEARS_A_SIDE
from trends.effects import Effect
from trends.number_words import format_p, listed, rounded, unit_words
from trends.stats.before_after import BeforeAfter

ALSO = marked("It also happened; the record cannot show whether it is the reason.")
SIDES = {"before": marked("before"), "after": marked("after"), "during": marked("during")}
# The ways of estimating by the names that the calculation gives them, and why one of them gives nothing.
WAYS = (
    marked("Welch t"),
    marked("randomisation"),
    marked("regression, HC3 errors"),
    marked("regression, HAC errors"),
    marked("mixed model, station random"),
    marked("No scatter within the sides."),
    marked("The mixed model could not be fitted to these values."),
    marked("Fewer than 3 comparable years before the change: no effect is given."),
    marked("Fewer than 3 comparable years after the change: no effect is given."),
    marked(
        "Every year before and after the change is alike but for one step: no uncertainty can be worked out."
    ),
)
# Above or below, and against controls or alone: each a sentence of its own.
DIFFERS = {
    (1, True): marked(
        "After “{title}” {measure} at {stations} was higher than before by about {size} {unit} compared with the "
        "control stations (95 % limits of the difference {limits}; {years})."
    ),
    (1, False): marked(
        "After “{title}” {measure} at {stations} was higher than before by about {size} {unit} (95 % limits of the "
        "difference {limits}; {years})."
    ),
    (-1, True): marked(
        "After “{title}” {measure} at {stations} was lower than before by about {size} {unit} compared with the "
        "control stations (95 % limits of the difference {limits}; {years})."
    ),
    (-1, False): marked(
        "After “{title}” {measure} at {stations} was lower than before by about {size} {unit} (95 % limits of the "
        "difference {limits}; {years})."
    ),
}
UNSURE = {
    True: marked(
        "We cannot tell whether {measure} at {stations} differs before and after “{title}” compared with the control "
        "stations: the difference is {size} {unit} ({limits}; {years}). A difference below about {seen} would not "
        "show yet."
    ),
    False: marked(
        "We cannot tell whether {measure} at {stations} differs before and after “{title}”: the difference is {size} "
        "{unit} ({limits}; {years}). A difference below about {seen} would not show yet."
    ),
}


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
    stations = listed([s.code for s in effect.impact]) or worded("the stations concerned")
    if result is None:
        nothing = worded(
            "{title}: nothing can be said yet about before and after at {stations}.",
            title=title,
            stations=stations,
        )
        return f"{nothing} {told(effect.refusal)}".strip()
    years = worded(
        "{before} years before, {after} after", before=str(result.n_before), after=str(result.n_after)
    )
    words = {
        "title": title,
        "measure": effect.measure.plain,
        "stations": stations,
        "unit": unit_words(effect.measure),
        "limits": _limits(effect, result.lower, result.upper),
        "years": years,
    }
    verdict = agreed(result)
    if verdict:
        size = rounded(abs(result.effect), _places(effect))
        return f"{worded(DIFFERS[verdict, bool(effect.controls)], size=size, **words)} {told(ALSO)}"
    if verdict is None:
        return worded(
            "The two ways of estimating disagree on {measure} before and after “{title}” ({years}), so we cannot tell.",
            measure=effect.measure.plain,
            title=title,
            years=years,
        )
    seen = rounded(result.just_significant, _places(effect))
    return worded(UNSURE[bool(effect.controls)], size=_amount(effect, result.effect), seen=seen, **words)


def _limits(effect: Effect, lower: float, upper: float) -> str:
    return worded(
        "{low} to {high}", low=rounded(lower, _places(effect)), high=rounded(upper, _places(effect))
    )


def further(effect: Effect) -> str:
    """How many more yearly visits would show a stated step."""
    before = sum(1 for r in effect.rows if r.side == "before" and r.difference is not None)
    if before < LEAST_YEARS_A_SIDE:
        return worded_n(
            "{n} comparable year before the change on record; no visit made now can add to them.",
            "{n} comparable years before the change on record; no visit made now can add to them.",
            before,
        )
    if effect.further_for is None:
        lacking = int(LEAST_YEARS_A_SIDE) - (effect.result.n_after if effect.result else 0)
        return (
            worded_n("{n} more yearly visit needed.", "{n} more yearly visits needed.", lacking)
            if not effect.result
            else ""
        )
    step = worded("a step of {size} {unit}", size=f"{effect.further_for:g}", unit=unit_words(effect.measure))
    if effect.further_years is None:
        return worded(
            "At the present scatter {step} is beyond what any number of further years could show.", step=step
        )
    if effect.further_years == 0:
        return worded("The years on record are enough to see {step} with a chance of 8 in 10.", step=step)
    return worded_n(
        "{n} more yearly visit after the change would be needed to see {step} with a chance of 8 in 10, at the "
        "present scatter.",
        "{n} more yearly visits after the change would be needed to see {step} with a chance of 8 in 10, at the "
        "present scatter.",
        effect.further_years,
        step=step,
    )


def estimate_rows(effect: Effect) -> list[tuple[str, str, str, str, str]]:
    """Each way of estimating: name, effect, limits, p, remark."""
    if effect.result is None:
        return []
    rows = []
    for one in effect.result.estimates:
        if one.usable:
            limits = _limits(effect, one.lower, one.upper)
            rows.append((told(one.method), _amount(effect, one.effect), limits, format_p(one.p_value), ""))
        else:
            none = worded("none")
            rows.append((told(one.method), none, none, none, told(one.reason)))
    return rows


def ratio_words(effect: Effect) -> str:
    """The same comparison as a ratio, for counts."""
    r = effect.ratio
    if r is None or not r.usable:
        return ""
    pattern = (
        marked(
            "As a ratio: {times} times as many after as before, beyond what the controls did (95 % limits {low} to "
            "{high})."
        )
        if effect.controls
        else marked("As a ratio: {times} times as many after as before (95 % limits {low} to {high}).")
    )
    return worded(pattern, times=rounded(r.effect, 2), low=rounded(r.lower, 2), high=rounded(r.upper, 2))


def assumptions(effect: Effect) -> list[str]:
    """What has to hold for the comparison to mean anything."""
    lines = [worded("The year is the unit: neither fish nor single visits count as proofs of their own.")]
    if effect.controls:
        lines.append(
            worded(
                "Without the change the stations concerned and the controls would have kept their distance. Look at "
                "the years before: a drift there speaks against it."
            )
        )
        drift = effect.result.drift_before if effect.result else None
        if drift is not None:
            lines.append(
                worded(
                    "Drift of the difference before the change: {p} over {n} years.",
                    p=format_p(drift.p_value),
                    n=str(drift.n),
                )
            )
    else:
        lines.append(worded("There is no control, so a run of dry or wet years looks the same as an effect."))
    lines.append(
        worded(
            "Years are taken as independent of each other; years with a visit during the works are on neither side."
        )
    )
    if effect.left_out_by_method:
        years = listed([str(y) for y in effect.left_out_by_method])
        lines.append(worded("Years fished by another method are left out: {years}.", years=years))
    if effect.result is not None and effect.result.n_incomplete_years:
        lines.append(
            worded_n(
                "{n} year is left out because a station has no value.",
                "{n} years are left out because a station has no value.",
                effect.result.n_incomplete_years,
            )
        )
    return lines


def made_of(effect: Effect) -> str:
    """Which stations are in the picture, for its caption."""
    concerned = listed([s.code for s in effect.impact])
    words = worded("Stations concerned: {stations}.", stations=concerned) if concerned else ""
    if not effect.controls:
        return words
    controls = worded("Controls: {stations}.", stations=listed([s.code for s in effect.controls]))
    return f"{words} {controls}"


def windows_words(effect: Effect) -> str:
    """Whether the answer hangs on which after-years are looked at."""
    result = effect.result
    if result is None or len(result.by_after_years) < 2:
        return ""
    ways = {1 if w.lower > 0 else -1 if w.upper < 0 else 0 for w in result.by_after_years}
    low = min(w.effect for w in result.by_after_years)
    high = max(w.effect for w in result.by_after_years)
    pattern = (
        marked(
            "Over all {n} choices of three or more after-years in a row the difference goes from {low} to {high}; the "
            "answer is the same in each."
        )
        if len(ways) == 1
        else marked(
            "The answer depends on which after-years are looked at: over {n} choices the difference goes from {low} "
            "to {high}."
        )
    )
    return worded(
        pattern, n=str(len(result.by_after_years)), low=_amount(effect, low), high=_amount(effect, high)
    )
