"""What a method file can say without code, each on a small invented method."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from test_index_method_files import SMALL

from trends.index import IndexResult, Method, score_sample
from trends.index.method import method_from_text

CUTS = {"kind": "cut_points", "bands": [{"points": 5, "above": 2}, {"points": 1, "otherwise": True}]}


def method(
    measure: dict[str, Any],
    scoring: dict[str, Any],
    *,
    better: str = "higher",
    unit: str = "fish",
    **rest: Any,
) -> Method:
    raw = yaml.safe_load(SMALL)
    metric = raw["strata"][0]["metrics"][0]
    metric.update(id="m", measure=measure, scoring=scoring, better=better, unit=unit)
    for key, value in rest.items():
        raw[key] = {**raw[key], **value} if isinstance(value, dict) else value
    return method_from_text(yaml.safe_dump(raw), "small.yaml")


def score(made: Method, species: dict[str, Any], **facts: Any) -> IndexResult:
    return score_sample(made, {"species": species, **facts})


FISH = {
    "Etheostoma caeruleum": {"count": 6, "biomass_g": 12, "feeding": "insectivore", "benthic": 1},
    "Cottus bairdii": {"count": 2, "biomass_g": 8, "feeding": "insectivore", "benthic": 1},
    "Cyprinus carpio": {
        "count": 2,
        "biomass_g": 180,
        "feeding": "omnivore",
        "native": 0,
        "tolerance": "tolerant",
    },
}


@pytest.mark.parametrize(("measure", "value"), [
    ({"kind": "taxa_count"}, 3),
    ({"kind": "taxa_count", "select": {"benthic": True, "feeding": ["insectivore", "invertivore"]}}, 2),
    ({"kind": "taxa_count", "select": {"any_of": [{"group": "darters"}, {"native": False}]}}, 2),
    ({"kind": "taxa_count", "select": {"not": {"genus": "Cottus"}}}, 2),
    ({"kind": "taxa_count", "select": {"species": ["cottus bairdii"]}}, 1),
    ({"kind": "taxa_count", "leave_out": [{"select": {"native": False}, "reason": "Not native."}]}, 2),
    ({"kind": "share", "amount": "biomass", "select": {"benthic": True}, "scale": "percent"}, 10),
    ({"kind": "share", "select": {"group": "darters"}, "of": {"benthic": True}, "scale": "fraction"}, 0.75),
    ({"kind": "largest_share", "scale": "percent"}, 60),
    ({"kind": "largest_share", "amount": "biomass", "scale": "percent"}, 90),
    ({"kind": "taxa_share", "select": {"native": False}, "scale": "percent"}, 100 / 3),
    ({"kind": "taxa_share", "select": {"group": "darters"}, "of": {"benthic": True}, "scale": "fraction"}, 0.5),
    ({"kind": "density", "per": "area", "size": 100}, 5),
    ({"kind": "density", "per": "distance", "size": 300}, 30),
    ({"kind": "density", "per": "effort", "size": 1}, 20),
    ({"kind": "density", "amount": "biomass", "weight_in": "kg", "per": "distance", "size": 100}, 0.2),
    ({"kind": "density", "amount": "biomass", "per": "area", "select": {"benthic": True}}, 0.1),
    ({"kind": "either", "when": {"stream": "cold"},
      "then": {"kind": "taxa_count", "select": {"family": "Cottidae"}},
      "otherwise": {"kind": "taxa_count"}}, 1),
])  # fmt: skip
def test_a_measure_is_taken_as_described(measure: dict[str, Any], value: float) -> None:
    made = method(measure, CUTS)
    result = score(made, FISH, reach_m=100, mean_width_m=2, effort_s=1800, stream="cold")
    assert result.metrics["m"].value == pytest.approx(value, rel=1e-15)


def test_which_of_two_measures_applies_must_be_known() -> None:
    either = {
        "kind": "either", "when": {"stream": "cold"},
        "then": {"kind": "taxa_count"}, "otherwise": {"kind": "taxa_count"},
    }  # fmt: skip
    assert "stream not given" in score(method(either, CUTS), FISH).metrics["m"].reason


@pytest.mark.parametrize(("better", "points"), [("higher", [0, 0, 5, 10, 10]), ("lower", [10, 10, 5, 0, 0])])
def test_a_continuous_score_runs_between_floor_and_ceiling_and_no_further(
    better: str, points: list[int]
) -> None:
    scoring = {"kind": "continuous", "floor": 2, "ceiling": 6, "points_at_best": 10}
    made = method(
        {"kind": "density", "per": "visit"}, scoring, better=better,
        index={"combine": "rescaled_sum", "full_points": 10, "rescaled_to": 100},
    )  # fmt: skip
    for count, wanted in zip((1, 2, 4, 6, 9), points, strict=True):
        result = score(made, {"Cottus bairdii": count})
        assert result.metrics["m"].points == wanted
        assert result.score == 10 * wanted


def test_a_scale_may_depend_on_the_size_of_the_stream() -> None:
    scoring = {"kind": "by_condition", "cases": [
        {"when": {"catchment_sq_mi": {"above": 100}}, "scoring": CUTS},
        {"when": {"catchment_sq_mi": {"at_most": 100}}, "scoring": {"kind": "not_found", "note": "No line."}},
    ]}  # fmt: skip
    made = method({"kind": "taxa_count"}, scoring)
    assert score(made, FISH, catchment_sq_mi=101).metrics["m"].points == 5
    assert score(made, FISH, catchment_sq_mi=100).metrics["m"].reason == "No line."
    assert score(made, FISH).metrics["m"].points is None


@pytest.mark.parametrize(("count", "points"), [(2, 1), (4, 3), (5, 5)])
def test_a_line_of_drainage_area_is_cut_in_three_parts(count: int, points: int) -> None:
    scoring = {
        "kind": "parts_of_line", "drawn_as": "95 percent of sites",
        "line": {"area": "sq_mi", "slope": 4, "intercept": 2},
        "bands": [
            {"points": 5, "above": "2/3"}, {"points": 3, "above": "1/3"}, {"points": 1, "otherwise": True},
        ],
    }  # fmt: skip
    made = method({"kind": "density", "per": "visit"}, scoring)
    result = score(made, {"Cottus bairdii": count}, catchment_sq_mi=10)  # the line stands at 6
    assert result.metrics["m"].points == points
    assert score(made, {"Cottus bairdii": 3}, catchment_sq_mi=0.1).metrics["m"].points is None


def test_percents_are_rounded_half_up_only_where_the_method_says_so() -> None:
    share = {"kind": "share", "select": {"benthic": True}, "scale": "percent"}
    scoring = {
        "kind": "cut_points",
        "bands": [{"points": 5, "at_least": 13}, {"points": 1, "otherwise": True}],
    }
    fish = {"Cottus bairdii": {"count": 1, "benthic": 1}, "Salmo trutta": {"count": 7}}  # 12.5 %
    assert score(method(share, scoring, unit="%"), fish).metrics["m"].points == 1
    rounding = {"value_rounding": {"to": 1, "half": "up"}}
    rounded = score(method(share, scoring, unit="%", index=rounding), fish).metrics["m"]
    assert (rounded.value, rounded.unrounded, rounded.points) == (13, 12.5, 5)


def test_a_small_catch_may_lower_the_points_or_forbid_a_score() -> None:
    rule = {
        "id": "few", "when": {"fish_per_300_m": {"below": 50}}, "reason": "Few fish.",
        "provenance": {"standing": "seen", "confidence": "high"},
    }  # fmt: skip
    lowered = method(
        {"kind": "taxa_count"}, CUTS, exceptions=[{**rule, "then": {"set_points": 1, "metrics": ["m"]}}]
    )
    assert score(lowered, FISH, reach_m=30).score == 5
    assert score(lowered, FISH, reach_m=100).score == 1
    forbidden = method({"kind": "taxa_count"}, CUTS, exceptions=[{**rule, "then": {"not_rated": True}}])
    result = score(forbidden, FISH, reach_m=100)
    assert (result.score, result.reasons) == (None, ("Few fish.",))


def test_fish_of_the_year_may_be_left_out() -> None:
    young = {"leave_out": [{"young_of_year": True, "reason": "Too small."}]}
    made = method({"kind": "density", "per": "visit"}, CUTS, counting=young)
    result = score(made, {"Cottus bairdii": {"count": 6, "young_of_year": 4}, "Salmo trutta": {"count": 1}})
    assert result.metrics["m"].value == 3
    assert [(item.taxon, item.fish) for item in result.excluded] == [("Cottus bairdii", 4)]
    unsaid = score(made, {"Cottus bairdii": 6})
    assert any("not recorded apart" in caution for caution in unsaid.cautions)


def _share_of_sculpin(amount: str, **caught: int) -> Any:
    """The share of sculpin by a method that leaves out young-of-year, beside six trout without any."""
    young = {"leave_out": [{"young_of_year": True, "reason": "Too small."}]}
    measure = {"kind": "share", "amount": amount, "select": {"genus": "Cottus"}, "scale": "percent"}
    fish = {
        "Cottus bairdii": {"count": 6, "biomass_g": 30, **caught},
        "Salmo trutta": {"count": 6, "biomass_g": 70, "anomalies": 0, "young_of_year": 0},
    }
    return score(method(measure, CUTS, counting=young), fish).metrics["m"]


def test_the_weight_of_old_and_young_together_is_not_taken_for_that_of_the_old() -> None:
    """A batch is weighed whole, so a method without young-of-year has no weight of a taxon that had some."""
    mixed = _share_of_sculpin("biomass", young_of_year=4)
    assert mixed.value is None
    assert mixed.reason == "the weight of Cottus bairdii without its young is not known"
    assert _share_of_sculpin("biomass", young_of_year=0).value == 30


def test_more_fish_with_anomalies_than_there_were_old_ones_is_not_split_by_guessing() -> None:
    """Six sculpin, four of them young: two with anomalies can be the old ones, three cannot."""
    assert _share_of_sculpin("anomalies", young_of_year=4, anomalies=2).value is not None
    mixed = _share_of_sculpin("anomalies", young_of_year=4, anomalies=3)
    assert mixed.value is None
    assert mixed.reason == "how many Cottus bairdii with anomalies were young is not known"


def test_a_doubt_about_an_exclusion_opens_the_value() -> None:
    natives = {"kind": "taxa_count", "leave_out": [{"select": {"native": False}, "reason": "Not native."}]}
    fish = {**FISH, "Salmo trutta": {"count": 3, "native": None}}
    metric = score(method(natives, CUTS), fish).metrics["m"]
    assert (metric.value, metric.lower, metric.upper, metric.unknown_fish) == (None, 2, 3, 3)
    assert "1 or 5" in metric.reason


def _share_of_natives(fish: dict[str, Any], **more: Any) -> Any:
    measure = {"kind": "taxa_share", "select": {"native": True}, "scale": "percent", **more}
    return score(method(measure, CUTS), fish).metrics["m"]


def test_a_share_of_taxa_counts_each_taxon_once_however_many_fish_it_had() -> None:
    few = _share_of_natives(
        {"Cottus bairdii": {"count": 1, "native": True}, "Salmo trutta": {"count": 99, "native": False}}
    )
    assert (few.value, few.numerator, few.denominator) == (50, 1, 2)


def test_an_unidentified_taxon_beside_its_genus_stands_in_neither_line_of_a_share_of_taxa() -> None:
    fish = {
        "Lepomis cyanellus": {"count": 2, "native": False},
        "Lepomis sp.": {"count": 2, "native": True, "unidentified": True},
        "Cottus bairdii": {"count": 2, "native": True},
    }
    assert _share_of_natives(fish).value == 50
    alone = {name: one for name, one in fish.items() if name != "Lepomis cyanellus"}
    assert _share_of_natives(alone).value == 100


def test_a_trait_that_is_not_known_opens_a_share_of_taxa() -> None:
    fish = {"Cottus bairdii": {"count": 6, "native": True}, "Salmo trutta": {"count": 3, "native": None}}
    metric = _share_of_natives(fish)
    assert (metric.value, metric.lower, metric.upper, metric.unknown_fish) == (None, 50, 100, 3)


def test_without_a_taxon_of_the_bottom_line_there_is_no_share_of_taxa() -> None:
    fish = {"Cottus bairdii": {"count": 6, "native": True, "benthic": True}}
    none = _share_of_natives(fish, of={"benthic": False})
    assert none.value is None and "no share" in none.reason
    said = {"points": 1, "reason": "No midwater fish."}
    assert _share_of_natives(fish, of={"benthic": False}, when_none=said).points == 1
    assert _share_of_natives({}).value is None
