"""The dataset described in Ecological Metadata Language 2.2.0."""

import datetime
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

from surveys.models import VisitStatus
from trends.exports.publishers import LICENSE, LICENSE_NAME, Publisher
from trends.method_standing import standing_sentence
from trends.models import VisitResult

NAMESPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
WARNING = (
    "Electrofishing is dangerous and is done by trained crews under permit. These data describe results; "
    "they are no instruction."
)


@dataclass(slots=True)
class Coverage:
    """Extent of the records in time, space and names, gathered while the tables are written."""

    first: str = ""
    last: str = ""
    west: float | None = None
    east: float | None = None
    south: float | None = None
    north: float | None = None
    taxa: dict[str, tuple[str, str]] = field(default_factory=dict)

    def add_date(self, event_date: str) -> None:
        first, _, last = event_date.partition("/")
        self.first = min(self.first or first, first)
        self.last = max(self.last, last or first)

    def add_place(self, latitude: float, longitude: float) -> None:
        self.west = longitude if self.west is None else min(self.west, longitude)
        self.east = longitude if self.east is None else max(self.east, longitude)
        self.south = latitude if self.south is None else min(self.south, latitude)
        self.north = latitude if self.north is None else max(self.north, latitude)


def _add(parent: ET.Element, tag: str, text: str = "", **attributes: str) -> ET.Element:
    element = ET.SubElement(parent, tag, attributes)
    element.text = text or None
    return element


def _paragraphs(parent: ET.Element, tag: str, *texts: str) -> ET.Element:
    element = _add(parent, tag)
    for text in texts:
        _add(element, "para", text)
    return element


def _party(parent: ET.Element, tag: str, publisher: Publisher) -> None:
    party = _add(parent, tag)
    _add(party, "organizationName", publisher.organization)
    contact = publisher.contact
    if contact and "@" in contact and " " not in contact:
        _add(party, "electronicMailAddress", contact)
    elif contact:
        _add(party, "positionName", contact)


def eml(publisher: Publisher, coverage: Coverage, *, today: datetime.date) -> bytes:
    """The document as UTF-8 XML; elements stand in the order that the schema asks for."""
    ET.register_namespace("eml", NAMESPACE)
    root = ET.Element(
        f"{{{NAMESPACE}}}eml",
        {
            "packageId": f"{publisher.identifier('dataset')}/{today.isoformat()}",
            "system": publisher.namespace,
            "{http://www.w3.org/XML/1998/namespace}lang": "en",
        },
    )
    dataset = _add(root, "dataset")
    _add(dataset, "alternateIdentifier", publisher.identifier("dataset"))
    _add(dataset, "title", publisher.title)
    _party(dataset, "creator", publisher)
    _party(dataset, "metadataProvider", publisher)
    _add(dataset, "pubDate", today.isoformat())
    _add(dataset, "language", "en")
    _paragraphs(
        dataset,
        "abstract",
        "Fish caught by electrofishing at fixed stream stations that are visited year after year: visits, "
        "passes, catches by taxon, water readings and index scores. Accepted visits only.",
        WARNING,
    )
    keywords = _add(dataset, "keywordSet")
    for word in ("stream fish", "electrofishing", "removal sampling", "monitoring", "samplingEvent"):
        _add(keywords, "keyword", word)
    _paragraphs(dataset, "additionalInfo", *_statements(publisher))
    _paragraphs(
        dataset, "intellectualRights", f"These data are published under {LICENSE_NAME}: name the source."
    )
    licensed = _add(dataset, "licensed")
    _add(licensed, "licenseName", LICENSE_NAME)
    _add(licensed, "url", LICENSE)
    _add(licensed, "identifier", "CC-BY-4.0")
    _coverage(dataset, publisher, coverage)
    _party(dataset, "contact", publisher)
    _methods(dataset)
    ET.indent(root)
    return ET.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"


def _statements(publisher: Publisher) -> list[str]:
    """What a user must know of words and of what is held back."""
    targets = ", ".join(t.scientific_name for t in publisher.targets)
    absence = (
        f"Rows with {publisher.not_detected_word} are given for each visit, for these taxa alone: {targets}."
        if targets
        else "No rows are given for taxa that were not caught."
    )
    return [
        f"Words of occurrenceStatus: {publisher.detected_word} and {publisher.not_detected_word}. {absence}",
        "Where exactly some species live is withheld. Their records stand at an event for the whole "
        "watershed, without counts; in watersheds with too few stations to hide behind they are left out. "
        "No coordinates are moved or blurred: those given are the stations' own. In such a watershed index scores are "
        "made of the fish whose records stand at the visit.",
        "People are not named: identifiedBy says that a name is on record and withheld. What a crew wrote in its own "
        "words, the weather included, is not published. A preserved fish with a number has a "
        "row of its own, without a count, for it is one of the fish counted at its visit.",
        "Empty is not known: coordinateUncertaintyInMeters says how far the true place may lie from the position, "
        "where that is on record; scientificNameAuthorship and protocolReferences stand where they were written "
        "down. reportedExtremeConditions is made of the public notes on droughts and floods of the watershed or "
        "the station whose time may cover the day of the visit, a date known to the month, year or decade being "
        "taken for all of it; where it is empty there is no such note, which does not say that nothing happened. "
        "measurementValueID and measurementAccuracy are empty: values are numbers or plain words, and how exactly a "
        "reading was taken is not on record.",
        "Identifiers are made from station code, date, pass and taxon, and stay the same in later exports.",
        *_index_standings(),
    ]


def _index_standings() -> list[str]:
    """How far the cut points of each index method whose scores are given may be trusted."""
    scored = (
        VisitResult.objects.filter(visit__status=VisitStatus.ACCEPTED)
        .exclude(listed_score=None)
        .order_by("index_method", "index_version")
        .values_list("index_method", "index_version")
        .distinct()
    )
    said = [(code, version, standing_sentence(code, version)) for code, version in scored]
    return [f"Index {code}, version {version}: {words}" for code, version, words in said if words]


def _coverage(dataset: ET.Element, publisher: Publisher, found: Coverage) -> None:
    if not found.first:
        return
    coverage = _add(dataset, "coverage")
    if found.west is not None:
        place = _add(coverage, "geographicCoverage")
        words = ", ".join(filter(None, [publisher.county, publisher.state, publisher.country]))
        _add(place, "geographicDescription", f"Stream stations, {words}")
        box = _add(place, "boundingCoordinates")
        _add(box, "westBoundingCoordinate", repr(found.west))
        _add(box, "eastBoundingCoordinate", repr(found.east))
        _add(box, "northBoundingCoordinate", repr(found.north))
        _add(box, "southBoundingCoordinate", repr(found.south))
    dates = _add(_add(coverage, "temporalCoverage"), "rangeOfDates")
    _add(_add(dates, "beginDate"), "calendarDate", found.first)
    _add(_add(dates, "endDate"), "calendarDate", found.last)
    if found.taxa:
        taxa = _add(coverage, "taxonomicCoverage")
        for name, (rank, common) in sorted(found.taxa.items()):
            one = _add(taxa, "taxonomicClassification")
            _add(one, "taxonRankName", rank or "taxon")
            _add(one, "taxonRankValue", name)
            if common:
                _add(one, "commonName", common)


def _methods(dataset: ET.Element) -> None:
    methods = _add(dataset, "methods")
    step = _add(methods, "methodStep")
    _paragraphs(
        step,
        "description",
        "A reach is fished upstream by electrofishing in one or more passes; fish of each pass are counted "
        "by taxon and put back. samplingProtocol names the method of each visit, sampleSizeValue the reach.",
    )
    step = _add(methods, "methodStep")
    _paragraphs(
        step,
        "description",
        "Each visit is checked by rules when it is entered and accepted by a second person before it counts.",
    )
    sampling = _add(methods, "sampling")
    extent = _add(sampling, "studyExtent")
    _paragraphs(extent, "description", "Fixed stations on streams, visited in the season of the method.")
    _paragraphs(
        sampling, "samplingDescription", "The same reach on each visit; passes are events below the visit."
    )
