"""Numbers as text: rounding that the data bear, true minus signs, units. No sentence."""

import math

from surveys.language import marked, noun, told, worded
from trends.measures import Measure

MINUS = "\u2212"
# Where a word turns, by the confidence in the direction and by the two-sided p that belongs to it; 0.05 is
# where stations are said to disagree. A number is never rounded across, or on to, one of these.
CONFIDENCE_LIMITS = (0.70, 0.85, 0.95)
P_LIMITS = (0.05, 0.10, 0.30, 0.60)
MOST_DECIMALS = 6
NOT_KNOWN = marked("not known")
LEAST_P = marked("less than 0.0001")


def rounded(value: float, decimals: int) -> str:
    """Fixed decimals, thousands parted by commas, a true minus sign, and never a minus zero."""
    if math.isinf(value):
        return worded("no limit")
    text = f"{abs(value):,.{decimals}f}"
    negative = value < 0 and any(c in "123456789" for c in text)
    return f"{MINUS}{text}" if negative else text


def two_digits(value: float) -> str:
    """Two significant digits in plain figures, never as a power of ten: 1,600, 16, 1.6, 0.016."""
    if value == 0 or not math.isfinite(value):
        return rounded(value, 0)
    decimals = 1 - math.floor(math.log10(abs(value)))
    text = rounded(round(value, decimals), max(decimals, 0))
    return text.rstrip("0").rstrip(".") if "." in text else text


def small_p(p_value: float) -> str:
    """A p-value alone, without its letter; one of the text's own words where it is tiny."""
    return LEAST_P if p_value < 0.0001 else two_digits(p_value)


def unit_words(measure: Measure) -> str:
    """The unit as it is said after a difference: percent become percentage points."""
    return worded("percentage points") if measure.share else measure.unit


def format_value(measure: Measure, value: float | None, *, unit: bool = True) -> str:
    """One value of a measure: "3.25 points", "12 species", "41.0 % of fish"; "not known" where absent."""
    if value is None or math.isnan(value):
        return told(NOT_KNOWN)
    # A median of an even number of whole counts may end in a half, and is shown so.
    decimals = measure.decimals or (0 if float(value).is_integer() else 1)
    number = rounded(value, decimals)
    if not unit or not measure.english_unit:
        return number
    one_point = value == 1 and measure.english_unit == "points"
    words = worded("point") if one_point else measure.unit
    return f"{number} {words}"


def slope_decimals(per_year: float) -> int:
    """Decimals for a change per decade: one significant digit below a tenth, whole numbers from ten up."""
    size = abs(per_year) * 10
    if size >= 9.95:
        return 0
    return 1 if size >= 0.095 or size == 0 else 2


def range_decimals(per_year: float, lower: float | None, upper: float | None) -> int:
    """Decimals that also keep the two limits apart where they differ: never "between 30 and 30"."""
    places = slope_decimals(per_year)
    if lower is None or upper is None or lower == upper:
        return places
    while places < 2 and per_decade(lower, places) == per_decade(upper, places):
        places += 1
    return places


def per_decade(per_year: float, decimals: int | None = None) -> str:
    """A slope per year as a signed number per decade, without its unit."""
    places = slope_decimals(per_year) if decimals is None else decimals
    return rounded(per_year * 10, places)


def format_slope(measure: Measure, per_year: float | None) -> str:
    """A slope with sign and unit: "+0.4 points a decade"."""
    if per_year is None or math.isnan(per_year):
        return told(NOT_KNOWN)
    number = per_decade(per_year)
    sign = "+" if per_year > 0 and not number.startswith(MINUS) else ""
    return worded("{number} {unit} a decade", number=f"{sign}{number}", unit=unit_words(measure))


def format_p(p_value: float) -> str:
    """A p-value: two significant digits, more beside a limit of the words, "below 0.001" where smaller."""
    if p_value < 0.001:
        return worded("p below 0.001")
    if p_value < 0.01:
        return f"p = {p_value:.3f}"
    text = f"{p_value:.2g}" if p_value < 0.1 else f"{p_value:.2f}"
    return f"p = {_beside_limits(p_value, text, P_LIMITS)}"


def format_confidence(share: float) -> str:
    """A confidence in the direction: two digits, more beside a limit of the words."""
    if share > 0.999:
        return worded("above 0.999")
    return _beside_limits(share, f"{share:.3f}" if share > 0.99 else f"{share:.2f}", CONFIDENCE_LIMITS)


def _beside_limits(value: float, text: str, limits: tuple[float, ...]) -> str:
    """The text, or as many decimals as keep the number on its own side: 0.1002 is not shown as 0.10."""
    decimals = 3
    while _sides(float(text), limits) != _sides(value, limits) and decimals <= MOST_DECIMALS:
        text = f"{value:.{decimals}f}"
        decimals += 1
    return text


def _sides(value: float, limits: tuple[float, ...]) -> list[int]:
    """For each limit whether the value lies below (-1), on (0) or above (1) it."""
    apart = [0.0 if math.isclose(value, limit, rel_tol=1e-9) else value - limit for limit in limits]
    return [(gap > 0) - (gap < 0) for gap in apart]


def counted(number: int, one: str, many: str) -> str:
    """ "1 year", "3 years": a number with its word, which stands behind it in every language here."""
    return f"{number} {noun(one, many, number)}"


def listed(items: list[str]) -> str:
    """ "2006, 2009 and 2011"."""
    if len(items) < 2:
        return items[0] if items else ""
    return worded("{items} and {last}", items=", ".join(items[:-1]), last=items[-1])


def sentence(text: str) -> str:
    """A phrase with a capital at the start and one full stop at the end."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".?" else ".")


def phrase(text: str) -> str:
    """A reason as it stands inside a sentence: no stop at the end, no capital on a common word."""
    text = text.strip().rstrip(".")
    if len(text) > 1 and text[0].isupper() and text[1].islower():
        text = text[0].lower() + text[1:]
    return text


def capital(text: str) -> str:
    """With a capital at the start."""
    return text[:1].upper() + text[1:]
