"""Round numbers for the ticks of a drawn axis. Pure."""

import math

STEPS = (1, 2, 5, 10)


def round_ticks(low: float, high: float, most: int = 5) -> list[tuple[float, str]]:
    """Multiples of 1, 2 or 5 times a power of ten that lie within the limits, with their words.

    Parameters
    ----------
    low, high : the ends of the axis, low below high; in the unit of the axis
    most : no more ticks than this, at least 2

    Returns
    -------
    Value and words of each tick, rising: as few decimals as tell them apart, a true minus sign. One tick
    at the least value where the axis has no length.
    """
    if not high > low:
        return [(low, _words(low, 2))]
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    for step in (power * one for one in (*STEPS, *(10 * one for one in STEPS))):
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first + 1 <= most:
            decimals = max(0, -math.floor(math.log10(step) + 1e-9))
            return [(i * step, _words(i * step, decimals)) for i in range(first, last + 1)]
    raise AssertionError("a step of ten times a tenth of the axis leaves at most two ticks")


def _words(value: float, decimals: int) -> str:
    words = f"{abs(value):.{decimals}f}"
    return f"−{words}" if value < 0 and float(words) else words
