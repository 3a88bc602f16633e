"""A Darwin Core archive as a zip file: tables, their description (meta.xml), EML and a read-me."""

import csv
import datetime
import re
import tempfile
import zipfile
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

from trends.exports.darwin_core import Row, watershed_tables
from trends.exports.eml import WARNING, Coverage, eml
from trends.exports.publishers import LICENSE_NAME, Publisher
from trends.exports.tables import cell
from trends.exports.zips import add

DWC = "http://rs.tdwg.org/dwc/terms/"
DCTERMS = "http://purl.org/dc/terms/"
ECO = "http://rs.tdwg.org/eco/terms/"
OBIS = "http://rs.iobis.org/obis/terms/"
TEXT = "http://rs.tdwg.org/dwc/text/"
# Terms that do not live in the vocabulary of their table.
ELSEWHERE = {
    "license": f"{DCTERMS}license",
    "measurementTypeID": f"{OBIS}measurementTypeID",
    "measurementUnitID": f"{OBIS}measurementUnitID",
    "measurementValueID": f"{OBIS}measurementValueID",
}
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableFile:
    """One table of the archive. The first column is the identifier of the event."""

    name: str
    row_type: str
    terms: str
    columns: tuple[str, ...]

    def term(self, column: str) -> str:
        return ELSEWHERE.get(column, f"{self.terms}{column}")


EVENTS = TableFile(
    name="event.csv",
    row_type=f"{DWC}Event",
    terms=DWC,
    columns=(
        "eventID",
        "parentEventID",
        "eventType",
        "fieldNumber",
        "eventDate",
        "year",
        "samplingProtocol",
        "sampleSizeValue",
        "sampleSizeUnit",
        "samplingEffort",
        "locationID",
        "locality",
        "waterBody",
        "habitat",
        "county",
        "stateProvince",
        "countryCode",
        "decimalLatitude",
        "decimalLongitude",
        "geodeticDatum",
        "coordinateUncertaintyInMeters",
        "locationRemarks",
        "eventRemarks",
        "license",
        "institutionCode",
        "datasetName",
        "informationWithheld",
        "dataGeneralizations",
    ),
)
OCCURRENCES = TableFile(
    name="occurrence.csv",
    row_type=f"{DWC}Occurrence",
    terms=DWC,
    columns=(
        "eventID",
        "occurrenceID",
        "basisOfRecord",
        "catalogNumber",
        "scientificName",
        "scientificNameAuthorship",
        "taxonRank",
        "kingdom",
        "family",
        "vernacularName",
        "taxonID",
        "individualCount",
        "organismQuantity",
        "organismQuantityType",
        "occurrenceStatus",
        "lifeStage",
        "establishmentMeans",
        "degreeOfEstablishment",
        "informationWithheld",
        "occurrenceRemarks",
        "identifiedBy",
        "dateIdentified",
        "identificationQualifier",
        "identificationRemarks",
    ),
)
MEASUREMENTS = TableFile(
    name="extendedmeasurementorfact.csv",
    row_type=f"{OBIS}ExtendedMeasurementOrFact",
    terms=DWC,
    columns=(
        "eventID",
        "measurementID",
        "occurrenceID",
        "measurementType",
        "measurementTypeID",
        "measurementValue",
        "measurementValueID",
        "measurementAccuracy",
        "measurementUnit",
        "measurementUnitID",
        "measurementDeterminedDate",
        "measurementDeterminedBy",
        "measurementMethod",
        "measurementRemarks",
    ),
)
SURVEYS = TableFile(
    name="humboldt.csv",
    row_type=f"{ECO}Event",
    terms=ECO,
    columns=(
        "eventID",
        "targetTaxonomicScope",
        "isTaxonomicScopeFullyReported",
        "isAbsenceReported",
        "isAbundanceReported",
        "protocolNames",
        "protocolDescriptions",
        "protocolReferences",
        "isSamplingEffortReported",
        "samplingEffortProtocol",
        "samplingEffortValue",
        "samplingEffortUnit",
        "totalAreaSampledValue",
        "totalAreaSampledUnit",
        "reportedExtremeConditions",
        "hasVouchers",
    ),
)
EXTENSIONS = (OCCURRENCES, MEASUREMENTS, SURVEYS)


def meta_xml() -> bytes:
    """The archive's own description, every setting written out because the defaults differ."""
    ET.register_namespace("", TEXT)
    root = ET.Element(f"{{{TEXT}}}archive", {"metadata": "eml.xml"})
    for table in (EVENTS, *EXTENSIONS):
        is_core = table is EVENTS
        element = ET.SubElement(
            root,
            f"{{{TEXT}}}{'core' if is_core else 'extension'}",
            {
                "encoding": "UTF-8",
                "fieldsTerminatedBy": ",",
                "linesTerminatedBy": "\\r\\n",
                "fieldsEnclosedBy": '"',
                "ignoreHeaderLines": "1",
                "rowType": table.row_type,
            },
        )
        files = ET.SubElement(element, f"{{{TEXT}}}files")
        ET.SubElement(files, f"{{{TEXT}}}location").text = table.name
        ET.SubElement(element, f"{{{TEXT}}}{'id' if is_core else 'coreid'}", {"index": "0"})
        for index, column in enumerate(table.columns):
            # The first column of an extension is the link to the core and no term of its own.
            if index or is_core:
                ET.SubElement(element, f"{{{TEXT}}}field", {"index": str(index), "term": table.term(column)})
    ET.indent(root)
    return ET.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"


def _readme(publisher: Publisher, counts: dict[str, int], today: datetime.date) -> str:
    lines = [
        publisher.title,
        f"Published by {publisher.organization}, {today.isoformat()}, under {LICENSE_NAME}.",
        "",
        f"Cite as: {publisher.organization} ({today.year}). {publisher.title}. Export of {today}.",
        "",
        "A Darwin Core archive: meta.xml says which column is which term, eml.xml describes the data.",
        *(f"{name}: {count} rows" for name, count in counts.items()),
        "",
        "Units: sampleSizeValue and coordinateUncertaintyInMeters in metres; samplingEffortValue in seconds; "
        "totalAreaSampledValue in square metres; measurementValue in the unit beside it. Coordinates in degrees, "
        "WGS 84.",
        "Text that a spreadsheet could run as a formula has an apostrophe in front.",
        "",
        WARNING,
    ]
    return "\r\n".join(lines) + "\r\n"


def _one_line(value: Any) -> str:
    """A value as CSV text on one line, for readers of archives that split at every line break."""
    return re.sub(r"\s+", " ", cell(value)).strip()


def write_archive(
    path: Path, publisher: Publisher, *, today: datetime.date, say: Progress = lambda text: None
) -> dict[str, int]:
    """Write the archive; the file appears under its name only when it is complete.

    Returns
    -------
    dict : rows of each table by file name
    """
    coverage = Coverage()
    tables = (EVENTS, *EXTENSIONS)
    counts = dict.fromkeys((table.name for table in tables), 0)
    part = path.with_name(f".{path.name}.part")
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        writers = {}
        for table in tables:
            file = Path(folder) / table.name
            target = stack.enter_context(file.open("w", encoding="utf-8", newline=""))
            writers[table.name] = csv.writer(target, lineterminator="\r\n")
            writers[table.name].writerow(table.columns)

        for number, made in enumerate(watershed_tables(publisher), 1):
            _cover(coverage, made.events, made.occurrences)
            contents = (made.events, made.occurrences, made.measurements, made.surveys)
            for table, rows in zip(tables, contents, strict=True):
                counts[table.name] += len(rows)
                writers[table.name].writerows(
                    [_one_line(row.get(column)) for column in table.columns] for row in rows
                )
            say(f"{number} watersheds, {counts[OCCURRENCES.name]} occurrences")
        stack.close()
        try:
            with zipfile.ZipFile(part, "w") as archive:
                add(archive, "meta.xml", meta_xml(), today)
                add(archive, "eml.xml", eml(publisher, coverage, today=today), today)
                add(archive, "README.txt", _readme(publisher, counts, today), today)
                for table in tables:
                    add(archive, table.name, Path(folder) / table.name, today)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    return counts


def _cover(coverage: Coverage, events: list[Row], occurrences: list[Row]) -> None:
    for event in events:
        coverage.add_date(event["eventDate"])
        if event.get("decimalLatitude") is not None:
            coverage.add_place(event["decimalLatitude"], event["decimalLongitude"])
    for one in occurrences:
        coverage.taxa[one["scientificName"]] = (one["taxonRank"], one["vernacularName"])
