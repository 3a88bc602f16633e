"""Station lists and taxon lists: inserted or updated, whole or not at all."""

import pytest

from surveys.models import Station, Taxon, TaxonAlias, Watershed
from surveys.signals import visits_changed
from surveys.uploads.list_records import ListResult
from surveys.uploads.reference import load_stations, load_taxa
from tests.factories import make_station, make_taxon, make_visit

pytestmark = pytest.mark.django_db


def stations(text: str, **options: bool) -> ListResult:
    return load_stations("stations.csv", text.encode(), **options)


def taxa(text: str, **options: bool) -> ListResult:
    return load_taxa("taxa.csv", text.encode(), **options)


def codes(result: ListResult) -> list[str]:
    return [f.code for f in result.findings if f.level == "error"]


HEAD = "station,watershed,stream,latitude,longitude,reach_length_m,control_for\n"


def test_stations_and_their_watersheds_are_added() -> None:
    result = stations(HEAD + "A-1,Willow Run,Willow Run,39.1,-77.2,75,\nA-2,Willow Run,North Fork,,,,A-1\n")
    assert (result.created, result.updated, result.same) == (2, 0, 0)
    assert Watershed.objects.get().slug == "willow-run"
    second = Station.objects.get(code="A-2")
    assert (second.stream, second.latitude, second.reach_length_m) == ("North Fork", None, None)
    assert second.control_for is not None
    assert second.control_for.code == "A-1"


def test_a_control_may_name_a_station_further_down() -> None:
    stations(HEAD + "A-1,W,W,,,,A-2\nA-2,W,W,,,,\n")
    assert Station.objects.get(code="A-1").control_for == Station.objects.get(code="A-2")


def test_the_same_list_twice_changes_nothing() -> None:
    text = HEAD + "A-1,W,W,39.1,-77.2,75,\n"
    stations(text)
    result = stations(text)
    assert (result.created, result.updated, result.same) == (0, 0, 1)
    assert result.findings == []


def test_an_update_says_what_changed_and_leaves_absent_columns_alone() -> None:
    stations(HEAD + "A-1,W,W,39.1,-77.2,75,\n")
    result = stations("station,watershed,stream,reach_length_m\nA-1,W,W,80\n")
    assert result.updated == 1
    assert "reach_length_m: 75.0 -> 80.0" in result.findings[0].message
    assert Station.objects.get().latitude == 39.1


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("A 1,W,W,,,,", "bad_code"),
        (",W,W,,,,", "required_blank"),
        ("A-1,,W,,,,", "required_blank"),
        ("A-1,W,W,95,10,,", "out_of_range"),
        ("A-1,W,W,10,,,", "half_a_position"),
        ("A-1,W,W,,,5,", "out_of_range"),
        ("A-1,W,W,,,,A-1", "own_control"),
        ("A-1,W,W,,,,B-9", "unknown_station"),
        ("OK-1,W,W,,,,", "duplicate_row"),
        ("ok-1,W,W,,,,", "duplicate_row"),
    ],
)
def test_one_bad_row_keeps_the_whole_station_list_out(row: str, code: str) -> None:
    result = stations(HEAD + "OK-1,W,W,,,,\n" + row + "\n")
    assert code in codes(result)
    assert not Station.objects.exists()
    assert not Watershed.objects.exists()


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("Tarvandel Run", "Tarvandle Run"),
        ("Riviere Ete", "Rivi\u00e8re \u00c9t\u00e9"),
        ("Mill Creek", ""),
        ("tarvandle  run", ""),
    ],
    ids=["letters swapped", "no accents", "another", "the same"],
)
def test_a_new_watershed_is_named_and_asked_about_where_it_comes_near_another(name: str, near: str) -> None:
    """A letter wrong would give a creek a second page with a part of its stations."""
    stations(HEAD + "A-1,Tarvandle Run,W,,,,\nA-2,Rivi\u00e8re \u00c9t\u00e9,W,,,,\n")
    result = stations(HEAD + f"A-3,{name},W,,,,\nA-4,{name},W,,,,\n")
    assert not result.has_errors
    asked = [f for f in result.findings if f.code == "watershed_comes_near"]
    assert [near in f.message for f in asked] == ([True] if near else [])
    assert result.watersheds == ([] if name.startswith("tarvandle") else [name])


@pytest.mark.parametrize(
    ("latitude", "far"),
    [("39.1004", ""), ("39.1018", "200 m"), ("39.2", "11.1 km"), ("", "")],
    ids=["44 m", "200 m", "a tenth of a degree", "emptied"],
)
def test_a_station_with_visits_is_not_moved_without_a_word(latitude: str, far: str) -> None:
    """A degree of latitude is some 111 km long (common practice, no source)."""
    stations(HEAD + "A-1,W,W,39.1,-77.2,75,\nA-2,W,W,39.1,-77.2,75,\n")
    make_visit(Station.objects.get(code="A-1"))
    row = f"{latitude},{'-77.2' if latitude else ''}"
    result = stations(HEAD + f"A-1,W,W,{row},75,\nA-2,W,W,{row},75,\n")
    asked = [f.message for f in result.findings if f.code == "station_moves"]
    assert [words.startswith("A-1 has 1 visit") and far in words for words in asked] == (
        [True] if far else []
    )


def test_how_well_a_position_is_known_is_an_optional_column() -> None:
    head = HEAD.strip() + ",position_uncertainty_m\n"
    stations(head + "A-1,W,W,39.1,-77.2,75,,4.5\nA-2,W,W,39.1,-77.2,75,,\n")
    known = dict(Station.objects.values_list("code", "position_uncertainty_m"))
    assert known == {"A-1": 4.5, "A-2": None}
    # Zero is no uncertainty that a position can have (Darwin Core, coordinateUncertaintyInMeters).
    assert codes(stations(head + "A-2,W,W,39.1,-77.2,75,,0\n")) == ["out_of_range"]


@pytest.mark.parametrize(
    ("row", "kept"), [("39.1,-77.2", 4.5), ("39.1001,-77.2", None)], ids=["same place", "another place"]
)
def test_the_uncertainty_of_a_position_is_not_that_of_another(row: str, kept: float | None) -> None:
    """A list without the column that corrects a position would leave it with a figure for the old one."""
    station = make_station("A-1", latitude=39.1, longitude=-77.2, position_uncertainty_m=4.5)
    result = stations(f"station,watershed,stream,latitude,longitude\nA-1,Willow Run,Willow Run,{row}\n")
    station.refresh_from_db()
    assert station.position_uncertainty_m == kept
    assert any("position_uncertainty_m: 4.5 -> empty" in f.message for f in result.findings) == (kept is None)


def test_a_position_that_cannot_be_read_is_not_also_called_empty() -> None:
    assert codes(stations(HEAD + 'A-1,W,W,"39,1",-77.2,,\n')) == ["not_a_number"]


def test_a_dry_run_stores_nothing() -> None:
    assert stations(HEAD + "A-1,W,W,,,,\n", dry_run=True).created == 1
    assert not Station.objects.exists()


def test_a_changed_station_with_accepted_visits_is_reported_to_listeners() -> None:
    station = make_station("A-1", watershed="W")
    make_visit(station)
    make_station("A-2", watershed="W")
    heard: list[set[int]] = []

    def listen(station_ids: set[int], **kwargs: object) -> None:
        heard.append(station_ids)

    visits_changed.connect(listen)
    stations("station,watershed,stream,catchment_km2\nA-1,W,W,4.5\nA-2,W,W,3\n")
    visits_changed.disconnect(listen)
    assert heard == [{station.pk}]


def test_taxa_are_added_with_traits_and_unknown_stays_unknown() -> None:
    taxa(
        "scientific_name,common_name,tolerance,benthic,native,hybrid,aliases,code\n"
        "Cottus bairdii,Mottled Sculpin,moderate,yes,,0,Cottus bairdi; muddler,MTSC\n"
    )
    taxon = Taxon.objects.get()
    assert (taxon.tolerance, taxon.benthic, taxon.native, taxon.hybrid) == ("moderate", True, None, False)
    assert {alias.name for alias in TaxonAlias.objects.all()} == {"Cottus bairdi", "muddler"}


def test_who_named_a_taxon_is_an_optional_column() -> None:
    """The author is a made-up one: names of authors belong to the county's own list."""
    taxa('scientific_name,authorship\nCottus bairdii,"(Quillon, 1801)"\nCottus,\n')
    taxa("scientific_name,common_name\nCottus bairdii,Mottled Sculpin\n")
    assert dict(Taxon.objects.values_list("scientific_name", "authorship")) == {
        "Cottus": "",
        "Cottus bairdii": "(Quillon, 1801)",
    }


def test_a_list_of_names_alone_is_enough() -> None:
    result = taxa("taxon\nCottus bairdii\nCottus\n")
    assert result.created == 2
    assert Taxon.objects.get(scientific_name="Cottus").rank == "genus"


def test_a_list_of_names_alone_leaves_traits_as_they_are() -> None:
    make_taxon("Creek Chub")
    result = taxa("taxon\nsemotilus atromaculatus\n")
    assert result.same == 1
    assert Taxon.objects.get().tolerance == "tolerant"


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("Salmo trutta,sturdy,,,", "not_a_choice"),
        ("Salmo trutta,,maybe,,", "not_a_choice"),
        ("creek chub,,,,", "name_taken"),
        ("Salmo trutta,,,CRCH,", "code_taken"),
        ("Salmo trutta,,,,old chub", "alias_taken"),
        ("Cottus bairdii,,,,", "duplicate_row"),
    ],
)
def test_one_bad_row_keeps_the_whole_taxon_list_out(row: str, code: str) -> None:
    chub = make_taxon("Creek Chub", code="CRCH")
    TaxonAlias.objects.create(taxon=chub, name="old chub")
    result = taxa("scientific_name,tolerance,benthic,code,aliases\nCottus bairdii,,,,\n" + row + "\n")
    assert code in codes(result)
    assert Taxon.objects.count() == 1
