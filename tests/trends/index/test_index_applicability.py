"""Whether a method fits a visit: each misfit with its reason."""

from __future__ import annotations

from datetime import date

import pytest
from index_samples import piedmont

from trends.index import load_method
from trends.index.applicability import fit, reasons_not_rated

MARYLAND = load_method("maryland_fish_2005")


def codes(**changes: object) -> set[tuple[str, bool]]:
    visit = {"passes": 2, "visit_date": date(2021, 7, 4), "stop_nets": "both"}
    sample = changes.pop("sample", piedmont())
    return {(misfit.code, misfit.blocks) for misfit in fit(MARYLAND, sample, **{**visit, **changes})}  # type: ignore[arg-type]


def test_a_visit_made_as_the_method_asks_fits() -> None:
    assert codes() == set()


@pytest.mark.parametrize(("changes", "found"), [
    ({"passes": 1}, ("passes", True)),
    ({"passes": 3}, ("passes", False)),
    ({"stop_nets": "none"}, ("stop_nets", False)),
    ({"visit_date": date(2021, 5, 31)}, ("season", True)),
    ({"visit_date": date(2021, 10, 1)}, ("season", True)),
    ({"sample": piedmont(reach_m=100)}, ("reach", False)),
    ({"sample": piedmont(stratum="tidal")}, ("stratum", True)),
    ({"sample": piedmont(catchment_acres=60)}, ("not_computable", True)),
    ({"sample": piedmont(mean_width_m=None)}, ("not_computable", True)),
], ids=lambda value: value[0] if isinstance(value, tuple) else "-".join(value))  # fmt: skip
def test_each_departure_is_named(changes: dict[str, object], found: tuple[str, bool]) -> None:
    assert codes(**changes) == {found}


@pytest.mark.parametrize("day", [date(2021, 6, 1), date(2021, 9, 30)])
def test_the_season_includes_its_first_and_last_day(day: date) -> None:
    assert codes(visit_date=day) == set()


def test_the_reasons_read_as_sentences() -> None:
    misfits = fit(MARYLAND, piedmont(), passes=1, visit_date=date(2021, 1, 5))
    assert reasons_not_rated(misfits) == (
        "1 pass was made; the method asks for 2",
        "visited on 2021-01-05; the method's season is June to September",
    )


def test_the_least_catchment_of_a_method_is_kept() -> None:
    method = load_method("new_jersey_north")
    small = fit(method, {"species": {}, "catchment_sq_mi": 3})
    assert any(misfit.code == "catchment" and "2560 acres" in misfit.reason for misfit in small)
    unknown = fit(method, {"species": {}})
    assert any(misfit.code == "catchment" and "not known" in misfit.reason for misfit in unknown)


def test_too_few_fish_in_a_tiny_catchment_are_not_rated() -> None:
    method = load_method("mid_atlantic_highlands_2001")
    misfits = fit(method, {"species": {"Cottus bairdii": 9}, "catchment_km2": 1.9})
    assert any("Fewer than 10 fish" in misfit.reason for misfit in misfits)
