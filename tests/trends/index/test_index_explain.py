"""Reading a score: distances to bands, ways up, doubts, and what explains a change."""

from __future__ import annotations

import pytest
from index_samples import piedmont

from trends.index import load_method, score_sample
from trends.index.explain import compare_years, sensitivity, steps, what_to_next_rating

MARYLAND = load_method("maryland_fish_2005")
RESULT = score_sample(MARYLAND, piedmont())
# abundance 20/300 = 0.0667 (1), benthic 1/1.724 = 0.58 (5), tolerant 45 % (5), feeding 75 % (5),
# biomass 8 g/m2 (3), lithophils 30 % (1): 20 / 6 = 3.33, Fair


def test_the_next_band_and_the_one_behind_are_told_with_their_distance() -> None:
    step = {step.metric: step for step in steps(RESULT, MARYLAND)}["biomass"]
    assert (step.value, step.points, step.better_points, step.better_limit) == (8.0, 3, 5, 8.6)
    assert step.better_distance == pytest.approx(0.6)
    assert (step.worse_points, step.worse_limit, step.worse_distance) == (1, 4.0, 4.0)
    assert step.words == "0.6 g/m² from ≥ 8.6, which earns 5"


def test_the_best_band_has_nothing_better() -> None:
    step = {step.metric: step for step in steps(RESULT, MARYLAND)}["tolerant"]
    assert (step.better_points, step.words) == (None, "in the best band")
    assert (step.worse_points, step.worse_limit, step.worse_distance) == (3, 45.0, 0.0)


def test_what_lacks_to_the_next_rating() -> None:
    way = what_to_next_rating(RESULT, MARYLAND)
    assert (way.rating, way.limit) == ("Good", 4.0)
    assert way.score_lacking == pytest.approx(4 - 20 / 6)
    assert way.single_metrics == ()  # 4 points are lacking, one band brings 2
    close = score_sample(MARYLAND, piedmont(reach_m=10, biomass_g_per_pass=[200, 40]))
    # abundance 0.5 (3), biomass 6 g/m2 (3): 22 points
    assert close.score == pytest.approx(22 / 6)
    assert {step.metric for step in what_to_next_rating(close, MARYLAND).single_metrics} == {
        "abundance", "biomass", "lithophils",
    }  # fmt: skip


def test_without_a_score_or_at_the_top_there_is_no_way_up() -> None:
    none = score_sample(MARYLAND, piedmont(mean_width_m=None))
    assert what_to_next_rating(none, MARYLAND).reason == "there is no score"
    assert steps(score_sample(MARYLAND, piedmont(stratum="x")), MARYLAND) == ()


def test_confused_look_alikes_and_fewer_passes_give_other_scores() -> None:
    pair = ("Clinostomus funduloides", "Semotilus atromaculatus")
    found = {what.label: what for what in sensitivity(MARYLAND, piedmont(), look_alikes=[pair])}
    confused = found["all Clinostomus funduloides read as Semotilus atromaculatus"]
    assert confused.score == pytest.approx(16 / 6)  # tolerant 75 %: 1 point instead of 5
    other = found["all Semotilus atromaculatus read as Clinostomus funduloides"]
    assert other.change == pytest.approx(4 / 6)  # lithophils 75 %: 5 points instead of 1
    first = found["first pass only"]
    assert first.score is not None  # weights per pass are known


def test_a_look_alike_that_was_not_caught_needs_its_traits() -> None:
    pair = ("Cottus caeruleomentum", "Etheostoma olmstedi")
    assert sensitivity(MARYLAND, piedmont(), look_alikes=[pair], fewer_passes=False) == ()
    traits = {"Etheostoma olmstedi": {"tolerance": "tolerant", "feeding": "invertivore", "benthic": 1}}
    found = sensitivity(MARYLAND, piedmont(), look_alikes=[pair], traits=traits, fewer_passes=False)
    assert len(found) == 1
    # tolerant 70 % and feeding 100 %: 1 point instead of 5 for each
    assert found[0].change == pytest.approx(-8 / 6)


def test_a_change_between_years_is_split_among_the_metrics() -> None:
    later = score_sample(MARYLAND, piedmont(biomass_g_per_pass=[3000, 0], mean_width_m=4))
    comparison = compare_years(RESULT, later, MARYLAND)
    assert comparison.comparable
    assert comparison.change == pytest.approx(2 / 6)
    assert comparison.metrics[0].metric == "biomass"
    parts = [change.score_part for change in comparison.metrics]
    assert sum(part for part in parts if part is not None) == pytest.approx(comparison.change)


def test_results_of_different_strata_are_not_compared() -> None:
    other = score_sample(MARYLAND, piedmont(stratum="coastal_plain"))
    assert not compare_years(RESULT, other, MARYLAND).comparable
    none = score_sample(MARYLAND, piedmont(mean_width_m=None))
    assert compare_years(RESULT, none, MARYLAND).reason == "one of the two has no score"
