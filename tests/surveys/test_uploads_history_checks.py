"""A season file against the fish met before. The limits are the programme's own (common practice, no
published source)."""

import datetime
from dataclasses import replace
from typing import Any

import pytest

from surveys.uploads.checks import check_season
from surveys.uploads.findings import WARNING
from surveys.uploads.known import Known, KnownMethod, KnownStation, MeanWeights
from surveys.uploads.reader import read_table
from surveys.uploads.store import read_known
from tests.factories import make_station, make_taxon, make_visit, season_csv

CHUB, DACE, SCULPIN, TROUT, GILL = range(11, 16)
NAMES = {CHUB: "Creek Chub", DACE: "Dace", SCULPIN: "Sculpin", TROUT: "Trout", GILL: "Bluegill"}
METHOD = KnownMethod(key=1, code="two-pass")
CODES = {"taxon_new_to_watershed", "taxon_missing", "richness_drop", "unusual_weight"}
ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 5}


def known(*met: set[int], watershed: set[int] | None = None, batches: int = 10) -> Known:
    """A station visited each July up to 2023; a chub there weighed 4 to 12 g."""
    days = [datetime.date(2024 - len(met) + number, 7, 16) for number in range(len(met))]
    station = KnownStation(
        key=1,
        code="WIL-01",
        earlier_dates=tuple(days),
        history=tuple((day, frozenset(taxa)) for day, taxa in zip(days, met, strict=True)),
        watershed_taxa=frozenset(watershed or set().union(*met)),
        most=dict.fromkeys(NAMES, 1_000),
    )
    return Known(
        today=datetime.date(2024, 12, 31),
        stations={"wil-01": station},
        taxa={name.casefold(): (key,) for key, name in NAMES.items()},
        taxon_names=NAMES,
        methods={"two-pass": METHOD},
        default_method=METHOD,
        mean_weights={CHUB: MeanWeights(least=4, most=12, batches=batches)},
    )


def found(about: Known, *rows: dict[str, Any]) -> list[str]:
    table = read_table("season.csv", season_csv(*({**ROW, **row} for row in rows or ({},))))
    told = [f for f in check_season(table, about).findings if f.code in CODES]
    assert all(f.level == WARNING and f.remedy and f.row for f in told)
    return [f.code for f in told]


def test_a_taxon_new_to_the_watershed_is_asked_about_once() -> None:
    rows = ({"taxon": "Trout"}, {"taxon": "Trout", "pass": 2}, {})
    assert found(known({CHUB}), *rows) == ["taxon_new_to_watershed"]
    assert found(known({CHUB}, watershed={CHUB, TROUT}), *rows) == []


def test_a_watershed_without_any_catch_has_nothing_new() -> None:
    assert found(known(), {"taxon": "Trout"}) == []


@pytest.mark.parametrize(
    ("met", "codes"),
    [
        ([{CHUB, DACE}] * 5, ["taxon_missing"]),
        ([{CHUB, DACE}] * 4, []),
        ([*[{CHUB, DACE}] * 5, {CHUB}], []),
    ],
    ids=["at each of five", "four visits only", "once missed before"],
)
def test_one_missing_that_was_always_there(met: list[set[int]], codes: list[str]) -> None:
    assert found(known(*met)) == codes


def test_a_weight_of_zero_has_its_own_remark_only() -> None:
    assert found(known({CHUB}), {"biomass_g": 0}) == []


def test_half_the_taxa_gone() -> None:
    usual = [{CHUB, DACE, SCULPIN, TROUT}, {CHUB, DACE, SCULPIN, GILL}, {CHUB, TROUT, SCULPIN, GILL}]
    assert found(known(*usual), {}, {"taxon": "Sculpin"}) == ["richness_drop"]
    assert found(known(*usual), {}, {"taxon": "Sculpin"}, {"taxon": "Dace"}) == []


@pytest.mark.parametrize(
    ("grams", "codes"), [(180, []), (181, ["unusual_weight"]), (6.7, []), (6.6, ["unusual_weight"])]
)
def test_a_mean_weight_far_from_those_before(grams: float, codes: list[str]) -> None:
    """Five fish; three times 12 g and a third of 4 g a fish are the limits."""
    assert found(known({CHUB}), {"biomass_g": grams}) == codes
    assert found(known({CHUB}, batches=9), {"biomass_g": grams}) == []


def test_a_visit_is_compared_with_those_before_it_only() -> None:
    about = known(*[{CHUB, DACE}] * 6)
    assert found(about, {}) == ["taxon_missing"]
    assert found(about, {"visit_date": "2021-08-01"}) == []


@pytest.mark.django_db
def test_what_was_met_is_read_from_the_store() -> None:
    station = make_station("WIL-01")
    visit = make_visit(station, "2023-07-16", passes=[{"Creek Chub": 4}, {"Bluegill": 1}])
    make_visit(make_station("WIL-02"), "2023-07-16", passes=[{"Brook Trout": 1}])
    make_visit(station, "2022-07-16", passes=[{"Mottled Sculpin": 1}], status="withdrawn")
    visit.passes.first().catches.update(biomass_g=20)
    chub, gill, trout = (make_taxon(name).pk for name in ("Creek Chub", "Bluegill", "Brook Trout"))
    about = read_known(["WIL-01"])
    kept = about.stations["wil-01"]
    assert kept.history == ((datetime.date(2023, 7, 16), frozenset({chub, gill})),)
    assert kept.watershed_taxa == {chub, gill, trout}
    assert about.mean_weights == {chub: MeanWeights(least=5, most=5, batches=1)}
    assert replace(kept, history=()).code == "WIL-01"
