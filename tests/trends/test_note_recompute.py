"""A note changes what is said about a trend, so writing one makes the cautions of its watershed anew."""

from typing import Any

import pytest

from tests.factories import make_station, make_visit
from trends.models import LandUseNote, TrendResult
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db


def _codes() -> set[str]:
    result = TrendResult.objects.get(station__isnull=True, measure="total_catch")
    return {c["code"] for c in result.outcome["cautions"]}


def test_writing_and_withdrawing_a_note_makes_the_cautions_anew(
    signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    station = make_station()
    for year in range(2010, 2017):
        make_visit(station, f"{year}-07-16")
    mark_all()
    recompute_marked()
    assert "C20" not in _codes()
    planner = signed_in("planner")
    address = f"/watersheds/{station.watershed.slug}/notes/"
    with django_capture_on_commit_callbacks(execute=True):
        sent = planner.post(
            f"{address}new/",
            {
                "category": "stocking",
                "starts_on": "2012-04-01",
                "date_precision": "day",
                "title": "Trout put in",
                "public": "on",
            },
        )
    assert sent.status_code == 302
    assert "C20" in _codes()
    note = LandUseNote.objects.get()
    with django_capture_on_commit_callbacks(execute=True):
        planner.post(f"/notes/{note.pk}/withdraw/", {"why": "It was another creek."})
    assert "C20" not in _codes()
