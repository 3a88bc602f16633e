"""Numbers of species are followed on the level that all years of a station share.

That counts of names held at mixed levels are not comparable, and that parents merged with their children are, is
common practice: "ambiguous taxa" of Cuffney, Bilger & Haigler 2007, J. N. Am. Benthol. Soc. 26:286-307 (from memory).
"""

from typing import Any

import pytest

from tests.factories import make_station, make_taxon, make_visit
from tests.trends.caution_cases import YEARS, codes, outcome_of
from trends.assessments import assess
from trends.common_level import COUNTED
from trends.outcomes import Outcome
from trends.recompute import mark_all, recompute_marked
from trends.record import read_record

SCULPINS = ("Cottus caeruleomentum", "Cottus girardi")
CHUB = "Semotilus atromaculatus"


def named(*species: str, genus: str = "", natives: tuple[str, ...] | None = None) -> dict[str, Any]:
    """What a visit gives that caught these species, and fish held to a genus."""
    native = species if natives is None else natives
    taxa = tuple(sorted([*species, *filter(None, [genus])]))
    return {
        "taxa": taxa,
        "values": {"richness": float(len(species)), "native_richness": float(len(native))},
        "counted": {"richness": species, "native_richness": native},
    }


def values(found: Outcome) -> dict[int, float | None]:
    return {y.year: y.value for y in found.series[0].years}


def test_a_genus_in_some_years_is_one_kind_in_all() -> None:
    """Two sculpins told apart only from 2012 on would else look like a species gained."""
    found = outcome_of(
        measure="richness",
        held_to_genus=frozenset({"Cottus"}),
        every=named(CHUB, *SCULPINS),
        changes={y: named(CHUB, genus="Cottus") for y in YEARS if y < 2012},
    )
    assert set(values(found).values()) == {2.0}
    assert "C17" in codes(found)
    reasons = {y.year: y.reason for y in found.series[0].years}
    assert reasons[2010] == reasons[2015] == "Cottus counted as one kind"


def test_a_year_without_the_genus_gains_nothing() -> None:
    changes = {2008: named(CHUB, genus="Cottus"), 2009: named(CHUB)}
    found = outcome_of(
        measure="richness", held_to_genus=frozenset({"Cottus"}), every=named(CHUB, *SCULPINS), changes=changes
    )
    assert [values(found)[y] for y in (2008, 2009, 2010)] == [2.0, 1.0, 2.0]


def test_where_only_some_are_native_the_group_counts_in_no_year() -> None:
    """Which of them the fish held to the genus were cannot be told."""
    found = outcome_of(
        measure="native_richness",
        held_to_genus=frozenset({"Cottus"}),
        every=named(CHUB, *SCULPINS, natives=(CHUB, SCULPINS[0])),
        changes={2008: named(CHUB, genus="Cottus")},
    )
    assert set(values(found).values()) == {1.0}


def test_a_taxon_split_later_is_one_kind_with_what_it_was_split_from() -> None:
    found = outcome_of(
        measure="richness",
        splits=(SCULPINS,),
        every=named(CHUB, SCULPINS[0]),
        changes={y: named(CHUB, *SCULPINS) for y in YEARS if y >= 2014},
    )
    assert set(values(found).values()) == {2.0}


def test_names_held_alike_are_left_as_they_are() -> None:
    found = outcome_of(
        measure="richness", held_to_genus=frozenset({"Cottus"}), every=named(CHUB, *SCULPINS, genus="Cottus")
    )
    assert set(values(found).values()) == {3.0}
    assert not any(y.reason for y in found.series[0].years)


@pytest.mark.django_db
def test_the_trend_counts_alike_and_the_visit_keeps_its_number() -> None:
    station = make_station("WIL-01")
    make_taxon("Creek Chub", benthic=False)
    for name, rank in (("Cottus", "genus"), *((one, "species") for one in SCULPINS)):
        make_taxon(name, rank=rank, native=True, benthic=True)
    for year in range(2010, 2018):
        sculpins = {"Cottus": 9} if year < 2014 else dict.fromkeys(SCULPINS, 5)
        make_visit(station, f"{year}-07-16", passes=[{"Creek Chub": 30, **sculpins}])
    mark_all()
    recompute_marked()
    own = {v.visit_date.year: v.result.values["richness"] for v in station.visits.select_related("result")}
    assert (own[2010], own[2017]) == (1.0, 3.0)
    record = read_record(station.watershed)
    for measure in sorted(COUNTED - {"benthic_richness"}):
        assert set(values(assess(record, measure, station)).values()) == {2.0}
    assert set(values(assess(record, "benthic_richness", station)).values()) == {1.0}
