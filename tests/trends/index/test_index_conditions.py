"""The conditions of method files in words: whole sentences that a planner reads."""

from typing import Any

import pytest

from trends.index.conditions import describe


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ({"fish": {"at_most": 0}}, "no fish were caught"),
        ({"fish": {"below": 10}}, "fewer than 10 fish were caught"),
        ({"fish": {"at_least": 10, "below": 50}}, "at least 10 and fewer than 50 fish were caught"),
        ({"fish_per_300_m": {"below": 200}}, "fewer than 200 fish per 300 m of stream were caught"),
        ({"passes": {"at_least": 2}}, "at least 2 passes were made"),
        ({"reach_m": {"below": 75}}, "the reach is less than 75 m long"),
        ({"mean_width_m": {"above": "2.5"}}, "the stream is more than 2.5 m wide on average"),
        (
            {"fish": {"at_most": 0}, "catchment_acres": {"at_least": 300}},
            "no fish were caught and the catchment is at least 300 acres",
        ),
        ({"catchment_km2": {"below": 2}}, "the catchment is less than 2 km²"),
        ({"catchment_sq_mi": {"at_most": 20}}, "the catchment is at most 20 square miles"),
        ({"repeated_sampling": True}, "sampling was repeated"),
        ({"repeated_sampling": False}, "sampling was not repeated"),
        ({"stream": "cold"}, "the kind of stream is cold"),
        ({"region": ["north", "hills"]}, "the region is north or hills"),
        ({"tidal": True}, "“tidal” is noted for the visit"),
        ({"tidal": False}, "“tidal” is not noted for the visit"),
        ({"water_colour": ["clear", "brown"]}, "“water colour” is clear or brown"),
    ],
)
def test_a_condition_is_said_in_a_sentence(when: dict[str, Any], words: str) -> None:
    assert describe(when) == words
