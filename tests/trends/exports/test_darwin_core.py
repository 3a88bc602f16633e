"""The Darwin Core archive, read as its own meta.xml says, by code that shares nothing with the writer.

Rules: Darwin Core text guide (2023-09-13), term lists of the release of 2026-05-26, EML 2.2.0.
"""

import csv
import io
import zipfile
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from surveys.models import Catch, SamplingMethod, Station, Taxon, Visit, Voucher
from tests.factories import make_station, make_visit
from tests.trends.exports.conftest import SENSITIVE, County
from trends.models import LandUseNote

TEXT = "{http://rs.tdwg.org/dwc/text/}"
DWC = "http://rs.tdwg.org/dwc/terms/"
ECO = "http://rs.tdwg.org/eco/terms/"
EVENT, OCCURRENCE = f"{DWC}Event", f"{DWC}Occurrence"
MEASUREMENT = "http://rs.iobis.org/obis/terms/ExtendedMeasurementOrFact"
SURVEY = f"{ECO}Event"
Rows = list[dict[str, str]]


def read_archive(path: Path) -> dict[str, Rows]:
    """Rows of each row type, keyed by the full address of the term; ``id`` is the link to the core."""
    tables = {}
    with zipfile.ZipFile(path) as archive:
        meta = ET.fromstring(archive.read("meta.xml"))
        assert meta.get("metadata") in archive.namelist()
        assert len(meta.findall(f"{TEXT}core")) == 1
        for element in meta:
            settings = {
                "encoding": "UTF-8",
                "fieldsTerminatedBy": ",",
                "linesTerminatedBy": "\\r\\n",
                "fieldsEnclosedBy": '"',
                "ignoreHeaderLines": "1",
            }
            assert {name: element.get(name) for name in settings} == settings
            location = element.find(f"{TEXT}files/{TEXT}location").text
            content = archive.read(location)
            assert content.count(b"\n") == content.count(b"\r\n")
            lines = list(csv.reader(io.StringIO(content.decode(), newline="")))[1:]
            link = int(
                element.find(f"{TEXT}id" if element.tag.endswith("core") else f"{TEXT}coreid").get("index")
            )
            fields = {int(f.get("index")): f.get("term") for f in element.findall(f"{TEXT}field")}
            assert {len(line) for line in lines} <= {max(fields) + 1}
            tables[element.get("rowType")] = [
                {"id": line[link]} | {term: line[i] for i, term in fields.items()} for line in lines
            ]
    return tables


def exported(path: Path, **options: object) -> dict[str, Rows]:
    call_command("export_dwca", str(path), verbosity=0, organization="Alder County Parks", **options)
    return read_archive(path)


@pytest.fixture
def tables(county: County, tmp_path: Path) -> dict[str, Rows]:
    return exported(tmp_path / "archive.zip")


def column(rows: Rows, term: str) -> list[str]:
    return [row[f"{DWC}{term}"] for row in rows]


def test_identifiers_are_there_once(tables: dict[str, Rows]) -> None:
    for rows, term in (
        (tables[EVENT], "eventID"),
        (tables[OCCURRENCE], "occurrenceID"),
        (tables[MEASUREMENT], "measurementID"),
    ):
        found = column(rows, term)
        assert found
        assert len(found) == len(set(found))
        assert "" not in found


def test_nothing_hangs_in_the_air(tables: dict[str, Rows]) -> None:
    events = set(column(tables[EVENT], "eventID"))
    occurrences = set(column(tables[OCCURRENCE], "occurrenceID"))
    for kind in (OCCURRENCE, MEASUREMENT, SURVEY):
        assert {row["id"] for row in tables[kind]} <= events
    assert set(column(tables[EVENT], "parentEventID")) - {""} <= events
    assert set(column(tables[MEASUREMENT], "occurrenceID")) - {""} <= occurrences


def test_every_event_tells_where_when_and_how(tables: dict[str, Rows]) -> None:
    for row in tables[EVENT]:
        for term in ("eventID", "eventType", "eventDate", "samplingProtocol", "countryCode", "locationID"):
            assert row[f"{DWC}{term}"], term
        assert row["http://purl.org/dc/terms/license"].startswith("https://creativecommons.org/")
        place = [row[f"{DWC}{t}"] for t in ("decimalLatitude", "decimalLongitude", "geodeticDatum")]
        assert all(place) or (not any(place) and row[f"{DWC}locationRemarks"])
        size = [row[f"{DWC}sampleSizeValue"], row[f"{DWC}sampleSizeUnit"]]
        assert all(size) or (not any(size) and row[f"{DWC}eventRemarks"])
        assert row[f"{DWC}coordinateUncertaintyInMeters"] != "0"


def test_visits_are_parents_of_their_passes(county: County, tables: dict[str, Rows]) -> None:
    kinds = Counter(column(tables[EVENT], "eventType"))
    assert kinds == {"Visit": 3, "Pass": 5, "Watershed record": 1}
    visits = {r["id"] for r in tables[EVENT] if r[f"{DWC}eventType"] == "Visit"}
    passes = [r for r in tables[EVENT] if r[f"{DWC}eventType"] == "Pass"]
    assert {r[f"{DWC}parentEventID"] for r in passes} == visits
    effort = next(r for r in passes if r[f"{DWC}locationID"] == "WR-1" and r[f"{DWC}fieldNumber"] == "2")
    assert effort[f"{DWC}samplingEffort"] == "1200 s current on"


def test_counts_are_those_of_the_database(county: County, tables: dict[str, Rows]) -> None:
    events = {r["id"]: r for r in tables[EVENT]}
    seen = Counter()
    for row in tables[OCCURRENCE]:
        event = events[row["id"]]
        if event[f"{DWC}eventType"] != "Pass":
            continue
        assert row[f"{DWC}individualCount"] == row[f"{DWC}organismQuantity"]
        assert row[f"{DWC}organismQuantityType"] == "individuals"
        key = (event[f"{DWC}locationID"], event[f"{DWC}eventDate"], row[f"{DWC}scientificName"])
        seen[key] += int(row[f"{DWC}individualCount"])
    stored = Counter()
    for one in Catch.objects.filter(removal_pass__visit__status="accepted", taxon__sensitive_location=False):
        visit = one.removal_pass.visit
        stored[(visit.station.code, visit.visit_date.isoformat(), one.taxon.scientific_name)] += one.count
    assert seen == stored


def test_numbers_have_units_and_parse(tables: dict[str, Rows]) -> None:
    kinds = set()
    for row in tables[MEASUREMENT]:
        kinds.add(row[f"{DWC}measurementType"])
        if row[f"{DWC}measurementUnit"]:
            float(row[f"{DWC}measurementValue"])
        else:
            assert row[f"{DWC}measurementType"] == "reach closed by nets"
    assert {"pH", "water temperature", "mean wetted width", "current-on time"} <= kinds
    temperature = next(r for r in tables[MEASUREMENT] if r[f"{DWC}measurementType"] == "water temperature")
    assert temperature[f"{DWC}measurementValue"] == "0.0"


def test_the_place_of_a_sensitive_taxon_is_nowhere(county: County, tables: dict[str, Rows]) -> None:
    rows = [r for r in tables[OCCURRENCE] if r[f"{DWC}scientificName"] == SENSITIVE]
    assert len(rows) == 1
    assert rows[0][f"{DWC}individualCount"] == ""
    event = next(r for r in tables[EVENT] if r["id"] == rows[0]["id"])
    assert event[f"{DWC}eventType"] == "Watershed record"
    assert event[f"{DWC}eventDate"] == "2023-07-04/2023-07-05"
    assert event[f"{DWC}decimalLatitude"] == ""
    assert event[f"{DWC}dataGeneralizations"]
    assert event[f"{DWC}informationWithheld"]
    assert not any("WR-1" in value for value in [*event.values(), *rows[0].values()])


def test_what_is_left_out_does_not_point_to_a_station(county: County, tables: dict[str, Rows]) -> None:
    """Both stations of the watershed look alike: one statement, no weights of whole passes at either."""
    for station in ("WR-1", "WR-2"):
        rows = [r for r in tables[EVENT] if r[f"{DWC}locationID"] == station]
        assert all("watershed as a whole" in r[f"{DWC}informationWithheld"] for r in rows)
    assert "weight of all fish of the pass" not in column(tables[MEASUREMENT], "measurementType")
    other = [r for r in tables[EVENT] if r[f"{DWC}locationID"] == "AR-1"]
    assert {r[f"{DWC}informationWithheld"] for r in other} == {""}


def test_a_watershed_of_one_station_does_not_name_it(db: None, tmp_path: Path) -> None:
    from tests.factories import make_taxon

    make_taxon(SENSITIVE, sensitive_location=True)
    make_visit(make_station("WR-1"), passes=[{SENSITIVE: 2, "Creek Chub": 1}])
    path = tmp_path / "archive.zip"
    tables = exported(path)
    assert SENSITIVE not in column(tables[OCCURRENCE], "scientificName")
    with zipfile.ZipFile(path) as archive:
        assert not any(SENSITIVE.encode() in archive.read(name) for name in archive.namelist())


def test_crew_notes_and_drafts_stay_inside(county: County, tables: dict[str, Rows], tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "archive.zip") as archive:
        content = b"".join(archive.read(name) for name in archive.namelist())
    for secret in (b"Robin Example", b"Gate code", b"2024-07-06", b"Lepomis macrochirus"):
        assert secret not in content


def test_identifiers_stay_the_same_when_records_are_loaded_anew(county: County, tmp_path: Path) -> None:
    before = exported(tmp_path / "before.zip")
    Visit.objects.filter(station=county.open).delete()
    make_visit(county.open, "2023-07-06", passes=[{"Creek Chub": 7, "Mottled Sculpin": 2}], mean_width_m=2)
    after = exported(tmp_path / "after.zip")
    assert column(after[EVENT], "eventID") == column(before[EVENT], "eventID")
    assert sorted(column(after[OCCURRENCE], "occurrenceID")) == sorted(
        column(before[OCCURRENCE], "occurrenceID")
    )


@pytest.mark.parametrize(
    ("option", "words"), [("present", ("present", "absent")), ("detected", ("detected", "notDetected"))]
)
def test_absence_is_told_for_targets_alone(
    county: County, tmp_path: Path, option: str, words: tuple[str, str]
) -> None:
    targets = tmp_path / "targets.txt"
    targets.write_text("Semotilus atromaculatus\nCottus bairdii\n")
    path = tmp_path / "archive.zip"
    tables = exported(path, occurrence_status=option, targets=targets)
    events = {r["id"]: r for r in tables[EVENT]}
    absent = set()
    for row in tables[OCCURRENCE]:
        status = row[f"{DWC}occurrenceStatus"]
        assert status in words
        assert (row[f"{DWC}individualCount"] == "0") == (status == words[1])
        if status == words[1]:
            event = events[row["id"]]
            assert event[f"{DWC}eventType"] == "Visit"
            absent.add((event[f"{DWC}locationID"], row[f"{DWC}scientificName"]))
    assert absent == {("WR-1", "Cottus bairdii"), ("WR-2", "Semotilus atromaculatus")}
    assert {r[f"{ECO}isAbsenceReported"] for r in tables[SURVEY]} == {"true"}
    with zipfile.ZipFile(path) as archive:
        assert f"{words[0]} and {words[1]}" in archive.read("eml.xml").decode()


def test_without_targets_no_absence_is_claimed(tables: dict[str, Rows]) -> None:
    assert set(column(tables[OCCURRENCE], "occurrenceStatus")) == {"present"}
    assert {r[f"{ECO}isAbsenceReported"] for r in tables[SURVEY]} == {"false"}


def test_the_survey_facts_of_each_visit_are_told_once(county: County, tables: dict[str, Rows]) -> None:
    visits = [r["id"] for r in tables[EVENT] if r[f"{DWC}eventType"] == "Visit"]
    assert sorted(r["id"] for r in tables[SURVEY]) == sorted(visits)
    events = {r["id"]: r for r in tables[EVENT]}
    by_station = {events[r["id"]][f"{DWC}locationID"]: r for r in tables[SURVEY]}
    assert by_station["WR-1"][f"{ECO}samplingEffortValue"] == "1800"
    assert by_station["WR-1"][f"{ECO}totalAreaSampledValue"] == "300.0"
    assert by_station["WR-1"][f"{ECO}isTaxonomicScopeFullyReported"] == "false"
    assert by_station["AR-1"][f"{ECO}isTaxonomicScopeFullyReported"] == "true"
    assert by_station["AR-1"][f"{ECO}isSamplingEffortReported"] == "false"


def test_the_metadata_has_what_eml_asks_for(county: County, tables: dict[str, Rows], tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "archive.zip") as archive:
        root = ET.fromstring(archive.read("eml.xml"))
    assert root.tag == "{https://eml.ecoinformatics.org/eml-2.2.0}eml"
    assert root.get("packageId")
    assert root.get("system")
    for path in (
        "title", "creator/organizationName", "pubDate", "language", "abstract/para", "keywordSet/keyword",
        "intellectualRights/para", "licensed/licenseName", "contact/organizationName",
        "coverage/geographicCoverage/boundingCoordinates/westBoundingCoordinate",
        "coverage/temporalCoverage/rangeOfDates/beginDate/calendarDate",
        "coverage/taxonomicCoverage/taxonomicClassification/taxonRankValue",
        "methods/methodStep/description/para", "methods/sampling/samplingDescription/para",
    ):  # fmt: skip
        assert root.find(f"dataset/{path}").text, path
    # The order of the elements is part of the schema (eml-resource.xsd and eml-dataset.xsd, from memory).
    order = [
        "alternateIdentifier", "title", "creator", "metadataProvider", "pubDate", "language", "abstract",
        "keywordSet", "additionalInfo", "intellectualRights", "licensed", "coverage", "contact", "methods",
    ]  # fmt: skip
    assert [child.tag for child in root.find("dataset")] == order
    box = root.find("dataset/coverage/geographicCoverage/boundingCoordinates")
    assert [float(side.text) for side in box] == [-77.5, -77.4321, 39.2, 39.1234]


def test_odd_options_are_refused(county: County, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"ends in .zip"):
        call_command("export_dwca", str(tmp_path / "archive.tar"))
    targets = tmp_path / "targets.txt"
    for name, said in ((SENSITIVE, "withheld"), ("Piscis nullus", "Not in the taxon list")):
        targets.write_text(f"{name}\n")
        with pytest.raises(CommandError, match=said):
            call_command("export_dwca", str(tmp_path / "archive.zip"), targets=targets)
    assert not (tmp_path / "archive.zip").exists()


def test_a_file_that_is_no_list_of_targets_is_answered_in_one_short_line(
    county: County, tmp_path: Path
) -> None:
    """A report given by mistake is not printed back: five names, each cut, and how many more."""
    targets = tmp_path / "report.txt"
    targets.write_text("".join(f"Line {n} of a report, {'long ' * 100}\n" for n in range(30)))
    with pytest.raises(CommandError) as refused:
        call_command("export_dwca", str(tmp_path / "archive.zip"), targets=targets)
    said = str(refused.value)
    assert "and 25 more lines" in said and "Write one scientific name a line." in said
    assert "\n" not in said and len(said) < 450


def test_what_the_field_record_holds_is_told_in_its_terms(county: County, tmp_path: Path) -> None:
    """Netters, habitat, doubt and young fish; people are not named and what a crew wrote stays inside."""
    visit = county.visit
    visit.weather, visit.identifier = "Overcast, no rain for two days", "RX"
    visit.save()
    visit.passes.update(netters=2)
    chub = Catch.objects.get(
        removal_pass__visit=visit, removal_pass__pass_number=2, taxon__common_name="Creek Chub"
    )
    Catch.objects.filter(pk=chub.pk).update(unsure=True, young_of_year=chub.count)
    tables = exported(tmp_path / "archive.zip")
    events = {r["id"]: r for r in tables[EVENT]}
    own = [r for r in tables[EVENT] if r[f"{DWC}locationID"] == "WR-1"]
    assert {r[f"{DWC}samplingEffort"] for r in own} == {
        "2 passes; 1800 s current on; 2 netters",
        "600 s current on; 2 netters",
        "1200 s current on; 2 netters",
    }
    assert {r[f"{DWC}habitat"] for r in own} == {"Stream reach; mean wetted width 4 m"}
    doubtful = [r for r in tables[OCCURRENCE] if r[f"{DWC}identificationQualifier"]]
    assert [(r[f"{DWC}scientificName"], r[f"{DWC}lifeStage"]) for r in doubtful] == [
        ("Semotilus atromaculatus", "young of the year")
    ]
    named = {r[f"{DWC}identifiedBy"] for r in tables[OCCURRENCE] if events[r["id"]] in own}
    assert named == {"name withheld"}
    with zipfile.ZipFile(tmp_path / "archive.zip") as archive:
        content = b"".join(archive.read(name) for name in archive.namelist())
    assert b"RX" not in content and b"Overcast" not in content


def test_a_preserved_fish_with_a_number_is_a_specimen_without_a_count(county: County, tmp_path: Path) -> None:
    """It is one of the fish counted; and a fish whose places are withheld is no specimen by any name."""
    chub, sculpin = (Taxon.objects.get(common_name=name) for name in ("Creek Chub", "Mottled Sculpin"))
    keep = {"visit": county.visit, "kind": "preserved"}
    Voucher.objects.create(
        **keep, number="V-1", taxon=chub, confirmed_as=sculpin, confirmed_by="RX", confirmed_on="2023-09-01"
    )
    Voucher.objects.create(**keep, number="", taxon=chub)
    Voucher.objects.create(visit=county.visit, kind="photograph", number="V-2", taxon=chub)
    Voucher.objects.create(**keep, number="V-3", taxon=county.darter)
    Voucher.objects.create(**keep, number="V-4", taxon=chub, confirmed_as=county.darter, confirmed_by="RX")
    tables = exported(tmp_path / "archive.zip")
    (row,) = [r for r in tables[OCCURRENCE] if r[f"{DWC}basisOfRecord"] == "PreservedSpecimen"]
    assert row[f"{DWC}catalogNumber"] == "V-1"
    assert row[f"{DWC}scientificName"] == sculpin.scientific_name
    assert row[f"{DWC}individualCount"] == ""
    assert row[f"{DWC}dateIdentified"] == "2023-09-01"
    assert chub.scientific_name in row[f"{DWC}occurrenceRemarks"]
    events = {r["id"]: r[f"{DWC}locationID"] for r in tables[EVENT]}
    told = {events[r["id"]]: r[f"{ECO}hasVouchers"] for r in tables[SURVEY]}
    assert told == {"WR-1": "true", "WR-2": "", "AR-1": "false"}


def test_two_jars_with_the_same_label_are_two_specimens(county: County, tmp_path: Path) -> None:
    """Nothing keeps a crew from writing one number twice; an occurrenceID stands once all the same."""
    chub = Taxon.objects.get(common_name="Creek Chub")
    for _ in range(2):
        Voucher.objects.create(visit=county.visit, kind="preserved", number="V-1", taxon=chub)
    rows = exported(tmp_path / "archive.zip")[OCCURRENCE]
    ids = column(rows, "occurrenceID")
    assert column(rows, "basisOfRecord").count("PreservedSpecimen") == 2
    assert len(ids) == len(set(ids))


def test_a_target_that_a_kept_fish_was_confirmed_as_is_not_called_absent(
    county: County, tmp_path: Path
) -> None:
    chub, sculpin = (Taxon.objects.get(common_name=name) for name in ("Creek Chub", "Mottled Sculpin"))
    Voucher.objects.create(
        visit=county.visit,
        kind="preserved",
        number="V-1",
        taxon=chub,
        confirmed_as=sculpin,
        confirmed_by="RX",
    )
    targets = tmp_path / "targets.txt"
    targets.write_text(f"{sculpin.scientific_name}\n")
    tables = exported(tmp_path / "archive.zip", targets=targets)
    place = {r["id"]: r[f"{DWC}locationID"] for r in tables[EVENT]}
    told = {
        r[f"{DWC}occurrenceStatus"]
        for r in tables[OCCURRENCE]
        if place[r["id"]] == "WR-1" and r[f"{DWC}scientificName"] == sculpin.scientific_name
    }
    assert told == {"present"}


def test_what_is_on_record_of_places_names_and_protocols_is_told(county: County, tmp_path: Path) -> None:
    """Empty where it is not known; how well a position is known is never zero and never without a position."""
    Station.objects.filter(pk=county.guarded.pk).update(position_uncertainty_m=12.5)
    Station.objects.filter(pk=county.open.pk).update(position_uncertainty_m=30)  # it has no position
    Taxon.objects.filter(common_name="Creek Chub").update(authorship="(Quillon, 1801)")
    SamplingMethod.objects.update(reference="County field manual, section 4")
    tables = exported(tmp_path / "archive.zip")
    places = {}
    for row in tables[EVENT]:
        places.setdefault(row[f"{DWC}locationID"], set()).add(row[f"{DWC}coordinateUncertaintyInMeters"])
    assert places == {"WR-1": {"12.5"}, "WR-2": {""}, "AR-1": {""}, "watershed:willow-run": {""}}
    authors = {r[f"{DWC}scientificName"]: r[f"{DWC}scientificNameAuthorship"] for r in tables[OCCURRENCE]}
    assert authors.pop("Semotilus atromaculatus") == "(Quillon, 1801)"
    assert set(authors.values()) == {""}
    assert {r[f"{ECO}protocolReferences"] for r in tables[SURVEY]} == {"County field manual, section 4"}


def test_droughts_and_floods_of_the_day_are_told_from_public_notes_alone(
    county: County, tmp_path: Path
) -> None:
    """Of the watershed or the very station, a rough date being taken for all of its time."""
    here = {"watershed": county.open.watershed, "category": "drought", "starts_on": "2023-07-06"}
    for fields in (
        {"title": "Dry | summer", "starts_on": "2023-01-15", "date_precision": "year"},
        {
            "title": "Storm of the week",
            "category": "flood",
            "starts_on": "2023-07-02",
            "ends_on": "2023-07-08",
        },
        {"title": "Riffle dry", "station": county.open},
        {"title": "Day before", "starts_on": "2023-07-05"},
        {"title": "Month after", "starts_on": "2023-08-01", "date_precision": "month"},
        {"title": "Kept inside", "public": False},
        {"title": "Taken back", "withdrawn_at": timezone.now()},
        {"title": "Sewer broke", "category": "pipe"},
    ):
        LandUseNote.objects.create(**{**here, **fields})
    LandUseNote.objects.create(
        **{**here, "watershed": county.guarded.watershed, "starts_on": "2023-07-04"},
        station=county.guarded,
        title="Pool dry",
    )
    tables = exported(tmp_path / "archive.zip")
    place = {r["id"]: r[f"{DWC}locationID"] for r in tables[EVENT]}
    assert {place[r["id"]]: r[f"{ECO}reportedExtremeConditions"] for r in tables[SURVEY]} == {
        "AR-1": "drought: Dry / summer | flood: Storm of the week | drought: Riffle dry",
        "WR-1": "drought: Pool dry",
        "WR-2": "",
    }


# Names of the Humboldt extension's terms that a survey of one visit can fill, as they stand in the list of terms
# (definition of 2025-07-10, seen), and of the Darwin Core terms in use (release of 2026-05-26, seen).
HUMBOLDT = {
    "siteCount", "totalAreaSampledValue", "totalAreaSampledUnit", "reportedWeather", "reportedExtremeConditions",
    "targetHabitatScope", "eventDurationValue", "eventDurationUnit", "targetTaxonomicScope",
    "excludedTaxonomicScope", "isTaxonomicScopeFullyReported", "isAbsenceReported", "absentTaxa",
    "protocolNames", "protocolDescriptions", "protocolReferences", "isAbundanceReported", "hasVouchers",
    "voucherInstitutions", "samplingPerformedBy", "isSamplingEffortReported", "samplingEffortProtocol",
    "samplingEffortValue", "samplingEffortUnit",
}  # fmt: skip
OF_EVENTS = {
    "eventID", "parentEventID", "eventType", "fieldNumber", "eventDate", "year", "samplingProtocol",
    "sampleSizeValue", "sampleSizeUnit", "samplingEffort", "locationID", "locality", "waterBody", "habitat",
    "county", "stateProvince", "countryCode", "decimalLatitude", "decimalLongitude", "geodeticDatum",
    "coordinateUncertaintyInMeters", "locationRemarks", "eventRemarks", "institutionCode", "datasetName",
    "informationWithheld", "dataGeneralizations",
}  # fmt: skip
OF_OCCURRENCES = {
    "occurrenceID", "basisOfRecord", "catalogNumber", "scientificName", "scientificNameAuthorship", "taxonRank",
    "kingdom", "family", "vernacularName", "taxonID", "individualCount", "organismQuantity",
    "organismQuantityType", "occurrenceStatus", "lifeStage", "establishmentMeans", "degreeOfEstablishment",
    "informationWithheld", "occurrenceRemarks", "identifiedBy", "dateIdentified", "identificationQualifier",
    "identificationRemarks",
}  # fmt: skip


def test_every_term_is_a_published_one(tables: dict[str, Rows]) -> None:
    elsewhere = {"id", "http://purl.org/dc/terms/license"}
    for kind, space, names in (
        (EVENT, DWC, OF_EVENTS),
        (OCCURRENCE, DWC, OF_OCCURRENCES),
        (SURVEY, ECO, HUMBOLDT),
    ):
        assert set(tables[kind][0]) - elsewhere <= {f"{space}{name}" for name in names}


def test_measurements_have_every_column_of_the_extension(tables: dict[str, Rows]) -> None:
    """Extended measurement or fact, definition of 2023-08-28: three of its terms are that extension's own."""
    obis = "http://rs.iobis.org/obis/terms/"
    shared = (
        "ID",
        "Type",
        "Value",
        "Accuracy",
        "Unit",
        "DeterminedDate",
        "DeterminedBy",
        "Method",
        "Remarks",
    )
    expected = {f"{DWC}measurement{name}" for name in shared} | {f"{DWC}occurrenceID"}
    expected |= {f"{obis}measurement{name}" for name in ("TypeID", "ValueID", "UnitID")}
    assert set(tables[MEASUREMENT][0]) - {"id"} == expected
    # Nothing on record says how exactly a reading was taken, and values are numbers or plain words.
    assert {r[f"{DWC}measurementAccuracy"] for r in tables[MEASUREMENT]} == {""}


def test_units_are_named_by_their_published_addresses(tables: dict[str, Rows]) -> None:
    """Units in the spelling of UDUNITS, as the CF conventions ask, beside counts, NTU and points, which are none."""
    obis = "http://rs.iobis.org/obis/terms/"
    udunits = {"degree_Celsius", "uS cm-1", "mg L-1", "m3 s-1", "g", "m", "s", "1"}
    for row in tables[MEASUREMENT]:
        unit, address = row[f"{DWC}measurementUnit"], row[f"{obis}measurementUnitID"]
        assert row[f"{DWC}measurementDeterminedDate"]
        assert row[f"{DWC}measurementDeterminedBy"] == "Alder County Parks"
        if unit in ("", "points"):
            assert address == ""
            continue
        assert address.startswith(("http://vocab.nerc.ac.uk/collection/P06/", "http://qudt.org/vocab/unit/"))
        assert unit in udunits | {"individuals", "NTU"}
    (temperature, *_) = [r for r in tables[MEASUREMENT] if r[f"{DWC}measurementType"] == "water temperature"]
    assert (
        temperature[f"{obis}measurementTypeID"] == "http://vocab.nerc.ac.uk/collection/P01/current/TEMPPR01/"
    )
    assert {r[f"{ECO}totalAreaSampledUnit"] for r in tables[SURVEY]} <= {"m2", ""}
