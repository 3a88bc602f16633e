"""Trait lists: read from a file, put in use for strata, and the traits that score a station's fish."""

from collections.abc import Collection, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from typing import Any

import pghistory
from django.conf import settings
from django.db import transaction

from surveys.check_settings import rules_in_force
from surveys.models import Taxon, TaxonAlias
from surveys.queries import VisitRecord
from surveys.said import marked, said
from surveys.uploads.cells import match_headings, read_columns
from surveys.uploads.columns import TAXON_LIST
from surveys.uploads.findings import Finding
from surveys.uploads.reader import read_table
from surveys.uploads.values import fold
from trends.reference_models import ListedTraits, TraitList

LISTED_TRAITS = ("tolerance", "trophic_guild", "benthic", "lithophilic", "native", "migratory")
# A trait of the species list, and its name in a sample that the index reads.
SAMPLE_NAMES = {
    "tolerance": "tolerance",
    "trophic_guild": "feeding",
    "benthic": "benthic",
    "lithophilic": "lithophil",
    "native": "native",
    "migratory": "migratory",
}


class ListRefused(Exception):  # noqa: N818 - the name says what happened
    """A list that cannot be taken or used as asked; the message says how to go on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ServingList:
    """A list as scoring needs it: traits by taxon id, under the names of the species list."""

    name: str
    dated: str
    by_taxon: Mapping[int, Mapping[str, Any]]
    calibrated: bool = (
        False  # it serves because the method was calibrated on it, not by choice for the stratum
    )

    def overrides(self, taxon: Taxon) -> dict[str, Any]:
        """What the list says of a taxon, under the names of a sample; empty where it is not on it."""
        listed = self.by_taxon.get(taxon.pk, {})
        return {SAMPLE_NAMES[key]: value if value != "" else None for key, value in listed.items()}


def by_list(record: VisitRecord, listed: ServingList | None) -> VisitRecord:
    """The same visit with the traits that a list gives its taxa; as it is where the county's own hold."""
    if listed is None:
        return record
    read: dict[int, Taxon] = {}
    for taxon in record.counts_by_taxon():
        traits = listed.by_taxon.get(taxon.pk)
        if traits:
            read[taxon.pk] = taxon = copy(taxon)
            for name, value in traits.items():
                # Words are empty and answers null where the list does not know.
                empty = "" if name in ("tolerance", "trophic_guild") else None
                setattr(taxon, name, empty if value in ("", None) else value)
    passes = tuple(
        replace(one, catches=tuple(replace(c, taxon=read.get(c.taxon.pk, c.taxon)) for c in one.catches))
        for one in record.passes
    )
    return replace(record, passes=passes)


def list_words(listed: ServingList | None) -> str:
    """Which list the traits behind a station's figures are from, by name and date."""
    if listed is not None:
        if listed.calibrated:
            return said(
                "{list}, {day} (the list that the index method was calibrated on)",
                list=listed.name,
                day=listed.dated,
            )
        return f"{listed.name}, {listed.dated}"
    own = TraitList.objects.filter(is_county=True).first()
    return said("{list} (the county's own)", list=own) if own else marked("the county's own species list")


@dataclass(slots=True, kw_only=True)
class NamedList:
    """A list that a method may name as the one it was calibrated on; its traits are read when asked for."""

    row: TraitList
    held_back: frozenset[str]
    _read: ServingList | None = None

    def read(self) -> ServingList:
        if self._read is None:
            self._read = replace(serving(self.row), calibrated=True)
        return self._read


def lists_held() -> tuple[dict[str, ServingList], dict[str, NamedList]]:
    """Lists chosen for a stratum, by stratum; and all lists at hand, by folded name. One query where none is chosen."""
    lists = list(TraitList.objects.filter(is_county=False))
    chosen = {
        stratum: found for one in lists if one.strata for found in [serving(one)] for stratum in one.strata
    }
    named = {fold(one.name): NamedList(row=one, held_back=frozenset(one.held_back)) for one in lists}
    return chosen, named


def serving(one: TraitList) -> ServingList:
    """A list as scoring needs it. One query."""
    rows = ListedTraits.objects.filter(trait_list=one).order_by()
    return ServingList(
        name=one.name, dated=one.dated.isoformat(), by_taxon=dict(rows.values_list("taxon_id", "traits"))
    )


@dataclass(slots=True, kw_only=True)
class ReadList:
    """What a file holds: traits by taxon id; names that are not on the species list; remarks on cells."""

    traits: dict[int, dict[str, Any]] = field(default_factory=dict)
    unknown: list[str] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    @property
    def faults(self) -> list[Finding]:
        return [one for one in self.findings if one.level == "error"]


def read_list(name: str, content: bytes) -> ReadList:
    """Read a trait list in the layout of the taxon list; columns that are not traits are passed over."""
    table = read_table(
        name, content, limit_bytes=settings.UPLOAD_LIMIT_BYTES, limit_rows=settings.UPLOAD_LIMIT_ROWS
    )
    rules = rules_in_force()
    found = ReadList(findings=rules.raised(table.findings))
    if not table.row_count:
        return found
    cells, remarks, complete = read_columns(table, TAXON_LIST, rules)
    found.findings += rules.raised(remarks)
    present = [key for key in LISTED_TRAITS if key in match_headings(table, TAXON_LIST)[0]]
    if not complete or not present:
        return found
    taxa = {fold(t.scientific_name): t.pk for t in Taxon.objects.all()}
    taxa |= {fold(a.name): a.taxon_id for a in TaxonAlias.objects.all() if fold(a.name) not in taxa}
    for place in range(table.row_count):
        written = cells["scientific_name"].value(place)
        if not written:
            continue
        pk = taxa.get(fold(written))
        if pk is None:
            found.unknown.append(written)
        else:
            found.traits[pk] = {key: cells[key].value(place) for key in present}
    return found


def keep_list(trait_list: TraitList, read: ReadList, *, by: Any) -> TraitList:
    """Keep a list with its traits; it scores nothing until a person has seen what it would change."""
    if read.faults:
        raise ListRefused(marked("The file has faults; mend the rows named and bring it again."))
    if not read.traits:
        raise ListRefused(
            said(
                "The file names no taxon of the species list with a trait. It needs the column {column} and one of "
                "{columns}.",
                column="scientific_name",
                columns=", ".join(LISTED_TRAITS),
            )
        )
    with transaction.atomic():
        trait_list.brought_by, trait_list.strata = by, []
        # Where a method was calibrated on this list it would score at once; first somebody sees what it changes.
        trait_list.held_back = sorted(calibrated_strata(trait_list.name))
        trait_list.save()
        ListedTraits.objects.bulk_create(
            ListedTraits(trait_list=trait_list, taxon_id=pk, traits=traits)
            for pk, traits in read.traits.items()
        )
    return trait_list


def calibrated_strata(name: str) -> set[str]:
    """Strata here whose method, as it stands today, was calibrated on a list of this name."""
    from trends.publishing import strata_here
    from trends.shelf import shelf

    standing = shelf()
    return {stratum for stratum in strata_here() if standing.list_named(stratum) == fold(name)}


def serves(row: TraitList, calibrated: Collection[str]) -> list[str]:
    """Strata that a list serves: those it was chosen for, and those whose method was calibrated on it."""
    others = {s for other in TraitList.objects.exclude(pk=row.pk) for s in other.strata}
    return sorted({*row.strata, *(set(calibrated) - set(row.held_back) - others)})


def use_list(trait_list: TraitList, strata: list[str], *, reason: str) -> int:
    """Let a list serve these strata and no others; the scores of every stratum touched are made anew.

    A stratum whose method was calibrated on the list is served without being chosen; where it is left out
    here, the county's own traits hold by choice.

    Returns
    -------
    int : number of visits whose results are made anew
    """
    from trends.judged_anew import trait_lists_changed

    with transaction.atomic(), pghistory.context(reason=reason):
        row = TraitList.objects.select_for_update().get(pk=trait_list.pk)
        others = TraitList.objects.exclude(pk=row.pk)
        taken = sorted({s for other in others for s in other.strata} & set(strata))
        if taken:
            raise ListRefused(
                said(
                    "Another list serves {written_strata}. Take it out of use there first.",
                    written_strata=", ".join(taken),
                )
            )
        calibrated = calibrated_strata(row.name)
        touched = set(serves(row, calibrated)) ^ set(strata)
        row.strata = sorted(set(strata) - calibrated)
        row.held_back = sorted(calibrated - set(strata))
        row.save()
        return trait_lists_changed(touched)
