"""Diversity: conventions at the edges, properties, random draws as a second way."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trends.stats.diversity import (
    bray_curtis,
    chao1,
    hill_number,
    inverse_simpson,
    pielou_evenness,
    rarefaction,
    rarefied_richness,
    shannon,
    simpson,
)

COUNTS = st.lists(st.integers(0, 50), min_size=1, max_size=12).filter(lambda c: sum(c) > 0)


@pytest.mark.parametrize("measure", [shannon, simpson, pielou_evenness, inverse_simpson, chao1])
def test_no_fish_has_no_diversity_rather_than_none(measure: Callable[[list[int]], float]) -> None:
    assert math.isnan(measure([0, 0]))
    assert math.isnan(measure([]))


def test_absent_taxa_change_nothing() -> None:
    for measure in (shannon, simpson, pielou_evenness, inverse_simpson):
        assert measure([0, 3, 0, 4, 1]) == measure([3, 4, 1])


@given(COUNTS)
def test_measures_stay_within_their_bounds(counts: list[int]) -> None:
    taxa = sum(c > 0 for c in counts)
    assert -1e-12 <= shannon(counts) <= math.log(taxa) + 1e-12
    assert 0 <= simpson(counts) < 1
    if taxa > 1:
        assert 0 < pielou_evenness(counts) <= 1 + 1e-12


@given(COUNTS)
def test_hill_numbers_fall_with_the_order_and_meet_the_other_measures(counts: list[int]) -> None:
    numbers = [hill_number(counts, q) for q in (0, 0.5, 1, 2, 5, math.inf)]
    assert all(a >= b - 1e-9 for a, b in itertools.pairwise(numbers))
    assert numbers[0] == pytest.approx(sum(c > 0 for c in counts))
    assert math.log(numbers[2]) == pytest.approx(shannon(counts), abs=1e-12)
    assert 1 / numbers[3] == pytest.approx(1 - simpson(counts))
    assert hill_number(counts, 1 + 1e-7) == pytest.approx(numbers[2], rel=1e-4)


def test_a_high_order_does_not_underflow() -> None:
    assert hill_number([1] * 50, 900) == pytest.approx(50)


@given(COUNTS, st.randoms(use_true_random=False))
def test_the_order_of_the_taxa_changes_nothing(counts: list[int], random) -> None:
    shuffled = random.sample(counts, len(counts))
    assert shannon(counts) == pytest.approx(shannon(shuffled))
    assert simpson(counts) == pytest.approx(simpson(shuffled))


def test_one_taxon_has_no_evenness() -> None:
    assert math.isnan(pielou_evenness([5]))
    assert (shannon([5]), simpson([5])) == (0, 0)


@given(COUNTS)
def test_rarefying_to_all_fish_gives_all_taxa_and_to_one_fish_gives_one(counts: list[int]) -> None:
    assert rarefied_richness(counts, sum(counts)) == pytest.approx(sum(c > 0 for c in counts))
    assert rarefied_richness(counts, 1) == pytest.approx(1)
    assert rarefied_richness(counts, 0) == pytest.approx(0)


def test_more_fish_than_were_caught_is_no_sample() -> None:
    assert math.isnan(rarefied_richness([3, 4], 8))
    assert math.isnan(rarefaction([3, 4], 8).richness)


def test_rarefaction_agrees_with_drawing_samples() -> None:
    counts = [30, 12, 5, 2, 1, 1]
    random = np.random.default_rng(12)
    drawn = (random.multivariate_hypergeometric(counts, 15, size=20_000) > 0).sum(axis=1)
    result = rarefaction(counts, 15)
    assert result.richness == pytest.approx(drawn.mean(), abs=0.03)
    assert result.standard_deviation == pytest.approx(drawn.std(), abs=0.02)
    assert result.lower < result.richness < result.upper <= 6
    assert rarefaction(counts, 15, confidence=0.5).upper < result.upper


@given(COUNTS, COUNTS)
def test_dissimilarity_is_mutual_and_bounded(one: list[int], other: list[int]) -> None:
    size = min(len(one), len(other))
    a, b = one[:size], other[:size]
    if sum(a) + sum(b) == 0:
        assert math.isnan(bray_curtis(a, b))
        return
    assert 0 <= bray_curtis(a, b) <= 1
    assert bray_curtis(a, b) == bray_curtis(b, a)
    assert bray_curtis(a, a) == 0 or sum(a) == 0


def test_classic_chao_has_no_value_without_taxa_met_twice() -> None:
    assert math.isnan(chao1([1, 1, 5], bias_corrected=False))
    assert chao1([3, 5], bias_corrected=False) == 2


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: shannon([1, -1]), r"counts\[1\] is negative"),
        (lambda: simpson([1, math.nan]), r"counts\[1\] is missing: unknown is not zero"),
        (lambda: rarefied_richness([1.5, 2], 1), "not a whole number"),
        (lambda: rarefied_richness([1, 2], 1.5), "sample_size must be a whole number"),
        (lambda: shannon([1, 2], base=1), "base must be above 1"),
        (lambda: hill_number([1, 2], -1), "order must be 0 or more"),
        (lambda: bray_curtis([1, 2], [1]), "same length, got 2 and 1"),
        (lambda: bray_curtis([1, math.inf], [1, 2]), r"first\[1\] is infinite"),
    ],
)
def test_wrong_input_is_refused_by_name(call: Callable[[], float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        call()
