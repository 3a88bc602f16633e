"""Merging two taxa and splitting one: seen before it is done, refused where it is ambiguous, kept on record."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import pghistory
from django.db import transaction
from django.db.models import F, Q
from django.utils.text import slugify

from surveys.models import Catch, Station, Taxon, TaxonAlias, UploadName, Visit, Voucher
from surveys.models.visits import VisitQuerySet
from surveys.queries import CatchRecord, VisitRecord
from surveys.said import marked, said
from surveys.season import closed_among, hold_open, locked_words
from surveys.signals import visits_changed
from surveys.uploads.columns import CATCH_COLUMNS
from surveys.uploads.taxa import free_slugs, rank_of
from trends.reference_models import ListedTraits, TaxonOperation
from trends.taxon_words import RANKS, closed_words, merged_words, split_words
from trends.trait_changes import Preview, preview

# What two catches of one pass say is added up where it is a number, and in doubt where either is.
ADDED_FIELDS = tuple(
    c.stored_as for c in CATCH_COLUMNS if c.kind != "boolean" and c.name not in ("count", "weighed")
)
DOUBT_FIELDS = tuple(c.stored_as for c in CATCH_COLUMNS if c.kind == "boolean")


# What belongs to one name, and is not that of a taxon split from it.
NAMES = ("id", "scientific_name", "authorship", "common_name", "slug", "code", "itis_tsn", "rank")


class TaxaRefused(Exception):  # noqa: N818 - the name says what happened
    """A merge or split that would lose or guess something; the message says how to go on."""


def _added(one: float | None, other: float | None) -> Any:
    """A sum of two numbers; what is not known of one part is not known of the whole."""
    return None if one is None or other is None else one + other


def _catches_joined(catches: Iterable[CatchRecord], gone: int, kept: Taxon) -> tuple[CatchRecord, ...]:
    found: dict[int, CatchRecord] = {}
    for catch in catches:
        moved = replace(catch, taxon=kept) if catch.taxon.pk == gone else catch
        before = found.get(moved.taxon.pk)
        found[moved.taxon.pk] = (
            moved
            if before is None
            else replace(
                before,
                count=before.count + moved.count,
                young_of_year=_added(before.young_of_year, moved.young_of_year),
                anomalies=_added(before.anomalies, moved.anomalies),
                biomass_g=_added(before.biomass_g, moved.biomass_g),
                weighed=_added(before.weighed, moved.weighed),
                part_g=_added(before.part_g, moved.part_g),
                estimated=before.estimated or moved.estimated,
            )
        )
    return tuple(found.values())


def _renamed(record: VisitRecord, gone: int, kept: Taxon) -> VisitRecord:
    passes = tuple(replace(one, catches=_catches_joined(one.catches, gone, kept)) for one in record.passes)
    return replace(record, passes=passes)


# --- merge --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """What a merge or split would move, and what it does to scores."""

    visits: int
    catches: int
    joined: int  # passes in which both were recorded, whose counts are added
    part_lost: int  # of these, passes where something beside the count is known of one part alone
    preview: Preview
    refusal: str  # why it cannot be done; empty where it can


def merge_preview(gone: Taxon, kept: Taxon) -> Move:
    """What it would do to read every record of one taxon as the other."""
    catches = Catch.objects.filter(taxon=gone)
    both = catches.filter(removal_pass__catches__taxon=kept)
    visits = Visit.objects.filter(passes__catches__taxon=gone)
    return Move(
        visits=visits.distinct().count(),
        catches=catches.count(),
        joined=both.count(),
        part_lost=sum(1 for one in both if _part_lost(one, one.removal_pass.catches.get(taxon=kept))),
        preview=preview(visits, lambda record: _renamed(record, gone.pk, kept)),
        refusal=merge_refusal(gone, kept) or closed_refusal(visits),
    )


def closed_refusal(visits: VisitQuerySet) -> str:
    """Why these visits cannot be touched: some lie in seasons that are signed off. Empty where they can."""
    days = visits.order_by().values_list("visit_date", flat=True).distinct()
    if not (years := closed_among(days)):
        return ""
    held = visits.filter(visit_date__year__in=years).distinct().count()
    return f"{closed_words(held)} {locked_words(years)}"


def _part_lost(one: Catch, other: Catch) -> bool:
    return any((getattr(one, f) is None) != (getattr(other, f) is None) for f in ADDED_FIELDS)


def merge_refusal(gone: Taxon, kept: Taxon) -> str:
    """Why two taxa cannot be merged; empty where they can."""
    if gone.pk == kept.pk:
        return marked("Choose two different taxa.")
    if gone.rank != kept.rank or gone.hybrid != kept.hybrid:
        return said(
            "{gone} is on the list as {gone_rank}, {kept} as {kept_rank}. A genus or a hybrid is not the same as a "
            "species: which fish were meant cannot be told. Set the rank of both alike first, if the list is wrong.",
            gone=gone.scientific_name,
            gone_rank=RANKS[gone.rank],
            kept=kept.scientific_name,
            kept_rank=RANKS[kept.rank],
        )
    if gone.sensitive_location and not kept.sensitive_location:
        return said(
            "The places of {gone} are withheld and those of {kept} are not. Settle first whether they are to be "
            "withheld.",
            gone=gone.scientific_name,
            kept=kept.scientific_name,
        )
    lists = ListedTraits.objects.filter(taxon=gone).select_related("trait_list")
    kept_on = {e.trait_list_id: e.traits for e in ListedTraits.objects.filter(taxon=kept)}
    clash = [e.trait_list.name for e in lists if kept_on.get(e.trait_list_id, e.traits) != e.traits]
    if clash:
        return said("The two have different traits on {lists}. Mend that list first.", lists=", ".join(clash))
    return ""


def merge_taxa(gone: Taxon, kept: Taxon, *, by: Any, reason: str) -> TaxonOperation:
    """Read every record of one taxon as the other from now on; its names stay as other names of the kept one.

    Catches are moved; where a pass holds both, the numbers are added, and what is not known of one part
    is not known of the sum. Every row as it was stays in the history. Visits touched are raised by one
    revision and computed anew.

    Raises
    ------
    TaxaRefused : the two are no two names of one thing as the list stands, or a visit's season is closed
    """
    with transaction.atomic(), pghistory.context(reason=reason, operation="merge"):
        rows = {t.pk: t for t in Taxon.objects.select_for_update().filter(pk__in=[gone.pk, kept.pk])}
        if len(rows) != 2:
            raise TaxaRefused(marked("Choose two different taxa that are on the list."))
        gone, kept = rows[gone.pk], rows[kept.pk]
        visits = Visit.objects.filter(passes__catches__taxon=gone)
        hold_open()
        refusal = merge_refusal(gone, kept) or closed_refusal(visits)
        if refusal:
            raise TaxaRefused(refusal)
        touched = _lock(visits)
        moved, joined = _move(Catch.objects.filter(taxon=gone), kept)
        _take_names(gone, kept)
        _replace_look_alike(gone.scientific_name, kept.scientific_name)
        ListedTraits.objects.filter(taxon=gone).exclude(
            trait_list__in=ListedTraits.objects.filter(taxon=kept).values("trait_list")
        ).update(taxon=kept)
        name = gone.scientific_name
        operation = TaxonOperation.objects.create(
            kind=TaxonOperation.Kind.MERGE,
            taxon=kept,
            taxon_name=kept.scientific_name,
            other_name=name,
            words=merged_words(name, kept.scientific_name, moved=moved, visits=len(touched), joined=joined),
            visits=len(touched),
            catches=moved,
            reason=reason,
            by=by,
        )
        Voucher.objects.filter(taxon=gone).update(taxon=kept)
        Voucher.objects.filter(confirmed_as=gone).update(confirmed_as=kept)
        UploadName.objects.filter(taxon=gone).update(taxon=kept)
        gone.delete()
        _tell(touched)
    return operation


def _lock(visits: VisitQuerySet) -> dict[int, int]:
    """Lock visits against other changes; station by visit."""
    ids = list(visits.order_by().values_list("pk", flat=True).distinct())
    rows = Visit.objects.select_for_update(of=("self",)).filter(pk__in=ids).order_by("pk")
    return dict(rows.values_list("pk", "station_id"))


def _move(catches: Any, kept: Taxon) -> tuple[int, int]:
    """Give catches to a taxon; (moved in all, added to a catch that the pass already had)."""
    moved = joined = 0
    for catch in catches.select_for_update().order_by("pk"):
        moved += 1
        other = Catch.objects.filter(removal_pass=catch.removal_pass_id, taxon=kept).first()
        if other is None:
            catch.taxon = kept
            catch.save(update_fields=["taxon"])
            continue
        joined += 1
        if other.weighed is not None or catch.weighed is not None:
            # Where only one was weighed in part, all fish of the other stand in its weight.
            other.weighed = (other.weighed or other.count) + (catch.weighed or catch.count)
        other.count += catch.count
        for field in ADDED_FIELDS:
            setattr(other, field, _added(getattr(other, field), getattr(catch, field)))
        for field in DOUBT_FIELDS:
            setattr(other, field, getattr(other, field) or getattr(catch, field))
        catch.delete()
        other.save()
    return moved, joined


def _take_names(gone: Taxon, kept: Taxon) -> None:
    """Every name of the taxon that goes stays a name of the one that stands, so that old files still match."""
    gone.aliases.update(taxon=kept)
    own = {kept.scientific_name.lower(), kept.common_name.lower(), kept.code.lower(), ""}
    for name in (gone.scientific_name, gone.common_name, gone.code):
        taken = TaxonAlias.objects.filter(name__iexact=name).exists()
        other = Taxon.objects.exclude(pk=gone.pk).filter(
            Q(common_name__iexact=name) | Q(code__iexact=name) | Q(scientific_name__iexact=name)
        )
        if name.lower() not in own and not taken and not other.exists():
            TaxonAlias.objects.create(taxon=kept, name=name)


def _replace_look_alike(gone: str, kept: str) -> None:
    for taxon in Taxon.objects.filter(look_alikes__icontains=gone):
        names = [kept if name == gone else name for name in taxon.look_alike_names]
        mended = [name for name in dict.fromkeys(names) if name != taxon.scientific_name]
        if mended != taxon.look_alike_names:
            taxon.look_alikes = "; ".join(mended)
            taxon.save(update_fields=["look_alikes"])


def _tell(touched: dict[int, int]) -> None:
    Visit.objects.filter(pk__in=touched).update(revision=F("revision") + 1)
    if touched:
        visits_changed.send(sender=Visit, station_ids=set(touched.values()))


# --- split --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Which records of a taxon become those of another: visits from a day on, at these stations."""

    taxon: Taxon
    new_name: str
    new_common_name: str
    from_day: datetime.date | None
    stations: tuple[Station, ...]

    def visits(self) -> VisitQuerySet:
        found = Visit.objects.filter(passes__catches__taxon=self.taxon)
        if self.from_day is not None:
            found = found.filter(visit_date__gte=self.from_day)
        if self.stations:
            found = found.filter(station__in=self.stations)
        return found

    def existing(self) -> Taxon | None:
        return Taxon.objects.filter(scientific_name__iexact=self.new_name).first()

    def new_taxon(self) -> Taxon:
        """The taxon on the list, or a new one, not saved, with the traits of the one that is split."""
        known = self.existing()
        if known is not None:
            return known
        fields = {
            f.name: getattr(self.taxon, f.name) for f in Taxon._meta.concrete_fields if f.name not in NAMES
        }
        return Taxon(
            **fields,
            scientific_name=self.new_name,
            common_name=self.new_common_name,
            slug=free_slugs([self.new_name])[0],
            rank=rank_of(self.new_name),
        )

    def refusal(self) -> str:
        """Why it cannot be done; empty where it can."""
        if self.from_day is None and not self.stations:
            return marked(
                "Say from which day, or at which stations: without either, all records would be renamed."
            )
        known = self.existing()
        if known is not None and known.pk == self.taxon.pk:
            return marked("The new name is that of the taxon itself.")
        alias = TaxonAlias.objects.filter(name__iexact=self.new_name).select_related("taxon").first()
        if alias is not None:
            return said(
                "{written_name} is another name of {taxon}. Take it off that taxon first, or split into the accepted "
                "name.",
                written_name=self.new_name,
                taxon=alias.taxon.scientific_name,
            )
        if not self.visits().exists():
            return marked("No visit of that time and place caught it, so there is nothing to split.")
        if known is not None:
            both = self.visits().filter(passes__catches__taxon=known).distinct()
            if both.exists():
                return said(
                    "{visits} of these visits already record {taxon} beside it: there the two were told apart, and "
                    "moving the rest would undo that. Leave those visits out.",
                    visits=both.count(),
                    taxon=known.scientific_name,
                )
        return closed_refusal(self.visits())


def split_preview(split: Split) -> Move:
    """What it would do to read these records as another taxon."""
    refusal = split.refusal()
    new = split.new_taxon()
    # A taxon that is not saved has no key of its own; the record needs one to tell the two apart.
    shown = new if new.pk else replace_key(new)
    visits = split.visits()
    return Move(
        visits=visits.distinct().count(),
        catches=Catch.objects.filter(taxon=split.taxon, removal_pass__visit__in=visits).count(),
        joined=0,
        part_lost=0,
        preview=preview(visits, lambda record: _renamed(record, split.taxon.pk, shown)),
        refusal=refusal,
    )


def replace_key(taxon: Taxon) -> Taxon:
    taxon.pk = -1
    return taxon


def split_taxon(split: Split, *, by: Any, reason: str) -> TaxonOperation:
    """Give the records of some visits to another taxon, made with the same traits where it is new.

    Raises
    ------
    TaxaRefused : nothing, everything, records in which the two were already told apart, or a closed season
    """
    with transaction.atomic(), pghistory.context(reason=reason, operation="split"):
        Taxon.objects.select_for_update().get(pk=split.taxon.pk)
        hold_open()
        refusal = split.refusal()
        if refusal:
            raise TaxaRefused(refusal)
        new = split.new_taxon()
        if new.pk is None:
            new.full_clean()
            new.save()
            for entry in ListedTraits.objects.filter(taxon=split.taxon):
                ListedTraits.objects.create(trait_list=entry.trait_list, taxon=new, traits=entry.traits)
        touched = _lock(split.visits())
        moved, _ = _move(Catch.objects.filter(taxon=split.taxon, removal_pass__visit__in=touched), new)
        operation = TaxonOperation.objects.create(
            kind=TaxonOperation.Kind.SPLIT,
            taxon=split.taxon,
            other=new,
            taxon_name=split.taxon.scientific_name,
            other_name=new.scientific_name,
            words=split_words(
                new.scientific_name,
                split.taxon.scientific_name,
                day=split.from_day.isoformat() if split.from_day else "",
                stations=[station.code for station in split.stations],
                moved=moved,
                visits=len(touched),
            ),
            visits=len(touched),
            catches=moved,
            reason=reason,
            by=by,
        )
        _tell(touched)
    return operation


def operations_of(taxon: Taxon) -> list[TaxonOperation]:
    """Merges and splits that a taxon took part in, the latest first."""
    return list(TaxonOperation.objects.filter(Q(taxon=taxon) | Q(other=taxon)).select_related("by"))


def kept_under(slug: str) -> Taxon | None:
    """The taxon that a merged one, known by its old address, stands under now."""
    merged = TaxonOperation.objects.filter(kind=TaxonOperation.Kind.MERGE, taxon__isnull=False)
    return next(
        (one.taxon for one in merged.select_related("taxon") if slugify(one.other_name) == slug), None
    )
