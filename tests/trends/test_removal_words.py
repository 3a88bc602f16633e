"""The total over taxa, pooled and added up, with the choice said."""

import pytest

from trends.removal_words import separate_sentence


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
