"""A changed trait or name seen before it is made: which scores would move, then the change with its history."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import pghistory
from django.contrib.auth import get_user_model
from django.db import transaction

from surveys.models import Taxon, Visit
from surveys.models.visits import VisitQuerySet
from surveys.queries import VisitRecord, visit_records
from surveys.said import marked, said
from surveys.signals import taxa_changing
from trends.indicators import prepare_removals, visit_indicators
from trends.judged_anew import traits_changed
from trends.scores import VisitScore, score_visit
from trends.shelf import Shelf, shelf
from trends.trait_lists import by_list

# A preview is read by a person, and made while they wait.
MOST_VISITS = 400

TRAIT_FIELDS = (
    "rank", "family", "tolerance", "trophic_guild", "benthic", "lithophilic", "native", "migratory", "hybrid",
)  # fmt: skip


NAMES = {
    "rank": marked("rank"),
    "family": marked("family"),
    "tolerance": marked("tolerance"),
    "trophic_guild": marked("feeding"),
    "lithophilic": marked("spawns on clean stones"),
    "benthic": marked("lives on the bottom"),
    "native": marked("native"),
    "migratory": marked("migrates"),
    "hybrid": marked("hybrid"),
    "traits_source": marked("source of the traits"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreShift:
    """One accepted visit before and after a change that has not been made yet."""

    visit: Visit
    before: VisitScore
    after: VisitScore
    indicators: tuple[str, ...]  # indicators that would change, by key

    @staticmethod
    def number(score: VisitScore) -> float | None:
        return (
            float(score.result.score)
            if score.rated and score.result and score.result.score is not None
            else None
        )

    @property
    def score_before(self) -> float | None:
        return self.number(self.before)

    @property
    def score_after(self) -> float | None:
        return self.number(self.after)

    @property
    def rating_before(self) -> str:
        return (self.before.result.rating or "") if self.before.rated and self.before.result else ""

    @property
    def rating_after(self) -> str:
        return (self.after.result.rating or "") if self.after.rated and self.after.result else ""

    @property
    def score_moves(self) -> bool:
        return (self.score_before, self.rating_before) != (self.score_after, self.rating_after)


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What a change would do to accepted visits: all those concerned, and those whose score moves."""

    concerned: int
    looked_at: int
    moved: tuple[ScoreShift, ...]
    indicators_only: int  # visits whose score stays while an indicator changes


def preview(
    visits: VisitQuerySet,
    changed: Callable[[VisitRecord], VisitRecord],
    *,
    after: Shelf | None = None,
) -> Preview:
    """Score accepted visits as they stand and as they would stand; nothing is stored.

    Parameters
    ----------
    changed : gives the record of a visit as it would read after the change
    after : the shelf after the change, where that is what changes
    """
    concerned = visits.accepted().distinct()
    chosen = list(concerned.order_by("-visit_date", "-pk").values_list("pk", flat=True)[:MOST_VISITS])
    records = visit_records(Visit.objects.filter(pk__in=chosen))
    later = {record.visit_id: changed(record) for record in records}
    prepare_removals([*records, *later.values()])
    rows = Visit.objects.select_related("station").in_bulk(chosen)
    standing = shelf()
    shifts = []
    for record in records:
        then = later[record.visit_id]
        shifts.append(
            ScoreShift(
                visit=rows[record.visit_id],
                before=score_visit(record, standing),
                after=score_visit(then, after or standing),
                indicators=_differing(
                    by_list(record, standing.traits_for(record.stratum, record.date)),
                    by_list(then, (after or standing).traits_for(record.stratum, record.date)),
                ),
            )
        )
    moved = [one for one in reversed(shifts) if one.score_moves]
    return Preview(
        concerned=concerned.count(),
        looked_at=len(chosen),
        moved=tuple(moved),
        indicators_only=sum(1 for one in shifts if one.indicators and not one.score_moves),
    )


def _differing(before: VisitRecord, after: VisitRecord) -> tuple[str, ...]:
    if before is after:
        return ()
    old, new = visit_indicators(before).indicators, visit_indicators(after).indicators
    return tuple(key for key, one in old.items() if one.value != new[key].value)


def with_taxon(record: VisitRecord, taxon: Taxon) -> VisitRecord:
    """The same visit with one taxon as it would read."""
    passes = [
        replace(
            one, catches=tuple(replace(c, taxon=taxon) if c.taxon.pk == taxon.pk else c for c in one.catches)
        )
        for one in record.passes
    ]
    return replace(record, passes=tuple(passes))


def listen() -> None:
    taxa_changing.connect(_scores_that_would_change, dispatch_uid="trends.trait_changes")


def _scores_that_would_change(sender: Any, taxa: Iterable[Taxon], **kwargs: Any) -> list[str]:
    """What a list of taxa would do to scores, a sentence each, before it is stored."""
    changed = list(taxa)

    def read(record: VisitRecord) -> VisitRecord:
        for taxon in changed:
            record = with_taxon(record, taxon)
        return record

    found = preview(Visit.objects.filter(passes__catches__taxon__in=[t.pk for t in changed]), read)
    figures = {
        "moved": len(found.moved),
        "looked_at": found.looked_at,
        "all": found.concerned,
        "others": found.indicators_only,
    }
    if found.looked_at < found.concerned:
        first = said(
            "The index score or rating would change at {moved} of {looked_at} accepted visits with these taxa ({all} "
            "in all; the latest were looked at); other figures alone at {others}.",
            **figures,
        )
    else:
        first = said(
            "The index score or rating would change at {moved} of {looked_at} accepted visits with these taxa; other "
            "figures alone at {others}.",
            **figures,
        )
    shifts = [
        said(
            "{station} on {day}: {before} would become {after}.",
            station=one.visit.station.code,
            day=one.visit.visit_date,
            before=_score_words(one.score_before, one.rating_before),
            after=_score_words(one.score_after, one.rating_after),
        )
        for one in found.moved
    ]
    return [first, *shifts]


def _score_words(score: float | None, rating: str) -> str:
    if score is None:
        return marked("no score")
    if not rating:
        return said("score {score}", score=f"{score:g}")
    return said("score {score}, rated {rating}", score=f"{score:g}", rating=rating)


def preview_traits(changed: Taxon) -> Preview:
    """What the scores would be if a taxon read like this, unsaved, row."""
    visits = Visit.objects.filter(passes__catches__taxon=changed.pk)
    return preview(visits, lambda record: with_taxon(record, changed))


def change_traits(changed: Taxon, fields: Iterable[str], *, reason: str) -> int:
    """Write changed traits, keep the earlier ones in the history, and make the results anew.

    Returns
    -------
    int : number of visits whose results are made anew
    """
    names = [*fields]
    with transaction.atomic(), pghistory.context(reason=reason):
        Taxon.objects.select_for_update().get(pk=changed.pk)
        changed.save(update_fields=names)
        return traits_changed([changed]) if set(names) & set(TRAIT_FIELDS) else 0


# --- history -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitChange:
    """Traits of a taxon that were changed at one moment: (name, from, to)."""

    at: Any
    by: str  # a name, or empty where a command or a file did it
    reason: str
    file: str
    changes: tuple[tuple[str, str, str], ...]


def trait_history(taxon: Taxon) -> list[TraitChange]:
    """Every change of the traits of a taxon, the latest first. Two queries."""
    log: Any = taxon  # the history table is made by a decorator, which types do not see
    events = list(
        log.events.filter(pgh_label="before_update").order_by("pgh_id").select_related("pgh_context")
    )
    people = get_user_model().objects.in_bulk(
        [
            e.pgh_context.metadata["user"]
            for e in events
            if e.pgh_context and e.pgh_context.metadata.get("user")
        ]
    )
    found = []
    for place, event in enumerate(events):
        after = events[place + 1] if place + 1 < len(events) else taxon
        changes = tuple(
            (
                NAMES.get(name, name),
                _trait_words(getattr(event, name)),
                _trait_words(getattr(after, name)),
            )
            for name in (*TRAIT_FIELDS, "traits_source")
            if getattr(event, name) != getattr(after, name)
        )
        if not changes:
            continue
        context = event.pgh_context.metadata if event.pgh_context else {}
        person = people.get(context.get("user"))
        found.append(
            TraitChange(
                at=event.pgh_created_at,
                by=str(person) if person else "",
                reason=str(context.get("reason") or ""),
                file=str(context.get("file") or ""),
                changes=changes,
            )
        )
    return found[::-1]


def _trait_words(value: Any) -> str:
    if value is None or value == "":
        return marked("not known")
    if isinstance(value, bool):
        return marked("yes") if value else marked("no")
    return str(value)
