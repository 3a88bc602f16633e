"""What changed among the fish: comparable visits alone, chances worked by hand, turnover by shuffled years."""

import datetime

import pytest

from surveys.models import Taxon
from surveys.queries import CatchRecord, PassRecord, VisitRecord
from trends.community import community

CHUB = Taxon(pk=1, scientific_name="Semotilus atromaculatus", common_name="Creek Chub")
DACE = Taxon(pk=2, scientific_name="Rhinichthys atratulus", common_name="Blacknose Dace")
DARTER = Taxon(pk=3, scientific_name="Etheostoma olmstedi", common_name="Tessellated Darter")
SUNFISH = Taxon(pk=4, scientific_name="Lepomis sp.", rank="genus")


def _catch(taxon: Taxon, number: int) -> CatchRecord:
    return CatchRecord(taxon=taxon, count=number, young_of_year=None, anomalies=None, biomass_g=None)


def record(year: int, *passes: dict[Taxon, int], station: str = "ALD-01", method: str = "two") -> VisitRecord:
    made = tuple(
        PassRecord(
            number=i,
            effort_s=None,
            biomass_g=None,
            catches=tuple(
                CatchRecord(taxon=t, count=n, young_of_year=None, anomalies=None, biomass_g=None)
                for t, n in caught.items()
            ),
        )
        for i, caught in enumerate(passes, start=1)
    )
    return VisitRecord(
        visit_id=year, revision=1, status="accepted", station_id=1, station_code=station, watershed_id=1,
        date=datetime.date(year, 7, 16), method_code=method, method_name=method, planned_passes=2, in_season=True,
        season_known=True, reach_length_m=75, mean_width_m=4, stop_nets="both", crew_lead="", catchment_km2=None,
        stratum="", water={}, passes=made,
    )  # fmt: skip


def ten_years(late: dict[Taxon, int], early: dict[Taxon, int] | None = None) -> list[VisitRecord]:
    return [record(2000 + i, early or {CHUB: 10, DACE: 5}) for i in range(5)] + [
        record(2005 + i, late) for i in range(5)
    ]


def test_a_species_met_at_every_late_visit_is_a_probable_gain() -> None:
    found = community(ten_years({CHUB: 10, DACE: 5, DARTER: 2}))
    assert [(c.taxon.common_name, c.met, c.of, c.missed, c.probable) for c in found.gained] == [
        ("Tessellated Darter", 5, 5, 0.0, True)
    ]
    assert (found.lost, found.kept) == ((), 2)


def test_a_species_met_once_may_have_been_missed() -> None:
    # Met at 1 of 5 visits: (1 - 1/5)^5 = 0.32768, the chance to miss it five times (arithmetic).
    visits = ten_years({CHUB: 10, DACE: 5})
    visits[-1] = record(2009, {CHUB: 10, DACE: 5, DARTER: 1})
    (gain,) = community(visits).gained
    assert gain.missed == pytest.approx(0.32768)
    assert not gain.probable
    assert "may have been missed" in gain.words


def test_passes_beyond_the_common_ones_and_new_stations_bring_no_species() -> None:
    visits = ten_years({CHUB: 10, DACE: 5})
    visits[-1] = record(2009, {CHUB: 10, DACE: 5}, {DARTER: 3})
    visits.append(record(2008, {DARTER: 9}, station="ALD-02"))
    found = community(visits)
    assert (found.gained, found.passes, found.stations, found.stations_left_out) == (
        (),
        1,
        ("ALD-01",),
        ("ALD-02",),
    )


def test_a_station_whose_method_changed_is_left_out() -> None:
    visits = [record(2000 + i, {CHUB: 5}, method="one" if i < 5 else "two") for i in range(10)]
    assert "by one method" in community(visits).reason


def test_fish_named_to_genus_are_no_new_species() -> None:
    assert community(ten_years({CHUB: 10, DACE: 5, SUNFISH: 4})).gained == ()


def test_turnover_counts_arrangements_of_years() -> None:
    # Early all chub, late all dace: nothing in common, so 1. Of the 252 ways to part ten years into
    # five and five, two reach it: the true one and its mirror image (arithmetic).
    found = community(ten_years({DACE: 5}, early={CHUB: 10})).turnover
    assert found is not None
    assert (found.value, found.arrangements) == (1.0, 252)
    assert found.p_value == pytest.approx(2 / 252)
    alike = community(ten_years({CHUB: 10, DACE: 5})).turnover
    assert alike is not None
    assert (alike.value, alike.p_value) == (pytest.approx(0.0), 1.0)


def test_too_few_years_are_not_compared() -> None:
    assert (
        "two spans"
        in community([record(2000, {CHUB: 1}), record(2001, {CHUB: 1}), record(2002, {CHUB: 1})]).reason
    )
    assert "0 visited years" in community([]).reason
