"""A season held in the database, written as a season file and loaded into an empty one, is the same."""

import datetime
import unicodedata
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from surveys.models import Catch, RemovalPass, SamplingMethod, Station, Taxon, Visit, VisitStatus
from surveys.uploads.commit import new_upload, take
from surveys.uploads.export_season import season_file
from surveys.uploads.values import fold
from tests.factories import make_method, make_station, make_taxon, make_visit

pytestmark = pytest.mark.django_db

NAMES = ("Creek Chub", "Blacknose Dace", "Mottled Sculpin", "Brook Trout", "Bluegill")
CODES = ("WIL-01", "WIL-02", "RIV-é3")

measures = {
    "reach_length_m": (10, 1_000),
    "mean_width_m": (0.2, 50),
    "water_temp_c": (-1, 40),
    "conductivity_us_cm": (1, 50_000),
    "dissolved_oxygen_mg_l": (0, 25),
    "ph": (0, 14),
    "turbidity_ntu": (0, 4_000),
    "discharge_m3_s": (0, 10_000),
}


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_subnormal=False).map(lambda value: value + 0.0)


def text(longest: int) -> st.SearchStrategy[str]:
    """Words as a person types them: no control characters, no blanks at the ends, one way to write accents."""
    signs = st.characters(exclude_categories=["Cs", "Cc", "Cn", "Co"], include_characters="\n")
    return st.text(signs, max_size=longest).map(lambda t: unicodedata.normalize("NFC", t).strip())


catches = st.dictionaries(
    st.sampled_from(NAMES),
    st.integers(1, 5_000).flatmap(
        lambda count: st.fixed_dictionaries(
            {
                "count": st.just(count),
                "young_of_year": st.none() | st.integers(0, count),
                "anomalies": st.none() | st.integers(0, count),
                "biomass_g": st.none() | number(0.01, 50_000),
            }
        )
    ),
    max_size=4,
)
passes = st.lists(
    st.fixed_dictionaries(
        {
            "effort_s": st.none() | st.integers(0, 86_400),
            "biomass_g": st.none() | number(0, 10_000_000),
            "catches": catches,
        }
    ),
    min_size=1,
    max_size=4,
)
visits = st.fixed_dictionaries(
    {
        **{
            name: number(*limits) if name == "reach_length_m" else st.none() | number(*limits)
            for name, limits in measures.items()
        },
        "stop_nets": st.sampled_from(["", "both", "upstream", "downstream", "none"]),
        "crew_lead": text(20),
        "notes": text(60),
        "passes": passes,
    }
)
seasons = st.dictionaries(
    st.tuples(st.sampled_from(CODES), st.dates(datetime.date(2000, 1, 1), datetime.date(2024, 12, 31))),
    visits,
    min_size=1,
    max_size=4,
)


def store(season: dict[tuple[str, datetime.date], dict[str, Any]]) -> None:
    taxa = {name: make_taxon(name) for name in NAMES}
    method = SamplingMethod.objects.get(code="two-pass")
    for (code, day), values in season.items():
        fields = {name: value for name, value in values.items() if name != "passes"}
        visit = Visit.objects.create(
            station=Station.objects.get(code=code),
            visit_date=day,
            method=method,
            status=VisitStatus.ACCEPTED,
            **fields,
        )
        for place, made in enumerate(values["passes"], start=1):
            one = RemovalPass.objects.create(
                visit=visit, pass_number=place, effort_s=made["effort_s"], biomass_g=made["biomass_g"]
            )
            for name, caught in made["catches"].items():
                Catch.objects.create(removal_pass=one, taxon=taxa[name], **caught)


def held() -> list[Any]:
    """Everything a season file can say of the visits that are stored."""
    names = (*measures, "stop_nets", "crew_lead", "notes", "status")
    return [
        list(
            Visit.objects.order_by("station__code", "visit_date").values_list(
                "station__code", "visit_date", "method__code", *names
            )
        ),
        sorted(
            RemovalPass.objects.values_list(
                "visit__station__code", "visit__visit_date", "pass_number", "effort_s", "biomass_g"
            )
        ),
        sorted(
            Catch.objects.values_list(
                "removal_pass__visit__station__code",
                "removal_pass__visit__visit_date",
                "removal_pass__pass_number",
                "taxon__scientific_name",
                "count",
                "young_of_year",
                "anomalies",
                "biomass_g",
            ),
            key=str,
        ),
    ]


@settings(
    max_examples=25,
    deadline=None,
    # Each case writes and reads a database, so a failing one is reported as it is and not made smaller.
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(season=seasons)
def test_any_season_comes_back_the_same(season: dict[tuple[str, datetime.date], dict[str, Any]]) -> None:
    # Two stations are told apart by their folded codes, and a file never says that a pass has no unit.
    assume(len({(fold(code), day) for code, day in season}) == len(season))
    with transaction.atomic():
        make_method("two-pass")
        for code in CODES:
            # A station's width would stand in where a visit gives none.
            make_station(code, mean_width_m=None)
        store(season)
        before = held()
        written = season_file(Visit.objects.all())
        Visit.objects.all().delete()
        take(new_upload("season.csv", written.encode(), by=None), by=None, accept=True)
        assert held() == before
        # Written again it is the same text, and sent again it changes nothing.
        assert season_file(Visit.objects.all()) == written
        assert not take(new_upload("again.csv", written.encode(), by=None), by=None).changed
        transaction.set_rollback(True)


def test_the_file_is_in_the_order_of_station_and_day() -> None:
    for code, day in (("WIL-02", "2024-07-01"), ("WIL-01", "2024-08-01"), ("WIL-01", "2024-07-01")):
        make_visit(make_station(code), day)
    lines = season_file(Visit.objects.all()).splitlines()
    assert lines[0].startswith("station,visit_date,pass,taxon,count")
    places = [tuple(line.split(",")[:3]) for line in lines[1:]]
    assert places == sorted(places)
    assert Taxon.objects.get().scientific_name in lines[1]


def test_a_pass_that_caught_nothing_is_written_as_no_fish() -> None:
    make_visit(passes=[{"Creek Chub": 3}, {}])
    assert ",2,no fish,0," in season_file(Visit.objects.all())
