"""Keeps what a page works out from a watershed's visits, until any of these visits changes.

In this process's own memory alone; a restart or another process works it out again. Nothing that is
kept here is an answer of record: those are stored by ``trends.recompute``.
"""

from collections.abc import Callable
from typing import TypeVar

from django.core.cache import cache
from django.db.models import Count, Max, Sum

from surveys.models import Watershed
from trends.models import VisitResult
from trends.recompute import CODE_VERSION

T = TypeVar("T")
KEEP_S = 24 * 3600


def state_of(watershed: Watershed) -> str:
    """A text that changes with every accepted, altered or withdrawn visit of the watershed. One query."""
    seen = VisitResult.objects.filter(visit__station__watershed=watershed).aggregate(
        n=Count("pk"), revisions=Sum("visit_revision"), latest=Max("computed_at")
    )
    latest = seen["latest"].timestamp() if seen["latest"] else 0
    return f"{CODE_VERSION}:{watershed.pk}:{seen['n']}:{seen['revisions'] or 0}:{latest}"


def remembered(name: str, state: str, make: Callable[[], T]) -> T:
    """What ``make`` gave for this state, or gives now."""
    key = f"creek:{name}:{state}"
    found = cache.get(key)
    if found is None:
        found = make()
        cache.set(key, found, KEEP_S)
    return found
