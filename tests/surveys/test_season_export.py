"""A season held in the database, written as a season file and loaded into an empty one, is the same."""

import csv
import datetime
import io
import unicodedata
from typing import Any

import pytest
from django.db import transaction
from django.db.models import Model
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from surveys.models import Catch, RemovalPass, SafetyCheck, SamplingMethod, Station, Taxon, Visit, VisitStatus
from surveys.uploads.columns import FIRST_COLUMNS, column_names
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
    "air_temp_c": (-40, 55),
}


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_subnormal=False).map(lambda value: value + 0.0)


def text(longest: int) -> st.SearchStrategy[str]:
    """Words as a person types them: no control characters, no blanks at the ends, one way to write accents."""
    signs = st.characters(exclude_categories=["Cs", "Cc", "Cn", "Co"], include_characters="\n")
    return st.text(signs, max_size=longest).map(lambda t: unicodedata.normalize("NFC", t).strip())


def split(count: int, names: tuple[str, str, str]) -> st.SearchStrategy[dict[str, int]]:
    """No part, or three that make up the count."""
    cuts = st.tuples(st.integers(0, count), st.integers(0, count)).map(sorted)
    parts = cuts.map(lambda cut: dict(zip(names, (cut[0], cut[1] - cut[0], count - cut[1]), strict=True)))
    return st.just({}) | parts


def weights() -> st.SearchStrategy[dict[str, float | None]]:
    """With a container the net weight is known too: a file that leaves it out gets it worked out."""
    net = st.fixed_dictionaries({"biomass_g": st.none() | number(0.01, 50_000)})
    with_container = st.tuples(number(0, 50_000), number(0, 20_000), number(0.01, 50_000)).map(
        lambda w: {"tare_g": w[1], "gross_g": w[0] + w[1], "biomass_g": w[2]}
    )
    return net | with_container


def caught(count: int) -> st.SearchStrategy[dict[str, Any]]:
    parts = st.tuples(
        st.fixed_dictionaries(
            {
                "count": st.just(count),
                "young_of_year": st.none() | st.integers(0, count),
                "anomalies": st.none() | st.integers(0, count),
                "weighed": st.none() | st.integers(1, count),
                "estimated": st.booleans(),
                "unsure": st.booleans(),
            }
        ),
        split(count, ("released", "died", "kept")),
        split(count, ("in_main", "in_eel_well", "in_other")),
        weights(),
    )
    return parts.map(lambda found: found[0] | found[1] | found[2] | found[3])


catches = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 5_000).flatmap(caught), max_size=4)


def in_turn(passes: list[dict[str, Any]], times: list[datetime.time]) -> list[dict[str, Any]]:
    """Times that follow each other; the current is not on for longer than the clock says."""
    for place, one in enumerate(passes):
        begun, ended = times[2 * place], times[2 * place + 1]
        one |= {"started_at": begun, "ended_at": ended, "effort_s": min(one["effort_s"] or 0, 60)}
    return passes


untimed = st.lists(
    st.fixed_dictionaries(
        {
            "effort_s": st.none() | st.integers(0, 86_400),
            "biomass_g": st.none() | number(0, 10_000_000),
            "gear_unit": text(20),
            "waveform": st.sampled_from(["", "DC", "pulsed DC"]),
            "anodes": st.none() | st.integers(1, 50),
            "netters": st.none() | st.integers(1, 50),
            **{f"volts_{end}": st.none() | number(0, 1_200) for end in ("first", "last")},
            **{f"pulse_hz_{end}": st.none() | number(0, 200) for end in ("first", "last")},
            **{f"pulse_width_ms_{end}": st.none() | number(0, 20) for end in ("first", "last")},
            "catches": catches,
        }
    ),
    min_size=1,
    max_size=4,
)
clock = st.lists(st.times(), min_size=8, max_size=8, unique=True).map(sorted)
passes = untimed | st.tuples(untimed, clock).map(lambda made: in_turn(*made))
visits = st.fixed_dictionaries(
    {
        **{
            name: number(*limits) if name == "reach_length_m" else st.none() | number(*limits)
            for name, limits in measures.items()
        },
        "stop_nets": st.sampled_from(["", "both", "upstream", "downstream", "none"]),
        "conductivity_basis": st.sampled_from(["", "ambient", "25 C"]),
        "bottom_visible": st.sampled_from(["", "yes", "partly", "no"]),
        "weather": text(20),
        "meters": text(20),
        "calibrated_on": st.none() | st.dates(datetime.date(1999, 1, 1), datetime.date(1999, 12, 31)),
        "widths_m": st.lists(number(0, 100), max_size=4),
        "identifier": text(20),
        "crew_size": st.none() | st.integers(0, 32_767),
        "checks_made": st.lists(st.sampled_from(SafetyCheck.values), unique=True),
        "checks_by": text(20),
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
                visit=visit, pass_number=place, **{k: v for k, v in made.items() if k != "catches"}
            )
            for name, fish in made["catches"].items():
                Catch.objects.create(removal_pass=one, taxon=taxa[name], **fish)


def held() -> list[Any]:
    """Everything a season file can say of the visits that are stored."""
    return [
        list(
            Visit.objects.order_by("station__code", "visit_date").values_list(
                "station__code", "visit_date", "method__code", "notes", "status", *own_fields(Visit)
            )
        ),
        list(
            RemovalPass.objects.order_by(*PLACE, "pass_number").values_list(
                "visit__station__code", "visit__visit_date", *own_fields(RemovalPass)
            )
        ),
        list(
            Catch.objects.order_by(
                *(f"removal_pass__{name}" for name in (*PLACE, "pass_number")), "taxon__scientific_name"
            ).values_list(
                "removal_pass__visit__station__code",
                "removal_pass__visit__visit_date",
                "removal_pass__pass_number",
                "taxon__scientific_name",
                *own_fields(Catch),
            )
        ),
    ]


PLACE = ("visit__station__code", "visit__visit_date")
# What a row has beside what the field sheet says: keys, and the trail of the record itself.
NOT_OF_THE_SHEET = {"id", "added_at", "status", "revision", "visit_date", "notes"}


def own_fields(model: type[Model]) -> list[str]:
    """Every plain column of a table, so that one that is added later has to come back as well."""
    return [
        field.name
        for field in model._meta.concrete_fields
        if not field.is_relation and field.name not in NOT_OF_THE_SHEET
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


def test_columns_of_the_field_sheet_are_written_only_where_something_is_recorded() -> None:
    """A file of records without them looks as it always did; one value brings its column, and no other."""
    visit = make_visit(make_station("WIL-01"))
    plain = season_file(Visit.objects.all()).splitlines()[0].split(",")
    assert plain == column_names(FIRST_COLUMNS)
    RemovalPass.objects.filter(visit=visit).update(waveform="pulsed DC")
    Visit.objects.filter(pk=visit.pk).update(widths_m=[3.5, 4.0])
    heading, row = list(csv.reader(io.StringIO(season_file(Visit.objects.all()))))[:2]
    assert set(heading) - set(plain) == {"waveform", "widths_m"}
    assert (row[heading.index("waveform")], row[heading.index("widths_m")]) == ("pulsed DC", "3.5; 4.0")


@pytest.mark.parametrize(
    "notes", ["=1+1", "- water cloudy", "@ the bridge", "'=1+1", "''quoted''", "'tis low"]
)
def test_no_word_of_a_file_runs_as_a_formula_and_all_come_back(notes: str) -> None:
    """Signs that a spreadsheet takes for the start of a formula: OWASP ASVS 5.0, item 1.2.10."""
    visit = make_visit(make_station("WIL-01"), weather=notes, notes=notes)
    written = season_file(Visit.objects.all())
    heading, row = list(csv.reader(io.StringIO(written)))[:2]
    assert not any(row[heading.index(name)].startswith(("=", "+", "-", "@")) for name in ("weather", "notes"))
    visit.delete()
    take(new_upload("season.csv", written.encode(), by=None), by=None, accept=True)
    assert Visit.objects.values_list("weather", "notes").get() == (notes, notes)
