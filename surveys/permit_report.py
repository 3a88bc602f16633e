"""What a permit's report asks for: which fish were taken where, and how many were released, died or were kept.

Only accepted visits are counted. A fish whose fate was not noted is counted as such, never as released. The
permit itself says what its report has to hold.
"""

import csv
import datetime
import io
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from surveys.models import Catch, Permit, Station, Taxon, Visit, VisitStatus
from surveys.permits import known_permits
from surveys.said import marked
from surveys.uploads.field_columns import FATES
from surveys.uploads.preview import safe_cell

NO_PERMIT = marked("no permit on record")


@dataclass(slots=True)
class Tally:
    """Fish and what became of them; ``not_noted`` are fish whose fate is not on record."""

    fish: int = 0
    released: int = 0
    died: int = 0
    kept: int = 0
    not_noted: int = 0
    estimated: int = 0  # of the fish, in numbers that were not counted

    def add(self, catch: Catch) -> None:
        self.fish += catch.count
        self.estimated += catch.count if catch.estimated else 0
        if catch.released is None or catch.died is None or catch.kept is None:
            self.not_noted += catch.count
            return
        self.released += catch.released
        self.died += catch.died
        self.kept += catch.kept

    @property
    def fates(self) -> tuple[int | None, ...]:
        """Released, died, kept; None where nothing is noted of any of the fish."""
        unknown = self.fish > 0 and self.not_noted == self.fish
        return tuple(None if unknown else getattr(self, name) for name in FATES)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """The fish of one taxon at one station, over the visits of the year."""

    station: Station
    taxon: Taxon
    tally: Tally


@dataclass(frozen=True, slots=True, kw_only=True)
class Death:
    """Fish of one taxon that died at one visit."""

    visit: Visit
    taxon: Taxon
    died: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Everything taken under one permit, or under none (``permit`` is None)."""

    permit: Permit | None
    visits: tuple[Visit, ...]
    lines: tuple[Line, ...]
    total: Tally

    @property
    def name(self) -> str:
        return str(self.permit) if self.permit else NO_PERMIT


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitReport:
    """``total`` counts each fish once, also where two permits cover its visit."""

    year: int
    sections: tuple[Section, ...]
    visits: int
    undecided: int  # visits of the year that are not accepted yet and not in the report
    total: Tally
    taxa: int
    deaths: tuple[Death, ...]
    shared: int = 0  # visits that more than one permit covers

    @property
    def died(self) -> int:
        return self.total.died


@dataclass(slots=True)
class _Open:
    visits: list[Visit] = field(default_factory=list)
    lines: dict[tuple[Station, Taxon], Tally] = field(default_factory=lambda: defaultdict(Tally))
    total: Tally = field(default_factory=Tally)


def permit_report(year: int, permit: Permit | None = None) -> PermitReport:
    """The fish of a year's accepted visits by permit, station and taxon; with ``permit`` only that one's."""
    permits = [one for one in known_permits() if permit is None or one.permit == permit]
    visits = list(
        Visit.objects.accepted()
        .filter(visit_date__year=year)
        .select_related("station__watershed")
        .order_by("station__code", "visit_date")
    )
    open_ones: dict[Permit | None, _Open] = defaultdict(_Open)
    covered: dict[int, list[Permit | None]] = {}
    for visit in visits:
        own: list[Permit | None] = [
            one.permit for one in permits if one.covers(visit.visit_date, visit.station.watershed_id)
        ]
        covered[visit.pk] = own or ([] if permit else [None])
        for one in covered[visit.pk]:
            open_ones[one].visits.append(visit)
    by_id = {visit.pk: visit for visit in visits if covered[visit.pk]}
    total, deaths, taxa = Tally(), [], set()
    for catch in _catches(by_id):
        visit = by_id[catch.removal_pass.visit_id]
        total.add(catch)
        taxa.add(catch.taxon_id)
        if catch.died:
            deaths.append(Death(visit=visit, taxon=catch.taxon, died=catch.died))
        for one in covered[visit.pk]:
            open_ones[one].lines[visit.station, catch.taxon].add(catch)
            open_ones[one].total.add(catch)
    undecided = Visit.objects.filter(visit_date__year=year).exclude(
        status__in=[VisitStatus.ACCEPTED, VisitStatus.WITHDRAWN]
    )
    return PermitReport(
        year=year,
        sections=tuple(
            _section(one, open_ones[one]) for one in sorted(open_ones, key=lambda p: (p is None, str(p)))
        ),
        visits=len(by_id),
        undecided=undecided.count(),
        total=total,
        taxa=len(taxa),
        deaths=tuple(_joined(deaths)),
        shared=sum(len(own) > 1 for own in covered.values()),
    )


def _catches(visits: Iterable[int]) -> Iterable[Catch]:
    return (
        Catch.objects.filter(removal_pass__visit__in=list(visits))
        .select_related("taxon", "removal_pass")
        .order_by(
            "removal_pass__visit__station__code", "removal_pass__visit__visit_date", "taxon__scientific_name"
        )
    )


def _joined(deaths: Iterable[Death]) -> Iterator[Death]:
    """One line for a taxon at a visit, over its passes."""
    found: dict[tuple[int, int], Death] = {}
    for one in deaths:
        key = (one.visit.pk, one.taxon.pk)
        before = found[key].died if key in found else 0
        found[key] = Death(visit=one.visit, taxon=one.taxon, died=before + one.died)
    yield from found.values()


def _section(permit: Permit | None, made: _Open) -> Section:
    ordered = sorted(
        made.lines.items(),
        key=lambda item: (item[0][0].watershed.name, item[0][0].code, item[0][1].scientific_name),
    )
    return Section(
        permit=permit,
        visits=tuple(made.visits),
        lines=tuple(Line(station=station, taxon=taxon, tally=tally) for (station, taxon), tally in ordered),
        total=made.total,
    )


COLUMNS = (
    "permit",
    "issued_by",
    "watershed",
    "stream",
    "station",
    "days",
    "scientific_name",
    "common_name",
    "itis_tsn",
    "fish",
    *FATES,
    "fate_not_noted",
    "of_these_estimated",
)


def report_csv(report: PermitReport) -> str:
    """The report as a table: a row for each permit, station and taxon; a visit without fish has a row too."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for section in report.sections:
        days: dict[int, list[datetime.date]] = defaultdict(list)
        for visit in section.visits:
            days[visit.station_id].append(visit.visit_date)
        for line in section.lines:
            writer.writerow(_row(section, line.station, days[line.station.pk], line.taxon, line.tally))
        with_fish = {line.station.pk for line in section.lines}
        for station in dict.fromkeys(v.station for v in section.visits if v.station_id not in with_fish):
            writer.writerow(_row(section, station, days[station.pk], None, Tally()))
    return out.getvalue()


def _row(
    section: Section, station: Station, days: list[datetime.date], taxon: Taxon | None, tally: Tally
) -> list[str]:
    cells = [
        section.permit.number if section.permit else NO_PERMIT,
        section.permit.body if section.permit else "",
        station.watershed.name,
        station.stream,
        station.code,
        "; ".join(str(day) for day in days),
        taxon.scientific_name if taxon else "no fish",
        taxon.common_name if taxon else "",
        str(taxon.itis_tsn or "") if taxon else "",
        str(tally.fish),
        *("" if number is None else str(number) for number in tally.fates),
        str(tally.not_noted),
        str(tally.estimated),
    ]
    return [safe_cell(cell) for cell in cells]
