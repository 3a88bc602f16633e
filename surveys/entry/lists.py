"""Visits a person can go on with."""

from typing import Any

from django.db.models import QuerySet

from surveys.models import EntryReceipt, Visit, VisitStatus


def own_drafts(person: Any) -> QuerySet[Visit]:
    """Drafts this person began, the latest day first."""
    return (
        Visit.objects.filter(status=VisitStatus.DRAFT, entered_by=person)
        .with_places()
        .order_by("-visit_date", "station__code")
    )


def colleagues_drafts(person: Any) -> QuerySet[Visit]:
    """Drafts that others began; they may be finished by anybody who enters."""
    return (
        Visit.objects.filter(status=VisitStatus.DRAFT)
        .exclude(entered_by=person)
        .with_places()
        .select_related("entered_by")
        .order_by("-visit_date", "station__code")
    )


def waiting_receipts() -> QuerySet[EntryReceipt]:
    """What devices sent for a visit that was held with other values."""
    return EntryReceipt.objects.filter(waiting=True).select_related("visit__station", "by")
