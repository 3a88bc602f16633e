"""A small invented county with a species whose places are withheld."""

from dataclasses import dataclass

import pytest

from surveys.models import Station, Taxon, Visit
from tests.copies import MadeOnce
from tests.factories import make_station, make_taxon, make_visit
from trends.recompute import mark_all, recompute_marked

SENSITIVE = "Etheostoma sellare"


@dataclass(frozen=True)
class County:
    """Two stations of Willow Run with a withheld darter at one, and Alder Run without any."""

    guarded: Station
    neighbour: Station
    open: Station
    darter: Taxon
    visit: Visit
    draft: Visit


def make_county() -> County:
    guarded = make_station(
        "WR-1", latitude=39.1234, longitude=-77.4321, mean_width_m=4, name="=Ford & bridge"
    )
    neighbour = make_station("WR-2", latitude=39.2, longitude=-77.5)
    other = make_station("AR-1", watershed="Alder Run")
    darter = make_taxon(SENSITIVE, sensitive_location=True, native=True, benthic=True, tolerance="intolerant")
    for taxon in ("Creek Chub", "Blacknose Dace"):
        make_taxon(taxon, family="Leuciscidae", benthic=False, lithophilic=False, hybrid=False)
    make_taxon("Mottled Sculpin", family="Cottidae", lithophilic=False)
    visit = make_visit(
        guarded,
        "2023-07-04",
        passes=[{"Creek Chub": 12, "Blacknose Dace": 30, SENSITIVE: 3}, {"Creek Chub": 5, SENSITIVE: 1}],
        mean_width_m=4,
        ph=7.3,
        water_temp_c=0.0,
        stop_nets="both",
        crew_lead="Robin Example",
        notes="Gate code 1234",
    )
    for one in visit.passes.all():
        one.effort_s, one.biomass_g = 600 * one.pass_number, 150.5
        one.save()
    make_visit(neighbour, "2023-07-05", passes=[{"Mottled Sculpin": 4}, {}])
    make_visit(other, "2023-07-06", passes=[{"Creek Chub": 7, "Mottled Sculpin": 2}], mean_width_m=2)
    draft = make_visit(other, "2024-07-06", passes=[{"Bluegill": 1}], status="draft")
    mark_all()
    recompute_marked()
    return County(guarded, neighbour, other, darter, visit, draft)


@pytest.fixture
def county(db: None, made_once: MadeOnce) -> County:
    return made_once(make_county)
