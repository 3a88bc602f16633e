"""The reviewer sees a visit beside the last visits to its station. Expected values are counted by hand."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from surveys.models import Visit, VisitStatus
from surveys.queries import visit_records
from surveys.review_history import FIRST_HERE, FIRST_IN_WATERSHED, MISSING, History, history_beside
from tests.factories import make_method, make_station, make_visit

pytestmark = pytest.mark.django_db

SignIn = Callable[[str], Client]


def beside(visit: Visit) -> History:
    return history_beside(visit_records(Visit.objects.filter(pk=visit.pk))[0])


def past(counts: list[int], name: str = "Creek Chub") -> None:
    """One visit a year up to 2023, in two passes of which the second caught one fish."""
    for year, count in enumerate(counts, start=2024 - len(counts)):
        make_visit(make_station("WIL-01"), f"{year}-07-16", passes=[{name: count}, {name: 1}])


def now(**caught: Any) -> Visit:
    return make_visit(make_station("WIL-01"), "2024-07-16", status=VisitStatus.SUBMITTED, **caught)


def test_counts_stand_beside_those_of_the_last_five_visits_and_their_median() -> None:
    past([99, 10, 20, 30, 40, 59])
    found = beside(now(passes=[{"Creek Chub": 12}, {"Creek Chub": 5}]))
    (chub,) = found.fish
    assert (chub.now, chub.then, chub.usual) == (17, (60, 41, 31, 21, 11), 31)
    assert (found.earlier, [one.date.year for one in found.visits]) == (6, [2023, 2022, 2021, 2020, 2019])


def test_a_fish_met_for_the_first_time_is_marked_and_one_always_there_is_missed() -> None:
    past([10, 10])
    make_visit(make_station("WIL-02"), "2023-07-20", passes=[{"Bluegill": 1}])
    found = beside(now(passes=[{"Bluegill": 2, "Brook Trout": 1}, {}]))
    assert {row.taxon.common_name: row.mark for row in found.fish} == {
        "Bluegill": FIRST_HERE,
        "Brook Trout": FIRST_IN_WATERSHED,
        "Creek Chub": MISSING,
    }


def test_the_first_visit_of_a_watershed_marks_nothing_as_new(signed_in: SignIn) -> None:
    visit = now()
    assert [row.mark for row in beside(visit).fish] == [""]
    text = signed_in("reviewer").get(f"/review/{visit.pk}/").content.decode()
    assert "No earlier visit to this station is on record" in text


def test_withdrawn_and_later_visits_are_no_history() -> None:
    past([10])
    make_visit(make_station("WIL-01"), "2022-07-16", status=VisitStatus.WITHDRAWN)
    make_visit(make_station("WIL-01"), "2025-07-16")
    assert [one.date.year for one in beside(now()).visits] == [2023]


def test_effort_passes_and_method_stand_beside_each_other_and_unlike_visits_are_named() -> None:
    past([10])
    make_visit(
        make_station("WIL-01"), "2022-07-16", method=make_method("one-pass"), passes=[{"Creek Chub": 9}]
    )
    visit = now()
    visit.passes.update(effort_s=300)
    found = beside(visit)
    made = {row.name: (row.now, row.then) for row in found.made}
    assert made["Passes"] == (2, (2, 1))
    assert made["Current on, s"] == (600, (None, None))  # not written down is not zero
    assert found.unlike == ("2022-07-16 (by Method one-pass, 1 pass)",)


def test_the_page_shows_the_past_in_few_queries(
    signed_in: SignIn, django_assert_max_num_queries: Any
) -> None:
    past([10] * 12)
    visit = now(passes=[{"Brook Trout": 3}, {}])
    client = signed_in("reviewer")
    with django_assert_max_num_queries(24):
        text = client.get(f"/review/{visit.pk}/").content.decode()
    assert "The last 5 of 12 earlier visits stand beside this one" in text
    assert "first in the watershed" in text
