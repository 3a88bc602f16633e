"""The ticks of drawn axes are round, few, and inside the axis."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trends.ticks import round_ticks


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0, 100, ["0", "50", "100"]),
        (1.2, 5.3, ["2", "3", "4", "5"]),
        (-3.6, 0.1, ["−3", "−2", "−1", "0"]),
        (-0.2, 2.2, ["0.0", "0.5", "1.0", "1.5", "2.0"]),
        (0.012, 0.048, ["0.02", "0.03", "0.04"]),
        (4, 4, ["4.00"]),
    ],
)
def test_ticks_are_multiples_of_one_two_or_five(low: float, high: float, words: list[str]) -> None:
    assert [said for _, said in round_ticks(low, high)] == words


@given(
    st.floats(-1e6, 1e6, allow_nan=False),
    st.floats(1e-4, 1e6, allow_nan=False),
    st.integers(2, 9),
)
def test_ticks_lie_within_their_axis_and_are_as_far_apart_as_each_other(
    low: float, length: float, most: int
) -> None:
    high = low + length
    if not high - low > abs(low) * 1e-7:
        return  # an axis shorter than the digits of its ends can tell
    values = [value for value, _ in round_ticks(low, high, most)]
    assert len(values) <= most
    slack = 1e-6 * length
    assert all(low - slack <= value <= high + slack for value in values)
    gaps = [b - a for a, b in itertools.pairwise(values)]
    assert all(math.isclose(gap, gaps[0], rel_tol=1e-6, abs_tol=slack) for gap in gaps)
    assert len({said for _, said in round_ticks(low, high, most)}) == len(values)
