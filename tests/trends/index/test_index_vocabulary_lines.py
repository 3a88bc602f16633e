"""What the vocabulary of method files must be able to say, line by line, each on a tiny method in YAML.

The methods and the catch are invented. Every value is worked by hand beside the test, from the one catch below:

=========================  ====  =====  ==============================================
taxon                      fish      g  known of it
=========================  ====  =====  ==============================================
Etheostoma olmstedi           6     12  native, moderate, insectivore, benthic
Cottus bairdii                2      8  native, intolerant, insectivore, benthic
Semotilus atromaculatus       4     40  native, tolerant, generalist
Cyprinus carpio               2    180  not native, tolerant, omnivore
Lepomis hybrid                1     10  hybrid, tolerant, invertivore
=========================  ====  =====  ==============================================

15 fish, 250 g, from 100 m of a creek 2 m wide: 200 square metres.
"""

from __future__ import annotations

import textwrap
from typing import Any

import pytest
import yaml
from test_index_method_files import SMALL

from trends.index import Method, score_sample
from trends.index.method import method_from_text

CATCH = yaml.safe_load("""\
Etheostoma olmstedi: {count: 6, biomass_g: 12, tolerance: moderate, feeding: insectivore, benthic: 1, young_of_year: 4}
Cottus bairdii: {count: 2, biomass_g: 8, tolerance: intolerant, feeding: insectivore, benthic: 1, young_of_year: 0}
Semotilus atromaculatus: {count: 4, biomass_g: 40, tolerance: tolerant, feeding: generalist, young_of_year: 0}
Cyprinus carpio: {count: 2, biomass_g: 180, tolerance: tolerant, feeding: omnivore, native: 0, young_of_year: 0}
Lepomis cyanellus x Lepomis macrochirus: {count: 1, biomass_g: 10, tolerance: tolerant, feeding: invertivore, young_of_year: 0}
""")  # noqa: E501
SAMPLE = {"species": CATCH, "reach_m": 100, "mean_width_m": 2, "catchment_km2": 25}

FIVE_OR_ONE = """\
kind: cut_points
bands:
  - {points: 5, at_least: 3}
  - {points: 1, otherwise: true}
"""


def metric(measure: str, scoring: str = FIVE_OR_ONE, *, name: str = "m", better: str = "higher") -> Any:
    made = yaml.safe_load(SMALL)["strata"][0]["metrics"][0]
    return {
        **made,
        "id": name,
        "better": better,
        "unit": "fish",
        "measure": yaml.safe_load(textwrap.dedent(measure)),
        "scoring": yaml.safe_load(textwrap.dedent(scoring)),
    }


def method(*metrics: Any, strata: str = "", **rest: Any) -> Method:
    raw = yaml.safe_load(SMALL)
    raw["strata"][0]["metrics"] = list(metrics)
    if strata:
        raw["strata"] = [{**one, "metrics": list(metrics)} for one in yaml.safe_load(textwrap.dedent(strata))]
    for key, text in rest.items():
        said = yaml.safe_load(textwrap.dedent(text))
        raw[key] = {**raw[key], **said} if isinstance(said, dict) and key in raw else said
    return method_from_text(yaml.safe_dump(raw), "tiny.yaml")


def value(measure: str, **facts: Any) -> Any:
    return score_sample(method(metric(measure)), {**SAMPLE, **facts}).metrics["m"].value


COUNT = "kind: taxa_count"


# --- strata by region, drainage or stream size -----------------------------------------------------------

REGIONS = """\
- {code: high, name: Highland, when: {region: [Highland, Plateau]}}
- {code: blue_small, name: Small creeks of the Blue River, when: {drainage: Blue River, catchment_km2: {below: 20}}}
- {code: blue_large, name: Large creeks of the Blue River, when: {drainage: Blue River, catchment_km2: {at_least: 20}}}
"""


@pytest.mark.parametrize(
    ("facts", "stratum"),
    [
        ({"region": "plateau"}, "high"),
        ({"drainage": "Blue River", "catchment_km2": 19.99}, "blue_small"),
        ({"drainage": "Blue River", "catchment_km2": 20}, "blue_large"),
        ({"stratum": "Highland", "drainage": "Blue River"}, "high"),  # what the station says goes first
    ],
)
def test_strata_by_region_drainage_and_size(facts: dict[str, Any], stratum: str) -> None:
    assert score_sample(method(metric(COUNT), strata=REGIONS), {**SAMPLE, **facts}).stratum == stratum


# --- counts of taxa ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("select", "taxa"),
    [
        ("{tolerance: [intolerant, moderate], benthic: yes}", 2),  # darter, sculpin
        ("{feeding: insectivore, not: {group: darters}}", 1),  # sculpin
        ("{any_of: [{tolerance: intolerant}, {native: no}]}", 2),  # sculpin, carp
        ("{species: [Cyprinus carpio, Semotilus atromaculatus, Salmo trutta]}", 2),  # by a list of names
    ],
)
def test_counts_of_taxa_by_traits_together_and_by_lists_of_names(select: str, taxa: int) -> None:
    assert value(f"{{kind: taxa_count, select: {select}}}") == taxa


# --- shares, abundance, biomass ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("measure", "wanted"),
    [
        ("{kind: share, select: {tolerance: tolerant}, scale: percent}", 100 * 7 / 15),
        ("{kind: share, amount: biomass, select: {tolerance: tolerant}, scale: percent}", 100 * 230 / 250),
        ("{kind: density, per: area, size: 1}", 15 / 200),
        ("{kind: density, amount: biomass, per: area, size: 1}", 250 / 200),
    ],
)
def test_shares_and_amounts_of_individuals_and_of_biomass(measure: str, wanted: float) -> None:
    assert value(measure) == pytest.approx(wanted, rel=1e-12)


# --- exclusions -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left_out", "fish"),
    [
        ("{young_of_year: true, reason: r}", 11),  # less 4 darters of the year
        ("{select: {hybrid: yes}, reason: r}", 14),
        ("{select: {native: no}, reason: r}", 13),
        ("{select: {tolerance: tolerant}, reason: r}", 8),
    ],
    ids=["of the year", "hybrids", "not native", "tolerant"],
)
def test_exclusions(left_out: str, fish: int) -> None:
    measure = f"{{kind: density, per: visit, leave_out: [{left_out}]}}"
    if "young" in left_out:  # fish of the year are left out of all metrics
        made = method(metric("{kind: density, per: visit}"), counting=f"leave_out: [{left_out}]")
        result = score_sample(made, SAMPLE).metrics["m"]
        assert result.value == fish
    else:
        assert value(measure) == fish


# --- scores -----------------------------------------------------------------------------------------------


def points(scoring: str, fish: float, *, better: str = "higher", **facts: Any) -> Any:
    """Points of a metric whose value is the number of fish caught."""
    made = method(metric("{kind: density, per: visit}", scoring, better=better))
    return score_sample(made, {"species": {"Cottus bairdii": fish}, **facts}).metrics["m"].points


CUTS = "{kind: cut_points, bands: [{points: 5, above: 8}, {points: 3, at_least: 4}, {points: 1, otherwise: true}]}"
TURNED = "{kind: cut_points, bands: [{points: 5, below: 4}, {points: 3, at_most: 8}, {points: 1, otherwise: true}]}"
EVENLY = "{kind: continuous, floor: 2, ceiling: 12, points_at_best: 10}"


@pytest.mark.parametrize(("fish", "wanted"), [(9, 5), (8, 3), (4, 3), (3, 1)])
def test_cut_points(fish: int, wanted: int) -> None:
    assert points(CUTS, fish) == wanted


@pytest.mark.parametrize(("fish", "wanted"), [(3, 5), (4, 3), (8, 3), (9, 1)])
def test_reversed_cut_points(fish: int, wanted: int) -> None:
    assert points(TURNED, fish, better="lower") == wanted


@pytest.mark.parametrize(("fish", "wanted"), [(2, 0), (7, 5), (12, 10), (15, 10)])
def test_continuous_between_bounds_and_reversed(fish: int, wanted: int) -> None:
    assert points(EVENLY, fish) == wanted
    assert points(EVENLY, fish, better="lower") == 10 - wanted


@pytest.mark.parametrize(("fish", "wanted"), [(9, 5), (8, 3), (5, 3), (4, 1)])
def test_a_line_against_log_drainage_area(fish: int, wanted: int) -> None:
    # 3 x log10(1000 square miles) + 3 = 12 at most; its thirds stand at 8 and 4.
    line = """\
    kind: parts_of_line
    drawn_as: greatest richness
    line: {area: sq_mi, slope: 3, intercept: 3}
    bands: [{points: 5, above: 2/3}, {points: 3, above: 1/3}, {points: 1, otherwise: true}]
    """
    assert points(line, fish, catchment_sq_mi=1000) == wanted


def test_a_count_against_the_number_expected_from_log_drainage_area() -> None:
    # 2 benthic taxa; expected 0.5 x log10(10000 acres) + 0.5 = 2.5; 2 / 2.5 = 0.8.
    expected = """\
    kind: taxa_against_expected
    select: {benthic: yes}
    """
    scoring = """\
    kind: cut_points
    bands: [{points: 5, above: 1}, {points: 3, at_least: 0.5}, {points: 1, otherwise: true}]
    """
    made = metric(expected, scoring)
    made["measure"]["expected"] = {"area": "acres", "slope": 0.5, "intercept": 0.5}
    sample = {"species": CATCH, "catchment_acres": 10_000}
    result = score_sample(method(made), sample).metrics["m"]
    assert (result.value, result.points) == (pytest.approx(0.8, rel=1e-12), 3)


# --- exceptions -------------------------------------------------------------------------------------------

RULES = """\
- id: tiny
  when: {catchment_km2: {below: 2}, fish: {below: 20}}
  then: {not_rated: true}
  reason: Too small a catchment.
  provenance: {standing: seen, confidence: high}
- id: few
  when: {fish: {below: 15}}
  then: {score: 1}
  reason: Hardly any fish.
  provenance: {standing: seen, confidence: high}
"""


@pytest.mark.parametrize(
    ("catch", "catchment", "score"),
    [
        (CATCH, 25, 5),  # 15 fish are enough: 5 taxa earn 5 points
        (CATCH, 2, 5),  # 2 square kilometres are not below 2
        (CATCH, 1.99, None),
        ({"Cottus bairdii": 14}, 25, 1),
    ],
)
def test_small_catchments_and_low_catches(catch: Any, catchment: float, score: int | None) -> None:
    made = method(metric(COUNT), exceptions=RULES)
    result = score_sample(made, {**SAMPLE, "species": catch, "catchment_km2": catchment})
    assert result.score == score


# --- the index and its words ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("index", "score"),
    [
        ("{combine: mean}", 3),  # (5 + 1) / 2
        ("{combine: sum}", 6),  # 5 + 1
        ("{combine: rescaled_sum, full_points: 5, rescaled_to: 100}", 60),  # 100 x 6 / (2 x 5)
    ],
)
def test_mean_sum_and_rescaled(index: str, score: int) -> None:
    two = metric(COUNT, name="all_taxa"), metric("{kind: taxa_count, select: {native: no}}", name="foreign")
    result = score_sample(method(*two, index=index), SAMPLE)
    assert [one.points for one in result.metrics.values()] == [5, 1]
    assert result.score == score


@pytest.mark.parametrize(
    ("fish", "word"), [(12, "Good"), (11, "Fair"), (7, "Fair"), (6, "Poor"), (0, "Poor")]
)
def test_rating_words_change_at_their_cut_points(fish: int, word: str) -> None:
    # Points are the fish above 2, ten at most.
    ratings = "words: [{word: Good, at_least: 10}, {word: Fair, at_least: 5}, {word: Poor, at_least: 0}]"
    made = method(
        metric("{kind: density, per: visit}", EVENLY), ratings=ratings, index="{combine: sum, range: [0, 10]}"
    )
    assert score_sample(made, {"species": {"Cottus bairdii": fish}}).rating == word
