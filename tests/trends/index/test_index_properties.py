"""What must hold for every catch, tried on many made-up ones."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trends.index import Method, load_method, score_sample
from trends.index.sample import read_sample

MARYLAND = load_method("maryland_fish_2005")
METHODS = [
    MARYLAND,
    load_method("wisconsin_coldwater_1996"),
    load_method("karr_midwest_1986"),
    load_method("ohio_1987_wading_headwater"),
]
NAMES = [
    "Etheostoma olmstedi", "Cottus girardi", "Salvelinus fontinalis", "Salmo trutta", "Lepomis cyanellus",
    "Catostomus commersonii", "Moxostoma erythrurum", "Rhinichthys atratulus",
    "Lepomis cyanellus x L. auritus", "Anguilla rostrata", "Micropterus dolomieu", "Luxilus cornutus",
]  # fmt: skip
FLAGS = ("benthic", "lithophil", "stenotherm", "native")

entries = st.fixed_dictionaries({
    "passes": st.lists(st.integers(0, 60), min_size=2, max_size=2),
    "tolerance": st.sampled_from(["tolerant", "moderate", "intolerant"]),
    "feeding": st.sampled_from(["generalist", "omnivore", "invertivore", "insectivore", "top predator"]),
    "anomalies": st.just(0),
    **{flag: st.sampled_from([0, 1]) for flag in FLAGS},
})  # fmt: skip
catches = st.dictionaries(st.sampled_from(NAMES), entries, min_size=1, max_size=8)
quick = settings(max_examples=60, deadline=None)


def sample(species: dict[str, Any], stratum: str) -> dict[str, Any]:
    return {
        "stratum": stratum, "reach_m": 75, "mean_width_m": 4.2, "catchment_acres": 100_000,
        "biomass_g_per_pass": [500, 200], "species": species,
    }  # fmt: skip


def strata(method: Method) -> list[str]:
    return list(method.strata)


@quick
@given(species=catches, name=st.sampled_from(NAMES), entry=entries, extra=st.integers(1, 40), data=st.data())
def test_more_fish_of_a_kind_a_metric_does_not_mention_change_nothing(
    species: dict[str, Any], name: str, entry: dict[str, Any], extra: int, data: st.DataObject
) -> None:
    """Sound form: the kind is neither chosen nor part of the bottom line, so its number cannot matter."""
    method = data.draw(st.sampled_from(METHODS))
    stratum = data.draw(st.sampled_from(strata(method)))
    before = dict(species) | {name: entry}
    more = dict(species) | {name: {**entry, "passes": [entry["passes"][0] + extra, entry["passes"][1]]}}
    old, new = score_sample(method, sample(before, stratum)), score_sample(method, sample(more, stratum))
    traits = read_sample(sample(before, stratum)).taxa[-1].traits
    if traits.name != name:
        traits = next(t.traits for t in read_sample(sample(before, stratum)).taxa if t.traits.name == name)
    for metric in method.strata[stratum].metrics:
        measure = metric.measure
        whole_catch = measure.kind in ("share", "largest_share") and "of" not in measure.raw
        if whole_catch or (measure.kind == "density" and "leave_out" not in measure.raw):
            continue  # every fish is part of these
        left_out = any(rule.choice(traits) for rule in measure.rules)
        chosen = measure.select(traits) and not left_out
        in_bottom = "of" in measure.raw and measure.of(traits)
        if not chosen and not in_bottom:
            assert new.metrics[metric.id].value == old.metrics[metric.id].value, metric.id


@quick
@given(species=catches, stratum=st.sampled_from(strata(MARYLAND)))
def test_the_order_of_taxa_and_the_split_over_passes_do_not_matter(
    species: dict[str, Any], stratum: str
) -> None:
    turned = {
        name: {**species[name], "passes": [sum(species[name]["passes"])]} for name in reversed(list(species))
    }
    first = score_sample(MARYLAND, sample(species, stratum))
    second = score_sample(MARYLAND, {**sample(turned, stratum), "biomass_g_per_pass": [700]})
    assert first.score == second.score
    for key, metric in first.metrics.items():
        assert metric.value == second.metrics[key].value or metric.id == "biomass"


@quick
@given(species=catches, stratum=st.sampled_from(strata(MARYLAND)))
def test_a_score_stays_within_its_range_and_follows_from_its_points(
    species: dict[str, Any], stratum: str
) -> None:
    result = score_sample(MARYLAND, sample(species, stratum))
    assert result.score is not None and 1 <= result.score <= 5
    if result.fish:
        points = [metric.points for metric in result.metrics.values() if metric.points is not None]
        assert result.score == pytest.approx(sum(points) / len(result.metrics))
        assert {*points} <= {1, 3, 5}


@quick
@given(species=catches)
def test_a_plain_second_calculation_agrees(species: dict[str, Any]) -> None:
    """Eastern Piedmont by whole-number arithmetic only: cross-multiplied, no division."""
    total = sum(sum(entry["passes"]) for entry in species.values())
    if total == 0:
        return
    result = score_sample(MARYLAND, sample(species, "eastern_piedmont"))

    def fish(key: str, wanted: tuple[object, ...]) -> int:
        return sum(sum(entry["passes"]) for entry in species.values() if entry[key] in wanted)

    tolerant = fish("tolerance", ("tolerant",))
    eaters = fish("feeding", ("generalist", "omnivore", "invertivore"))
    spawners = fish("lithophil", (1,))
    # 75 m x 4.2 m = 315 m2
    assert result.metrics["abundance"].points == (5 if 4 * total >= 5 * 315 else 3 if 4 * total >= 315 else 1)
    assert result.metrics["tolerant"].points == (
        5 if 100 * tolerant <= 45 * total else 3 if 100 * tolerant <= 68 * total else 1
    )
    assert result.metrics["gen_omni_inv"].points == (
        5 if 100 * eaters <= 80 * total else 3 if eaters < total else 1
    )
    assert result.metrics["lithophils"].points == (
        5 if 100 * spawners >= 61 * total else 3 if 100 * spawners >= 32 * total else 1
    )
