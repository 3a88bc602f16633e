"""The total over taxa, pooled and added up, with the choice said; passes of unequal time."""

import pytest

from trends.removal_words import effort_sentence, separate_sentence


def test_the_sum_over_taxa_is_told_beside_the_pooled_total() -> None:
    """Two-pass formula by hand: 80^2/50 + 40^2/30 = 128 + 53.3."""
    told = separate_sentence([[80, 30], [40, 10]], usable=True)
    assert "the total is 181" in told and "same chance" in told


def test_a_taxon_without_an_estimate_enters_with_its_catch_and_is_counted() -> None:
    told = separate_sentence([[80, 30], [40, 10], [3, 3]], usable=True)
    assert "187" in told and "1 of 3 taxa" in told and "no upper limit" in told


@pytest.mark.parametrize(
    ("catches", "usable"),
    [([[80, 30], [40, 10]], False), ([[80, 30]], True), ([], True), ([[3, 3], [2, 5]], True)],
)
def test_nothing_is_told_where_there_is_no_total(catches: list[list[int]], usable: bool) -> None:
    assert separate_sentence(catches, usable=usable) == ""


def test_passes_of_unequal_time_are_told_with_what_the_estimate_would_be() -> None:
    """By hand: 200 fish, half of what is left caught in 300 s and so three quarters in 600 s, gives 150 and 25.

    The formula for equal passes makes 150^2 / 125 = 180 of them.
    """
    told = effort_sentence([150, 25], [600, 300], usable=True)
    assert "from 300 to 600 s" in told
    assert "all fish would be 200 (95 % limits" in told


def test_a_long_second_pass_may_leave_only_a_least_number() -> None:
    assert "all fish would be 1, at least 1." in effort_sentence([1, 0], [60, 73], usable=True)


@pytest.mark.parametrize(
    ("times", "usable"),
    [([600, 500], True), ([600, None], True), ([None, None], True), ([600, 300], False), ([600, 0], True)],
)
def test_nothing_is_told_of_times_that_are_alike_or_not_known(times: list, usable: bool) -> None:
    assert effort_sentence([150, 25], times, usable=usable) == ""


def test_a_catch_that_falls_only_with_the_time_has_no_estimate() -> None:
    told = effort_sentence([60, 30], [900, 300], usable=True)
    assert "there is no estimate of all fish" in told
