"""Worked scorings and cut points of published indices, carried over with their sources."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml

from trends.index import load_method, score_sample
from trends.index.exact import exact
from trends.index.sample import read_sample

HERE = Path(__file__).parent


def read(name: str) -> Any:
    return yaml.safe_load((HERE / name).read_text(encoding="utf-8"))


def half_last_digit(printed: Any) -> float:
    """Half a unit of the last printed digit: what rounding may have taken away."""
    exponent = Decimal(str(printed)).as_tuple().exponent
    return 0.5 * 10.0 ** int(exponent) + 1e-9


@pytest.mark.parametrize("name", ["maryland_eastern_piedmont.yaml", "wisconsin_coldwater.yaml"])
def test_a_worked_example_is_reproduced_to_the_last_metric(name: str) -> None:
    case = read(name)
    result = score_sample(load_method(case["input"]["method"]), case["input"])
    assert list(result.metrics) == [metric["id"] for metric in case["expected"]["metrics"]]
    for wanted in case["expected"]["metrics"]:
        given = result.metrics[wanted["id"]]
        assert given.value == pytest.approx(wanted["value"], rel=0, abs=half_last_digit(wanted["value"]))
        assert given.points == wanted["points"]
        assert given.reason == ""
    assert result.fish == case["expected"]["total_individuals"]
    assert result.score == pytest.approx(case["expected"]["index"], rel=0, abs=5e-5)
    assert result.rating == case["expected"]["rating"]
    assert result.computable


@pytest.mark.parametrize("case", read("constructed_cases.yaml"), ids=lambda case: case["name"])
def test_a_constructed_case_is_reproduced(case: dict[str, Any]) -> None:
    result = score_sample(load_method(case["input"]["method"]), case["input"])
    assert set(result.metrics) == set(case["expected"]["metrics"])
    for key, wanted in case["expected"]["metrics"].items():
        given = result.metrics[key]
        assert given.points == pytest.approx(wanted["points"], rel=0, abs=5e-6), key
        if wanted["value"] is None:
            assert given.value is None and given.reason, key
        else:
            assert given.value == pytest.approx(
                wanted["value"], rel=0, abs=half_last_digit(wanted["value"])
            ), key
    wanted_index = case["expected"]["index"]
    assert result.score == pytest.approx(wanted_index, rel=0, abs=half_last_digit(wanted_index))
    assert result.rating == case["expected"]["rating"]


CUTS = read("cut_points.yaml")


@pytest.mark.parametrize(
    "cut", CUTS, ids=lambda cut: f"{cut['method']}-{cut['stratum']}-{cut['metric']}-{cut['at']}"
)
def test_each_cut_point_holds_from_both_sides(cut: dict[str, Any]) -> None:
    stratum = load_method(cut["method"]).strata[cut["stratum"]]
    metric = next(metric for metric in stratum.metrics if metric.id == cut["metric"])
    large_stream = read_sample({"species": {}, "catchment_sq_mi": 150})
    at, hair = exact(cut["at"]), Fraction(1, 10**12)
    scored = [metric.scale.score(value, large_stream).points for value in (at - hair, at, at + hair)]
    assert scored == [cut["below"], cut["on_it"], cut["above"]]


def test_no_fixed_cut_point_of_a_method_is_left_untested() -> None:
    written = {(cut["method"], cut["stratum"], cut["metric"], exact(cut["at"])) for cut in CUTS}
    for code in {cut["method"] for cut in CUTS}:
        for stratum in load_method(code).strata.values():
            for metric in stratum.metrics:
                scales = [metric.scale, *(scale for _, scale in metric.scale.cases)]
                for scale in scales:
                    if scale.kind != "cut_points":
                        continue
                    for band in scale.bands[:-1]:
                        limits = (band.at_least, band.above, band.at_most, band.below)
                        limit = next(limit for limit in limits if limit is not None)
                        assert (code, stratum.code, metric.id, limit) in written
