"""Scoring: cut points met exactly, no fish, traits that are not known, the rules of the methods."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from index_samples import NUMBER, RICHNESS, coldwater, piedmont

from trends.index import MethodError, load_method, score_sample
from trends.index.exact import exact
from trends.index.results import from_plain, to_plain
from trends.index.scoring import rating_of

MARYLAND = load_method("maryland_fish_2005")
WISCONSIN = load_method("wisconsin_coldwater_1996")
KARR = load_method("karr_midwest_1986")


def test_a_share_exactly_on_a_cut_point_earns_the_better_points() -> None:
    tolerant = score_sample(MARYLAND, piedmont()).metrics["tolerant"]
    assert (tolerant.value, tolerant.points, tolerant.band) == (45.0, 5, "≤ 45")


def test_decimals_do_not_drift_across_a_cut_point() -> None:
    # 86 g on 0.1 m x 100 m = 10 m2 is 8.6 g/m2 exactly; in binary arithmetic 0.1 x 100 x 8.6 is not 86
    sample = piedmont(reach_m=100, mean_width_m=0.1, biomass_g_per_pass=[50.3, 35.7])
    biomass = score_sample(MARYLAND, sample).metrics["biomass"]
    assert (biomass.value, biomass.points) == (8.6, 5)


def test_a_metric_leads_to_the_fish_behind_it() -> None:
    tolerant = score_sample(MARYLAND, piedmont()).metrics["tolerant"]
    assert [(part.taxon, part.amount) for part in tolerant.taxa] == [("Semotilus atromaculatus", 9.0)]
    assert (tolerant.numerator, tolerant.denominator) == (9.0, 20.0)


@pytest.mark.parametrize(("score", "word"), [
    ("5", "Good"), ("4", "Good"), ("3.99", "Fair"), ("3.95", "Fair"), ("3", "Fair"), ("2.999", "Poor"),
    ("2", "Poor"), ("1.99", "Very Poor"), ("1", "Very Poor"),
])  # fmt: skip
def test_maryland_rating_words_change_at_their_lower_ends(score: str, word: str) -> None:
    assert rating_of(MARYLAND, exact(score)) == (word, "")


def test_a_mean_of_exactly_four_is_good() -> None:
    # 5 + 5 + 5 + 3 + 3 + 3 = 24 over 6 metrics
    sample = piedmont(reach_m=10, mean_width_m=2, biomass_g_per_pass=[60, 40])
    result = score_sample(MARYLAND, sample)
    points = {key: metric.points for key, metric in result.metrics.items()}
    assert points == {
        "abundance": 3, "benthic_adj": 5, "tolerant": 5, "gen_omni_inv": 5, "biomass": 3, "lithophils": 1,
    }  # fmt: skip
    more = piedmont(reach_m=4, mean_width_m=4, biomass_g_per_pass=[60, 20])
    more["species"]["Clinostomus funduloides"]["lithophil"] = 0
    more["species"]["Cottus caeruleomentum"]["lithophil"] = 1
    more["species"]["Semotilus atromaculatus"]["lithophil"] = 1
    result = score_sample(MARYLAND, more)
    assert [metric.points for metric in result.metrics.values()] == [5, 5, 5, 5, 3, 5]
    assert (result.score, result.rating) == (pytest.approx(28 / 6), "Good")


@pytest.mark.parametrize(
    "stratum", ["coastal_plain", "eastern_piedmont", "warmwater_highlands", "coldwater_highlands"]
)
def test_no_fish_in_an_adequate_catchment_scores_one(stratum: str) -> None:
    result = score_sample(MARYLAND, piedmont(stratum=stratum, species={}))
    assert (result.score, result.rating, result.computable) == (1.0, "Very Poor", True)
    assert "No fish" in result.reasons[0]
    assert result.metrics["tolerant"].value is None and result.metrics["tolerant"].reason
    assert result.metrics["abundance"].value == 0 and result.metrics["abundance"].points == 1


def test_no_fish_in_a_tiny_catchment_has_no_score() -> None:
    result = score_sample(MARYLAND, piedmont(species={}, catchment_acres=60))
    assert (result.score, result.rating, result.computable) == (None, None, False)


@pytest.mark.parametrize(("stratum", "acres"), [
    ("coastal_plain", 93), ("eastern_piedmont", 77), ("warmwater_highlands", 81),
])  # fmt: skip
def test_a_catchment_where_no_species_are_expected_is_not_scored(stratum: str, acres: int) -> None:
    small = score_sample(MARYLAND, piedmont(stratum=stratum, catchment_acres=acres))
    benthic = small.metrics["benthic_adj"]
    assert (benthic.value, benthic.points) == (None, None)
    assert "not above zero" in benthic.reason
    assert (small.score, small.computable) == (None, False)
    larger = score_sample(MARYLAND, piedmont(stratum=stratum, catchment_acres=acres + 1))
    assert larger.metrics["benthic_adj"].points == 5


@pytest.mark.parametrize(("key", "metric", "words"), [
    ("mean_width_m", "abundance", "width"), ("reach_m", "abundance", "reach"),
    ("catchment_acres", "benthic_adj", "catchment"), ("biomass_g_per_pass", "biomass", "not weighed"),
])  # fmt: skip
def test_a_fact_that_is_missing_leaves_the_metric_and_the_score_open(
    key: str, metric: str, words: str
) -> None:
    result = score_sample(MARYLAND, piedmont(**{key: None}))
    assert result.metrics[metric].points is None
    assert words in result.metrics[metric].reason
    assert result.score is None and not result.computable
    assert any(words in reason for reason in result.reasons)


def test_all_fish_in_one_pass_are_scored_with_a_caution() -> None:
    sample = piedmont(biomass_g_per_pass=[2400])
    for entry in sample["species"].values():
        entry["passes"] = [sum(entry["passes"])]
    result = score_sample(MARYLAND, sample)
    assert result.score == score_sample(MARYLAND, piedmont()).score
    assert any("made for 2 passes" in caution for caution in result.cautions)


def test_hybrids_count_as_fish_and_not_as_species() -> None:
    sample = piedmont()
    sample["species"] = {
        "Cottus hybrid": {
            "passes": [4, 1],
            "hybrid": 1,
            "benthic": 1,
            "tolerance": "moderate",
            "feeding": "insectivore",
        }
    }
    result = score_sample(MARYLAND, sample)
    assert result.metrics["benthic_adj"].value == 0
    assert result.metrics["tolerant"].denominator == 5
    left_out = result.excluded[0]
    assert (left_out.taxon, left_out.fish, left_out.metrics) == ("Cottus hybrid", 5, ("benthic_adj",))
    assert "not a species" in left_out.reason


def test_an_unidentified_fish_beside_a_known_one_of_its_genus_is_no_further_species() -> None:
    sample = piedmont()
    sample["species"]["Cottus sp."] = {
        "passes": [1],
        "benthic": 1,
        "tolerance": "moderate",
        "feeding": "insectivore",
    }
    result = score_sample(MARYLAND, sample)
    assert result.metrics["benthic_adj"].numerator == 1
    assert any(item.taxon == "Cottus sp." for item in result.excluded)


def test_an_unknown_trait_that_could_change_the_points_leaves_them_open() -> None:
    sample = piedmont()
    sample["species"]["Clinostomus funduloides"]["tolerance"] = None
    result = score_sample(MARYLAND, sample)
    tolerant = result.metrics["tolerant"]
    assert (tolerant.value, tolerant.points, tolerant.unknown_fish) == (None, None, 6)
    assert (tolerant.lower, tolerant.upper) == (45.0, 75.0)
    assert "6 fish" in tolerant.reason and "1 or 5" in tolerant.reason
    assert result.score is None


def test_an_unknown_trait_that_cannot_change_the_points_leaves_a_remark() -> None:
    sample = piedmont()
    sample["species"]["Cottus caeruleomentum"]["feeding"] = "unknown"
    metric = score_sample(MARYLAND, sample).metrics["gen_omni_inv"]
    assert metric.points is None  # 75 % or 100 %: 5 or 1 points
    sample["species"]["Cottus caeruleomentum"]["passes"] = [1]
    sample["species"]["Semotilus atromaculatus"]["feeding"] = "herbivore"
    metric = score_sample(MARYLAND, sample).metrics["gen_omni_inv"]
    assert (metric.value, metric.points) == (None, 5)  # 37.5 % or 43.75 %
    assert "same either way" in metric.reason


def test_a_pass_whose_count_is_not_known_is_not_taken_as_zero() -> None:
    sample = piedmont()
    sample["species"]["Cottus caeruleomentum"]["passes"] = [4, None]
    result = score_sample(MARYLAND, sample)
    assert result.metrics["abundance"].points is None
    assert "Cottus caeruleomentum" in result.metrics["abundance"].reason


def test_a_taxon_with_no_fish_counts_for_nothing() -> None:
    sample = piedmont()
    sample["species"]["Noturus insignis"] = {"passes": [0, 0], "benthic": 1}
    assert score_sample(MARYLAND, sample).metrics == score_sample(MARYLAND, piedmont()).metrics


def test_an_unknown_stratum_gives_reasons_and_no_score() -> None:
    result = score_sample(MARYLAND, piedmont(stratum="tidal marsh"))
    assert (result.score, result.metrics, result.computable) == (None, {}, False)
    assert "tidal marsh" in result.reasons[0]
    assert "coastal_plain" in score_sample(MARYLAND, piedmont(stratum=None)).reasons[0]


def test_the_lowest_confidence_stratum_says_so() -> None:
    result = score_sample(MARYLAND, piedmont(stratum="Coldwater Highlands"))
    assert any(caution.startswith("Low confidence") for caution in result.cautions)
    assert {metric.confidence for metric in result.metrics.values()} == {"low"}


def test_without_salmonids_the_brook_trout_share_earns_no_points_but_a_reason() -> None:
    result = score_sample(WISCONSIN, coldwater({"Cottus bairdii": {
        "passes": [3], "tolerance": "intolerant", "feeding": "insectivore", "stenotherm": 1,
    }}))  # fmt: skip
    share = result.metrics["brook_share"]
    assert (share.value, share.points) == (None, 0)
    assert "No salmonids" in share.reason
    assert result.computable


def test_the_salmonid_flag_and_the_family_mean_the_same() -> None:
    trout = {"passes": [10], "tolerance": "intolerant", "feeding": "top predator", "stenotherm": 1}
    for extra in ({"salmonid": 1}, {"family": "Salmonidae"}, {}):
        result = score_sample(WISCONSIN, coldwater({
            "Salvelinus fontinalis": {**trout, **extra}, "Salmo trutta": {**trout, **extra},
        }))  # fmt: skip
        assert result.metrics["brook_share"].value == 50


def test_no_fish_in_a_coldwater_stream_has_no_score_since_the_rule_was_not_found() -> None:
    result = score_sample(WISCONSIN, coldwater({}))
    assert not result.computable
    assert "No fish" in result.reasons[0]


def karr_sample() -> dict[str, Any]:
    insect = {"tolerance": "moderate", "feeding": "insectivore"}
    return {"method": "karr_midwest_1986", "species": {
        "Etheostoma caeruleum": {"passes": [20], **insect, "anomalies": 0},
        "Luxilus cornutus": {"passes": [60], **insect},
        "Lepomis megalotis": {"passes": [10], **insect},
        "Lepomis cyanellus": {"passes": [5], "tolerance": "tolerant", "feeding": "generalist"},
        "Micropterus dolomieu": {"passes": [6], "tolerance": "intolerant", "feeding": "top predator"},
        "Cyprinus carpio": {"passes": [4], "tolerance": "tolerant", "feeding": "omnivore", "native": 0},
        "Lepomis cyanellus x Lepomis megalotis": {"passes": [1], **insect},
        "Hypentelium nigricans": {"passes": [4], **insect, "young_of_year": 4},
    }}  # fmt: skip


def test_karr_without_figures_for_the_region_gives_values_and_no_score() -> None:
    assert not KARR.usable
    result = score_sample(KARR, karr_sample())
    for key in (*RICHNESS, "individuals"):
        assert result.metrics[key].value is not None
        assert result.metrics[key].points is None
        assert "supplied" in result.metrics[key].reason
    assert (result.score, result.computable) == (None, False)


def test_karr_with_figures_for_the_region_is_scored() -> None:
    method = load_method("karr_midwest_1986", parameters={"richness_lines": RICHNESS, **NUMBER})
    assert method.usable
    result = score_sample(method, karr_sample())
    # worked out by hand: 106 fish without the four young hog suckers
    assert {key: (metric.value, metric.points) for key, metric in result.metrics.items()} == {
        "total_species": (5, 3), "darters": (1, 1), "sunfishes": (2, 3), "suckers": (0, 1),
        "intolerants": (1, 1), "green_sunfish": (pytest.approx(500 / 106), 5),
        "omnivores": (pytest.approx(400 / 106), 5), "insect_cyprinids": (pytest.approx(6000 / 106), 5),
        "piscivores": (pytest.approx(600 / 106), 5), "individuals": (106, 5),
        "hybrids": (pytest.approx(100 / 106), 3), "anomalies": (0, 5),
    }  # fmt: skip
    assert (result.score, result.rating) == (42, "Fair")
    why = {(item.taxon, item.reason) for item in result.excluded}
    assert any(taxon == "Cyprinus carpio" and "Non-native" in reason for taxon, reason in why)
    assert any(taxon == "Hypentelium nigricans" and "year" in reason for taxon, reason in why)


def test_figures_for_the_region_may_come_with_the_sample() -> None:
    result = score_sample(KARR, {**karr_sample(), "parameters": {**RICHNESS, **NUMBER}})
    assert result.score == 42


def test_a_richness_line_is_cut_in_exact_thirds() -> None:
    line = {"total_species": {"slope": 3, "intercept": 3, "area": "sq_mi"}}  # 10 square miles: 6 species
    method = load_method("karr_midwest_1986", parameters=line)
    sample = karr_sample() | {"catchment_sq_mi": 10}
    names = list(sample["species"])
    expected = {2: 1, 3: 3, 4: 3, 5: 5}  # a third of 6 is 2 and does not lie above it
    for number, points in expected.items():
        kept = {name: sample["species"][name] for name in [*names[:5], *names[6:]][:number]}
        metric = score_sample(method, {**sample, "species": kept}).metrics["total_species"]
        assert (metric.value, metric.points) == (number, points)


@pytest.mark.parametrize(("score", "word"), [
    (60, "Excellent"), (58, "Excellent"), (57, "between Good and Excellent"),
    (53, "between Good and Excellent"),
    (52, "Good"), (47, "between Fair and Good"), (44, "Fair"), (40, "Fair"), (39, "between Poor and Fair"),
    (28, "Poor"), (27, "between Very poor and Poor"), (12, "Very poor"),
])  # fmt: skip
def test_a_score_in_a_gap_of_the_classes_is_between_them(score: int, word: str) -> None:
    rating, reason = rating_of(KARR, exact(score))
    assert rating == word
    assert bool(reason) == word.startswith("between")


def test_no_fish_is_a_class_of_its_own_only_after_repeated_sampling() -> None:
    once = score_sample(KARR, {"species": {}})
    assert (once.score, once.rating) == (None, None)
    again = score_sample(KARR, {"species": {}, "repeated_sampling": True})
    assert (again.score, again.rating, again.computable) == (None, "No fish", False)


def test_anomalies_that_were_not_looked_for_are_not_zero() -> None:
    sample = karr_sample()
    del sample["species"]["Etheostoma caeruleum"]["anomalies"]
    metric = score_sample(KARR, sample).metrics["anomalies"]
    assert (metric.value, metric.points) == (None, None)
    assert "not recorded" in metric.reason


def test_anomalies_not_known_for_one_kind_are_not_zero_either() -> None:
    sample = karr_sample()
    sample["species"]["Luxilus cornutus"]["anomalies"] = None
    metric = score_sample(KARR, sample).metrics["anomalies"]
    assert metric.points is None
    assert "Luxilus cornutus" in metric.reason


@pytest.mark.parametrize(("parameters", "words"), [
    ({"omnivores": {"maximum": 3}}, "fixes"), ({"darter": {"maximum": 3}}, "darter"),
    ({"darters": {"slope": 2}}, "intercept"), ({"darters": {"maximum": "many"}}, "not a number"),
    ({"individuals": {"maximum": 3}}, "bands"), ({"darters": {"maximum": 3, "line": {}}}, "slope"),
])  # fmt: skip
def test_figures_a_method_does_not_ask_for_are_refused(parameters: dict[str, Any], words: str) -> None:
    with pytest.raises(MethodError, match=words):
        load_method("karr_midwest_1986", parameters=parameters)


@pytest.mark.parametrize(
    "code", ["ohio_1987_wading_headwater", "mid_atlantic_highlands_2001", "new_jersey_north"]
)
def test_an_incomplete_method_never_scores(code: str) -> None:
    method = load_method(code)
    assert not method.usable and not method.complete and method.missing
    result = score_sample(method, karr_sample() | {"catchment_sq_mi": 150, "reach_m": 10})
    assert result.metrics
    assert (result.score, result.rating, result.computable) == (None, None, False)
    assert method.missing[0] in result.reasons[0]


def test_well_being_needs_the_weight_of_each_taxon() -> None:
    method = load_method("ohio_modified_well_being")
    sample = karr_sample() | {"reach_m": 150, "biomass_g_per_pass": [5000]}
    result = score_sample(method, sample)
    assert result.metrics["H_weights"].points is None
    assert "weight of" in result.metrics["H_weights"].reason
    assert not result.computable


def test_well_being_has_no_logarithm_of_zero() -> None:
    method = load_method("ohio_modified_well_being")
    carp = {"passes": [4], "tolerance": "tolerant", "biomass_g": 900}
    result = score_sample(method, {"reach_m": 150, "species": {"Cyprinus carpio": carp}})
    assert result.metrics["N"].value == 0
    assert "logarithm" in result.metrics["N"].reason
    assert not result.computable


def test_the_stratum_follows_from_the_catchment_where_the_method_says_so() -> None:
    method = load_method("ohio_1987_wading_headwater")
    assert score_sample(method, karr_sample() | {"catchment_sq_mi": 20}).stratum == "headwater"
    assert score_sample(method, karr_sample() | {"catchment_sq_mi": 21}).stratum == "wading"


def test_a_score_does_not_touch_the_sample() -> None:
    sample = piedmont()
    before = copy.deepcopy(sample)
    score_sample(MARYLAND, sample)
    assert sample == before


def test_a_result_can_be_written_down_and_read_again() -> None:
    import json

    result = score_sample(load_method("karr_midwest_1986", parameters={**RICHNESS, **NUMBER}), karr_sample())
    assert from_plain(json.loads(json.dumps(to_plain(result)))) == result
