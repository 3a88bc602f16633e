"""The Darwin Core archive read back by an independent reader, beside our own checks of what it leaves out.

Reader: the library python-dwca-reader. It reads what meta.xml says and validates nothing, so identifiers,
orphans and required terms are checked in test_darwin_core.py.
"""

import zipfile
from collections import Counter
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from django.core.management import call_command
from dwca.read import DwCAReader

from surveys.models import Catch, RemovalPass, SamplingMethod, Station, Taxon, Visit
from tests.trends.exports.conftest import County

pytestmark = pytest.mark.django_db
DWC = "http://rs.tdwg.org/dwc/terms/"
ECO = "http://rs.tdwg.org/eco/terms/"
TEXT = "{http://rs.tdwg.org/dwc/text/}"


@pytest.fixture
def archive(county: County, tmp_path: Path) -> Path:
    path = tmp_path / "archive.zip"
    call_command("export_dwca", str(path), verbosity=0, organization="Alder County Parks")
    return path


def test_the_reader_finds_every_event_and_what_hangs_on_it(county: County, archive: Path) -> None:
    with DwCAReader(str(archive)) as reader:
        assert reader.descriptor.core.type == f"{DWC}Event"
        kinds: Counter[str] = Counter()
        fish: Counter[tuple[str, str, str]] = Counter()
        for row in reader:
            kinds[row.data[f"{DWC}eventType"]] += 1
            for one in row.extensions:
                if one.rowtype == f"{DWC}Occurrence" and row.data[f"{DWC}eventType"] == "Pass":
                    key = (row.data[f"{DWC}locationID"], row.data[f"{DWC}eventDate"])
                    fish[(*key, one.data[f"{DWC}scientificName"])] += int(one.data[f"{DWC}individualCount"])
    accepted = Visit.objects.accepted()
    assert kinds["Visit"] == accepted.count()
    assert kinds["Pass"] == RemovalPass.objects.filter(visit__in=accepted).count()
    stored: Counter[tuple[str, str, str]] = Counter()
    for one in Catch.objects.filter(removal_pass__visit__in=accepted, taxon__sensitive_location=False):
        visit = one.removal_pass.visit
        stored[visit.station.code, visit.visit_date.isoformat(), one.taxon.scientific_name] += one.count
    assert fish == stored


def test_the_reader_finds_what_was_put_on_record(county: County, tmp_path: Path) -> None:
    Station.objects.filter(pk=county.guarded.pk).update(position_uncertainty_m=12.5)
    Taxon.objects.filter(common_name="Creek Chub").update(authorship="(Quillon, 1801)")
    SamplingMethod.objects.update(reference="County field manual, section 4")
    path = tmp_path / "archive.zip"
    call_command("export_dwca", str(path), verbosity=0, organization="Alder County Parks")
    far, authors, protocols = set(), set(), set()
    with DwCAReader(str(path)) as reader:
        for row in reader:
            if row.data[f"{DWC}locationID"] == "WR-1":
                far.add(row.data[f"{DWC}coordinateUncertaintyInMeters"])
            for one in row.extensions:
                if one.data.get(f"{DWC}scientificName") == "Semotilus atromaculatus":
                    authors.add(one.data[f"{DWC}scientificNameAuthorship"])
                if one.rowtype == f"{ECO}Event":
                    protocols.add(one.data[f"{ECO}protocolReferences"])
    assert (far, authors) == ({"12.5"}, {"(Quillon, 1801)"})
    assert protocols == {"County field manual, section 4"}


def test_the_reader_finds_four_tables_and_the_metadata(archive: Path) -> None:
    with DwCAReader(str(archive)) as reader:
        assert sorted(reader.descriptor.extensions_type) == sorted(
            [
                f"{DWC}Occurrence",
                "http://rs.iobis.org/obis/terms/ExtendedMeasurementOrFact",
                "http://rs.tdwg.org/eco/terms/Event",
            ]
        )
        metadata: Any = reader.metadata
        assert metadata.tag == "{https://eml.ecoinformatics.org/eml-2.2.0}eml"


def test_the_description_has_the_structure_of_the_text_guide(archive: Path) -> None:
    """By hand from the Darwin Core text guide (2023-09-13); its schema file is not at hand offline."""
    with zipfile.ZipFile(archive) as zipped:
        meta = ET.fromstring(zipped.read("meta.xml"))
        names = set(zipped.namelist())
        headings = {
            n: zipped.read(n).decode().split("\r\n")[0].split(",") for n in names if n.endswith(".csv")
        }
    assert [one.tag for one in meta] == [f"{TEXT}core"] + [f"{TEXT}extension"] * 3
    for table in meta:
        children = [one.tag.removeprefix(TEXT) for one in table]
        link = "id" if table.tag.endswith("core") else "coreid"
        assert children[:2] == ["files", link] and set(children[2:]) == {"field"}
        location = table.find(f"{TEXT}files/{TEXT}location")
        assert location is not None and location.text in names
        columns = headings[location.text]
        indexes = [int(f.attrib["index"]) for f in table.findall(f"{TEXT}field")]
        terms = [f.attrib["term"] for f in table.findall(f"{TEXT}field")]
        assert len(set(indexes)) == len(indexes) and len(set(terms)) == len(terms)
        assert [t.rsplit("/", 1)[-1] for t in terms] == [columns[i] for i in indexes]


def test_the_metadata_has_every_required_part(archive: Path) -> None:
    """By hand from EML 2.2.0: packageId and system, then title, creator and contact of the dataset."""
    with zipfile.ZipFile(archive) as zipped:
        eml = ET.fromstring(zipped.read("eml.xml"))
    assert eml.attrib["packageId"] and eml.attrib["system"]
    dataset = eml.find("dataset")
    assert dataset is not None
    order = [one.tag for one in dataset]
    for tag in ("title", "creator", "contact"):
        assert order.count(tag) >= 1, tag
        assert "".join(dataset.find(tag).itertext()).strip()  # type: ignore[union-attr]
    known = [
        "alternateIdentifier", "title", "creator", "metadataProvider", "pubDate", "language", "abstract", "keywordSet",
        "additionalInfo", "intellectualRights", "licensed", "coverage", "contact", "methods",
    ]  # fmt: skip
    assert set(order) <= set(known)
    assert [known.index(tag) for tag in order] == sorted(known.index(tag) for tag in order)
