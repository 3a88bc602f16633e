"""Reading a sample: what is given, what is left out, what is not known, what is refused."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trends.index.errors import SampleError
from trends.index.sample import read_sample


def read(species: dict[str, Any], **rest: Any) -> Any:
    return read_sample({"species": species, **rest})


def one(entry: Any, name: str = "Cottus bairdii") -> Any:
    return read({name: entry}).taxa[0]


def test_passes_may_be_ragged() -> None:
    sample = read({"Cottus bairdii": {"passes": [3]}, "Salmo trutta": {"passes": [1, 2, 4]}})
    assert (sample.n_passes, sample.fish) == (3, 10)


@pytest.mark.parametrize(
    "entry", [{"count": 4}, {"passes": 4}, [4], 4, {"passes": [4.0]}, {"passes": [3, 1]}]
)
def test_a_catch_may_be_a_count_or_passes(entry: Any) -> None:
    assert one(entry).count == 4


@pytest.mark.parametrize(
    "entry",
    [np.int64(4), np.array([3, 1]), pd.Series([3, 1], index=["b", "a"]), {"passes": np.array([3.0, 1.0])}],
    ids=["number", "array", "column", "passes"],
)
def test_a_catch_may_come_as_an_array(entry: Any) -> None:
    assert one(entry).count == 4


def test_weights_may_come_as_an_array() -> None:
    assert read({"Cottus bairdii": [3, 1]}, biomass_g_per_pass=np.array([20.5, 4])).biomass_g == Fraction(
        49, 2
    )


def test_a_flag_left_out_means_no_and_none_means_not_known() -> None:
    assert one({"count": 1}).traits.flag("benthic") is False
    assert one({"count": 1, "benthic": None}).traits.flag("benthic") is None
    assert one({"count": 1, "benthic": "unknown"}).traits.flag("benthic") is None
    assert one({"count": 1, "benthic": 1}).traits.flag("benthic") is True


@pytest.mark.parametrize("key", ["non_native", "introduced", "exotic"])
def test_words_for_non_native_are_the_opposite_of_native(key: str) -> None:
    assert one({"count": 1, key: 1}).traits.flag("native") is False
    assert one({"count": 1, key: 0}).traits.flag("native") is True
    assert one({"count": 1, "origin": "non-native"}).traits.flag("native") is False


@pytest.mark.parametrize(
    "name", ["Lepomis cyanellus x Lepomis gibbosus", "Lepomis hybrid", "Salmo × Salvelinus"]
)
def test_a_name_can_mark_a_hybrid(name: str) -> None:
    assert one({"count": 1}, name).traits.flag("hybrid") is True


def test_lithophils_may_be_given_as_a_word_for_spawning() -> None:
    assert one({"count": 1, "spawning": "simple lithophil"}).traits.flag("lithophil") is True
    assert one({"count": 1, "spawning": "nest builder"}).traits.flag("lithophil") is False


def test_feeding_words_of_other_lists_are_understood() -> None:
    assert one({"count": 1, "feeding": "top carnivore"}).traits.feeding == "top_predator"
    assert one({"count": 1, "trophic_guild": "Insectivores"}).traits.feeding == "insectivore"
    assert one({"count": 1, "feeding": "unknown"}).traits.feeding is None


def test_families_and_groups_follow_from_the_genus_where_nothing_is_given() -> None:
    def group(name: str, wanted: str) -> bool | None:
        found: bool | None = one({"count": 1}, name).traits.in_group(wanted)
        return found

    assert group("Etheostoma olmstedi", "darters") is True
    assert group("Perca flavescens", "darters") is False
    assert group("Lepomis auritus", "sunfishes") is True
    assert group("Micropterus dolomieu", "sunfishes") is False
    assert group("Moxostoma erythrurum", "round_bodied_suckers") is True
    assert group("catostomus COMMERSONII", "round_bodied_suckers") is False
    assert group("Carpiodes cyprinus", "round_bodied_suckers") is False
    assert group("Incertus novus", "darters") is None
    assert one({"count": 1}, "Cottus girardi").traits.in_family("cottidae") is True
    assert one({"count": 1, "family": "Leuciscidae"}, "Incertus novus").traits.in_family("cyprinidae") is True


@pytest.mark.parametrize("entry", [
    {"group": "darter"}, {"groups": ["benthic fish", "Darters"]}, {"darter": 1}, {"darters": True},
])  # fmt: skip
def test_a_group_may_be_given_in_several_ways(entry: dict[str, Any]) -> None:
    assert one({"count": 1, **entry}, "Incertus novus").traits.in_group("darters") is True


def test_a_group_flag_used_in_a_sample_means_no_where_it_is_left_out() -> None:
    sample = read({"Incertus novus": {"count": 1, "salmonid": 1}, "Incertus alter": {"count": 1}})
    assert [taxon.traits.in_family("salmonidae") for taxon in sample.taxa] == [True, False]


def test_catchments_are_brought_to_acres() -> None:
    assert read({}, catchment_sq_mi=2).catchment_acres == 1280
    assert read({}, catchment_km2=1).catchment_acres == Fraction("247.105")
    assert read({}, catchment_acres="1850").catchment_acres == 1850
    assert read({}).catchment_acres is None


def test_weights_of_all_passes_are_added() -> None:
    fish = {"Cottus bairdii": {"passes": [3, 1]}}
    assert read(fish, biomass_g_per_pass=[10.5, 4]).biomass_g == Fraction("14.5")
    assert read(fish, biomass_g=20).biomass_g == 20
    assert read({"Cottus bairdii": {"passes": [3, 1], "biomass_g": [8, 2]}}).biomass_g == 10


def test_a_pass_that_was_not_weighed_leaves_the_biomass_unknown_unless_it_caught_nothing() -> None:
    missing = read({"Cottus bairdii": {"passes": [3, 1]}}, biomass_g_per_pass=[10, None])
    assert missing.biomass_g is None and "pass 2" in missing.biomass_note
    assert read({"Cottus bairdii": {"passes": [3, 0]}}, biomass_g_per_pass=[10]).biomass_g == 10


def test_no_fish_is_a_result_and_no_taxon() -> None:
    sample = read({"no fish": {"passes": [0, 0]}})
    assert (sample.taxa, sample.fish, sample.n_passes) == ((), 0, 2)
    assert read_sample({"species": None}).fish == 0


def test_the_first_passes_keep_their_catch_and_weight() -> None:
    sample = read({"Cottus bairdii": {"passes": [3, 1, 1]}}, biomass_g_per_pass=[9, 4, 2]).first_passes(2)
    assert (sample.fish, sample.n_passes, sample.biomass_g) == (4, 2, 13)


@pytest.mark.parametrize(("sample", "words"), [
    ({}, "species"),
    ({"species": [1]}, "species"),
    ({"species": {"Salmo trutta": {}}}, "Salmo trutta"),
    ({"species": {"Salmo trutta": {"passes": [-1]}}}, "whole number"),
    ({"species": {"Salmo trutta": {"passes": [1.5]}}}, "whole number"),
    ({"species": {"Salmo trutta": {"passes": [True]}}}, "number"),
    ({"species": {"Salmo trutta": {"passes": ["many"]}}}, "many"),
    ({"species": {"Salmo trutta": 1, "salmo  TRUTTA": 2}}, "listed twice"),
    ({"species": {"Salmo trutta": {"count": 1, "young_of_year": 2}}}, "young_of_year"),
    ({"species": {"Salmo trutta": {"count": 1, "hybrid": "maybe"}}}, "hybrid"),
    ({"species": {}, "reach_m": 0}, "reach_m"),
    ({"species": {}, "mean_width_m": float("inf")}, "mean_width_m"),
    ({"species": {}, "biomass_g_per_pass": [-1]}, "biomass"),
    ({"species": {}, "biomass_g_per_pass": 5}, "list"),
])  # fmt: skip
def test_what_cannot_be_read_is_refused_with_the_place(sample: dict[str, Any], words: str) -> None:
    with pytest.raises(SampleError, match=words):
        read_sample(sample)
