"""The county's finding: no creek is called surer than it is."""

from tests.trends.hand_made import outcome, period
from trends.county_words import county_finding

BETTER, LIKELY_BETTER = period(), period(certainty="likely")
WORSE = period(direction="down", good=False, slope=-0.04)
UNCLEAR = period(certainty="unclear", direction="none", good=None)


def told(*periods: object, staff: bool = False) -> str:
    return county_finding([outcome(p) for p in periods], staff=staff)  # type: ignore[arg-type]


def test_each_way_has_its_own_count_and_word() -> None:
    assert told(BETTER, WORSE, UNCLEAR) == (
        "Of three creeks, one is very likely getting better, one is very likely getting worse; "
        "for one we can't tell yet."
    )


def test_a_group_is_called_as_sure_as_its_least_sure_creek() -> None:
    assert told(BETTER, LIKELY_BETTER) == "Of two creeks, two are probably getting better."
    assert told(BETTER, LIKELY_BETTER, staff=True) == "Of two creeks, two are likely improving."


def test_creeks_without_a_result_are_counted_among_the_unknown() -> None:
    assert county_finding([outcome(BETTER), None], staff=False).endswith("for one we can't tell yet.")


def test_nothing_known_is_said_plainly() -> None:
    assert told(UNCLEAR) == "We can't tell yet which way the creek goes."
    assert told(UNCLEAR, UNCLEAR) == "We can't tell yet which way any of two creeks goes."
    assert county_finding([], staff=False) == "No creek is on record yet."
