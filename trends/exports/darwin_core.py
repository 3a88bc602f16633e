"""Visits in the words of Darwin Core: events, occurrences, measurements and survey facts.

The one place where Darwin Core names are used. A visit is an event, each of its passes an event
below it, and the fish of one taxon in one pass an occurrence. Records of sensitive taxa leave the
visit and stand at an event for the whole watershed, without counts, dates or a place in it.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from surveys.models import StopNets, Taxon, Visit, Voucher, Watershed, Waveform
from surveys.queries import CatchRecord, PassRecord, VisitRecord, visit_records
from surveys.withholding import without_sensitive
from trends.exports.darwin_core_cells import (
    CONDUCTIVITY_WORDS,
    EXTREMES,
    WATER_NAMES,
    Row,
    extreme_conditions,
    habitat,
    name_of,
    netters,
    taxon_cells,
)
from trends.exports.publishers import LICENSE, Publisher
from trends.exports.visits import WATER_UNITS
from trends.exports.vocabularies import TYPES, UNITS
from trends.method_standing import Standings
from trends.models import LandUseNote, VisitResult
from trends.public_figures import guarded_watersheds, public_vouchers, withheld_taxa

DATUM = "EPSG:4326"
TARGET_SCOPE = "Fishes and lampreys"
NAME_WITHHELD = "name withheld"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables:
    """Rows of the four tables for one watershed."""

    events: list[Row]
    occurrences: list[Row]
    measurements: list[Row]
    surveys: list[Row]


def watershed_tables(publisher: Publisher) -> Iterator[Tables]:
    """The tables of each watershed in turn, so that a state's records need not fit in memory."""
    guarded = guarded_watersheds()
    told = withheld_taxa(guarded)
    for watershed in Watershed.objects.order_by("slug"):
        visits = Visit.objects.accepted().in_watershed(watershed)
        places = {v.pk: v for v in visits.with_places()}
        if not places:
            continue
        scores = {
            r.visit_id: r
            for r in VisitResult.objects.filter(visit__in=places).exclude(listed_score=None).defer("detail")
        }
        made = Tables(events=[], occurrences=[], measurements=[], surveys=[])
        writer = _Writer(publisher, made, guarded=watershed.pk in guarded)
        records = visit_records(visits)
        vouchers = public_vouchers(places)
        writer.extremes = list(
            LandUseNote.objects.public().filter(watershed=watershed, category__in=EXTREMES)
        )
        if watershed.pk in told:
            writer.watershed(watershed, records, told[watershed.pk])
        for record in sorted(records, key=lambda r: (r.station_code, r.date)):
            score, kept = scores.get(record.visit_id), vouchers.get(record.visit_id, [])
            writer.visit(places[record.visit_id], without_sensitive(record), score, kept)
        yield made


class _Writer:
    """Adds rows to the tables of one watershed."""

    def __init__(self, publisher: Publisher, tables: Tables, *, guarded: bool) -> None:
        self.publisher = publisher
        self.tables = tables
        self.guarded = guarded
        self.standings = Standings()
        self.extremes: list[LandUseNote] = []
        self.day = ""  # of the visit whose rows are being written

    def watershed(self, watershed: Watershed, records: list[VisitRecord], taxa: Iterable[Taxon]) -> None:
        """The event for a whole watershed, with the species whose places are withheld."""
        key = self.publisher.identifier("watershed", watershed.slug)
        first, last = min(r.date for r in records), max(r.date for r in records)
        self.tables.events.append(
            self._everywhere()
            | {
                "eventID": key,
                "eventType": "Watershed record",
                "eventDate": f"{first.isoformat()}/{last.isoformat()}",
                "samplingProtocol": "; ".join(sorted({r.method_name for r in records})),
                "locationID": f"watershed:{watershed.slug}",
                "locality": f"{watershed.name}, the whole watershed",
                "waterBody": watershed.name,
                "locationRemarks": "No coordinates: the place is generalised to the watershed.",
                "eventRemarks": "All accepted visits of the watershed together.",
                "dataGeneralizations": "Place given as the watershed, time as the span of all its visits, "
                "counts left out.",
            }
        )
        for taxon in taxa:
            occurrence = self.publisher.identifier("watershed", watershed.slug, taxon.slug)
            self.tables.occurrences.append(
                taxon_cells(taxon)
                | {
                    "eventID": key,
                    "occurrenceID": occurrence,
                    "occurrenceStatus": self.publisher.detected_word,
                    "informationWithheld": "Station, date and number of fish.",
                }
            )

    def visit(
        self, visit: Visit, record: VisitRecord, score: VisitResult | None, vouchers: list[Voucher]
    ) -> None:
        key = self.publisher.identifier("visit", record.station_code, record.date)
        self.day = record.date.isoformat()
        shared = self._everywhere() | self._place(visit, record)
        efforts = [p.effort_s for p in record.passes]
        known = [e for e in efforts if e is not None]
        whole_effort = sum(known) if known and len(known) == len(efforts) else None
        effort = f"{len(efforts)} passes" if len(efforts) != 1 else "1 pass"
        if whole_effort is not None:
            effort += f"; {whole_effort} s current on"
        effort = "; ".join(filter(None, [effort, netters({p.netters for p in record.passes})]))
        self.tables.events.append(shared | {"eventID": key, "eventType": "Visit", "samplingEffort": effort})
        for one in record.passes:
            self._one_pass(key, shared, record, one, named=bool(visit.identifier))
        self._not_detected(key, record, kept={name_of(voucher).pk for voucher in vouchers})
        numbers: Counter[str] = Counter()
        for voucher in vouchers:
            self._specimen(key, visit, record, voucher, numbers[voucher.number])
            numbers[voucher.number] += 1
        self._water(key, record, score)
        self._survey(key, visit, record, whole_effort, vouchers)

    def _everywhere(self) -> Row:
        publisher = self.publisher
        return {
            "stateProvince": publisher.state,
            "county": publisher.county,
            "countryCode": publisher.country,
            "license": LICENSE,
            "institutionCode": publisher.organization,
            "datasetName": publisher.title,
            "informationWithheld": publisher.withheld_words if self.guarded else "",
        }

    def _place(self, visit: Visit, record: VisitRecord) -> Row:
        station = visit.station
        located = station.latitude is not None
        return {
            "eventDate": record.date.isoformat(),
            "year": record.date.year,
            "samplingProtocol": record.method_name,
            "sampleSizeValue": record.reach_length_m,
            "sampleSizeUnit": "metre" if record.reach_length_m is not None else "",
            "eventRemarks": ""
            if record.reach_length_m is not None
            else "The length fished was not recorded.",
            "locationID": station.code,
            "locality": station.name or station.code,
            "waterBody": station.stream,
            "habitat": habitat(visit),
            "decimalLatitude": station.latitude,
            "decimalLongitude": station.longitude,
            "geodeticDatum": DATUM if located else "",
            "coordinateUncertaintyInMeters": station.position_uncertainty_m if located else None,
            "locationRemarks": "" if located else "No coordinates: the station's position is not on record.",
        }

    def _one_pass(
        self, parent: str, shared: Row, record: VisitRecord, one: PassRecord, *, named: bool
    ) -> None:
        key = self.publisher.identifier("pass", record.station_code, record.date, one.number)
        effort = f"{one.effort_s} s current on" if one.effort_s is not None else ""
        effort = "; ".join(filter(None, [effort, netters({one.netters})]))
        self.tables.events.append(
            shared
            | {
                "eventID": key,
                "parentEventID": parent,
                "eventType": "Pass",
                "samplingEffort": effort,
                "fieldNumber": str(one.number),
            }
        )
        if one.effort_s is not None:
            self._measure(key, "", "current-on time", one.effort_s, "s", "Timer of the electrofisher")
        if one.waveform:
            form = str(Waveform(one.waveform).label)
            self._measure(key, "", "form of the electric current", form, "", "Noted in the field")
        if one.anodes is not None:
            self._measure(key, "", "number of anodes", one.anodes, "1", "Noted in the field")
        if one.biomass_g is not None and not self.guarded:
            self._measure(key, "", "weight of all fish of the pass", one.biomass_g, "g", "Weighed together")
        for catch in one.catches:
            self._catch(key, record, one, catch, named=named)

    def _catch(
        self, event: str, record: VisitRecord, one: PassRecord, catch: CatchRecord, *, named: bool
    ) -> None:
        key = self.publisher.identifier(
            "catch", record.station_code, record.date, one.number, catch.taxon.slug
        )
        self.tables.occurrences.append(
            taxon_cells(catch.taxon)
            | {
                "eventID": event,
                "occurrenceID": key,
                "individualCount": catch.count,
                "organismQuantity": catch.count,
                "organismQuantityType": "individuals",
                "occurrenceStatus": self.publisher.detected_word,
                # A mixed batch has no one stage of life; how many are young is among the measurements.
                "lifeStage": "young of the year" if 0 < catch.count == catch.young_of_year else "",
                "identifiedBy": NAME_WITHHELD if named else "",
                "identificationQualifier": "?" if catch.unsure else "",
                "occurrenceRemarks": "Number estimated, not counted." if catch.estimated else "",
                "identificationRemarks": "Named with doubt in the field." if catch.unsure else "",
            }
        )
        if catch.biomass_g is not None:
            self._measure(event, key, "weight of these fish", catch.biomass_g, "g", "Weighed together")
        if catch.young_of_year is not None:
            self._measure(
                event, key, "young of the year", catch.young_of_year, "individuals", "Counted by size"
            )
        if catch.anomalies is not None:
            kind = "fish with deformities, eroded fins, lesions or tumours"
            self._measure(event, key, kind, catch.anomalies, "individuals", "External examination")

    def _not_detected(self, event: str, record: VisitRecord, *, kept: set[int]) -> None:
        """Rows for taxa on the target list that no pass of this visit caught; none without passes.

        ``kept`` are the taxa that preserved fish of the visit were confirmed as: they were there.
        """
        if not record.passes:
            return
        caught = {c.taxon.pk for p in record.passes for c in p.catches} | kept
        for taxon in self.publisher.targets:
            if taxon.pk in caught:
                continue
            key = self.publisher.identifier("not caught", record.station_code, record.date, taxon.slug)
            self.tables.occurrences.append(
                taxon_cells(taxon)
                | {
                    "eventID": event,
                    "occurrenceID": key,
                    "individualCount": 0,
                    "organismQuantity": 0,
                    "organismQuantityType": "individuals",
                    "occurrenceStatus": self.publisher.not_detected_word,
                }
            )

    def _specimen(self, event: str, visit: Visit, record: VisitRecord, voucher: Voucher, before: int) -> None:
        """A preserved fish with a number: one of those counted, so it has no count of its own.

        ``before`` is how many of the visit have the same number before it: two jars may be labelled alike.
        """
        label = (voucher.number, before) if before else (voucher.number,)
        key = self.publisher.identifier("voucher", record.station_code, record.date, *label)
        taxon = name_of(voucher)
        by = voucher.confirmed_by or visit.identifier
        renamed = voucher.confirmed_as is not None and voucher.confirmed_as != voucher.taxon
        called = f" At the creek it was called {voucher.taxon.scientific_name}." if renamed else ""
        self.tables.occurrences.append(
            taxon_cells(taxon)
            | {
                "eventID": event,
                "occurrenceID": key,
                "basisOfRecord": "PreservedSpecimen",
                "catalogNumber": voucher.number,
                "occurrenceStatus": self.publisher.detected_word,
                "identifiedBy": NAME_WITHHELD if by else "",
                "dateIdentified": voucher.confirmed_on.isoformat() if voucher.confirmed_on else "",
                "occurrenceRemarks": f"One of the fish counted at this visit.{called}",
            }
        )

    def _water(self, event: str, record: VisitRecord, score: VisitResult | None) -> None:
        for field, value in record.water.items():
            if value is not None:
                name, remarks = WATER_NAMES[field], ""
                if field == "conductivity_us_cm":
                    name, remarks = CONDUCTIVITY_WORDS[record.conductivity_basis]
                how = "Field meter or gauge"
                self._measure(event, "", name, value, WATER_UNITS[field], how, remarks=remarks)
        if record.air_temp_c is not None:
            unit = WATER_UNITS["water_temp_c"]
            self._measure(event, "", "air temperature", record.air_temp_c, unit, "Thermometer")
        if record.mean_width_m is not None:
            self._measure(event, "", "mean wetted width", record.mean_width_m, "m", "Mean over the reach")
        if record.stop_nets:
            nets = str(StopNets(record.stop_nets).label)
            self._measure(event, "", "reach closed by nets", nets, "", "Seen in the field")
        if score is not None:
            method = f"{score.index_method}, version {score.index_version}"
            standing = self.standings.of(score.index_method, score.index_version)
            remarks = ". ".join(part for part in (score.listed_rating, standing) if part)
            self._measure(
                event, "", "fish index score", score.listed_score, "points", method, remarks=remarks
            )

    def _measure(
        self, event: str, occurrence: str, kind: str, value: Any, unit: str, method: str, remarks: str = ""
    ) -> None:
        self.tables.measurements.append(
            {
                "eventID": event,
                "measurementID": self.publisher.identifier("measurement", event, occurrence, kind),
                "occurrenceID": occurrence,
                "measurementType": kind,
                "measurementTypeID": TYPES.get(kind, ""),
                "measurementValue": value,
                "measurementUnit": unit,
                "measurementUnitID": UNITS.get(unit, ""),
                "measurementDeterminedDate": self.day,
                # People are not named; it is the publisher that answers for the reading.
                "measurementDeterminedBy": self.publisher.organization,
                "measurementMethod": method,
                "measurementRemarks": remarks,
            }
        )

    def _survey(
        self, event: str, visit: Visit, record: VisitRecord, effort_s: int | None, vouchers: list[Voucher]
    ) -> None:
        """What the visit set out to record and did (Humboldt extension)."""
        targets = "; ".join(t.scientific_name for t in self.publisher.targets)
        self.tables.surveys.append(
            {
                "eventID": event,
                "targetTaxonomicScope": f"{TARGET_SCOPE}; absence of: {targets}" if targets else TARGET_SCOPE,
                "isTaxonomicScopeFullyReported": not self.guarded,
                "isAbsenceReported": bool(targets) and bool(record.passes),
                "isAbundanceReported": True,
                "protocolNames": record.method_name,
                "protocolDescriptions": visit.method.description or visit.method.gear,
                "protocolReferences": visit.method.reference,
                "isSamplingEffortReported": effort_s is not None,
                "samplingEffortProtocol": "Current-on time of all passes" if effort_s is not None else "",
                "samplingEffortValue": effort_s,
                "samplingEffortUnit": "s" if effort_s is not None else "",
                "totalAreaSampledValue": record.area_m2,
                "totalAreaSampledUnit": "m2" if record.area_m2 is not None else "",
                "reportedExtremeConditions": extreme_conditions(self.extremes, visit),
                # Where something is withheld, "no" could mean that it is: then nothing is said.
                "hasVouchers": "" if self.guarded and not vouchers else bool(vouchers),
            }
        )
