"""The way of a visit through the review: lawful steps, a second person, the pages of the reviewer."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from surveys.models import Visit, VisitStatus
from surveys.review import (
    STEPS,
    StepRefused,
    accept_visit,
    move_visits,
    return_visit,
    submit_visit,
    withdraw_visit,
)
from surveys.signals import visits_changed
from surveys.uploads.commit import new_upload, take
from tests.factories import make_station, make_taxon, make_user, make_visit, season_csv

pytestmark = pytest.mark.django_db

REFUSED = [("", 302), ("biologist", 403), ("planner", 403), ("outreach", 403)]

SignIn = Callable[[str], Client]
WAITING, ACCEPTED = VisitStatus.SUBMITTED, VisitStatus.ACCEPTED


def waiting(day: str = "2024-07-16", **fields: Any) -> Visit:
    return make_visit(make_station("WIL-01"), day, status=WAITING, **fields)


@pytest.mark.parametrize("start", VisitStatus.values)
@pytest.mark.parametrize("to", VisitStatus.values)
def test_only_lawful_steps_are_taken(start: str, to: str) -> None:
    visit = make_visit(status=start)
    if start in STEPS[to]:
        move_visits([visit.pk], to, by=None, remark="because")
        visit.refresh_from_db()
        assert visit.status == to
        assert visit.steps.last().status == to
    else:
        with pytest.raises(StepRefused, match="cannot become"):
            move_visits([visit.pk], to, by=None, remark="because")
        visit.refresh_from_db()
        assert visit.status == start


def test_who_and_when_and_why_is_kept() -> None:
    reviewer, visit = make_user("reviewer"), waiting()
    return_visit(visit.pk, by=reviewer, remark=" weights are missing ")
    step = visit.steps.last()
    assert (step.by, step.remark) == (reviewer, "weights are missing")
    assert step.at is not None


@pytest.mark.parametrize("step", [return_visit, withdraw_visit])
def test_sending_back_needs_a_reason(step: Any) -> None:
    with pytest.raises(StepRefused, match="Say why"):
        step(waiting().pk, by=None, remark="  ")


def test_many_visits_move_together_or_not_at_all() -> None:
    one, other = waiting(), make_visit(status=VisitStatus.WITHDRAWN)
    with pytest.raises(StepRefused):
        move_visits([one.pk, other.pk], ACCEPTED, by=None)
    one.refresh_from_db()
    assert one.status == WAITING


def test_listeners_hear_of_steps_that_touch_results_and_of_no_others() -> None:
    heard: list[set[int]] = []

    def listen(station_ids: set[int], **kwargs: Any) -> None:
        heard.append(station_ids)

    visits_changed.connect(listen)
    visit = waiting()
    return_visit(visit.pk, by=None, remark="x")
    submit_visit(visit.pk, by=None)
    assert heard == []
    accept_visit(visit.pk, by=None)
    withdraw_visit(visit.pk, by=None, remark="x")
    visits_changed.disconnect(listen)
    assert heard == [{visit.station_id}, {visit.station_id}]


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("", 302),
        ("biologist", 403),
        ("planner", 403),
        ("outreach", 403),
        ("reviewer", 200),
        ("administrator", 200),
    ],
)
def test_who_may_review(signed_in: SignIn, role: str, status: int) -> None:
    visit = waiting()
    client = signed_in(role)
    for address in ("/review/", f"/review/{visit.pk}/"):
        assert client.get(address).status_code == status
    client.post("/review/", {"action": "accept", "visits": [visit.pk]})
    visit.refresh_from_db()
    assert visit.status == (ACCEPTED if status == 200 else WAITING)


def test_the_queue_lists_what_waits_and_only_that(signed_in: SignIn) -> None:
    waiting()
    make_visit(make_station("WIL-02"), "2023-07-16", status=ACCEPTED)
    text = signed_in("reviewer").get("/review/").content.decode()
    assert "1 visit waits for a second pair of eyes" in text
    assert "WIL-01 on 2024-07-16" in text
    assert "WIL-02" not in text


def test_an_empty_queue_says_so(signed_in: SignIn) -> None:
    assert "No visit waits for review" in signed_in("reviewer").get("/review/").content.decode()


def test_ticked_visits_are_accepted_together(signed_in: SignIn) -> None:
    visits = [waiting("2023-07-16"), waiting("2024-07-16"), waiting("2022-07-16")]
    signed_in("reviewer").post("/review/", {"action": "accept", "visits": [v.pk for v in visits[:2]]})
    assert Visit.objects.accepted().count() == 2


def test_nothing_ticked_is_an_error_of_the_form(signed_in: SignIn) -> None:
    waiting()
    assert signed_in("reviewer").post("/review/", {"action": "accept"}).status_code == 422


@pytest.mark.parametrize("action", ["return", "withdraw"])
def test_returning_and_withdrawing_need_a_remark(signed_in: SignIn, action: str) -> None:
    visit = waiting()
    client = signed_in("reviewer")
    for address, sent in (("/review/", {"visits": [visit.pk]}), (f"/review/{visit.pk}/", {})):
        assert client.post(address, {"action": action, **sent}).status_code == 422
    client.post(f"/review/{visit.pk}/", {"action": action, "remark": "no weights"})
    visit.refresh_from_db()
    assert visit.status == {"return": VisitStatus.RETURNED, "withdraw": VisitStatus.WITHDRAWN}[action]


def test_a_second_person_accepts(signed_in: SignIn, person: Callable[[str], Any]) -> None:
    visit = waiting(entered_by=person("administrator"))
    client = signed_in("administrator")
    answer = client.post(f"/review/{visit.pk}/", {"action": "accept"}, follow=True)
    assert "A second person has to accept it" in answer.content.decode()
    client.post("/review/", {"action": "accept_clean"})
    visit.refresh_from_db()
    assert visit.status == WAITING
    signed_in("reviewer").post(f"/review/{visit.pk}/", {"action": "accept"})
    visit.refresh_from_db()
    assert visit.status == ACCEPTED


def test_the_same_person_may_accept_where_the_setting_says_so(
    signed_in: SignIn, person: Callable[[str], Any], settings: Any
) -> None:
    settings.SAME_PERSON_MAY_ACCEPT = True
    visit = waiting(entered_by=person("administrator"))
    signed_in("administrator").post(f"/review/{visit.pk}/", {"action": "accept"})
    visit.refresh_from_db()
    assert visit.status == ACCEPTED


def test_clean_visits_are_accepted_in_one_go_and_odd_ones_wait(signed_in: SignIn) -> None:
    make_station("WIL-01")
    make_taxon("Creek Chub")
    row = {"station": "WIL-01", "visit_date": "2023-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
    odd = {**row, "visit_date": "2024-07-16"}
    content = season_csv(row, odd, {**odd, "pass": 2, "count": 50})
    take(new_upload("s.csv", content, by=None), by=None)
    client = signed_in("reviewer")
    text = client.get("/review/").content.decode()
    assert "Accept the 1 visit without a warning" in text
    assert "Pass 2 of WIL-01 on 2024-07-16 caught 50 fish" in text
    client.post("/review/", {"action": "accept_clean"})
    assert [str(v.visit_date) for v in Visit.objects.accepted()] == ["2023-07-16"]


def test_a_returned_visit_is_answered_and_handed_in_again(signed_in: SignIn) -> None:
    visit = waiting()
    signed_in("reviewer").post(f"/review/{visit.pk}/", {"action": "return", "remark": "no weights?"})
    client = signed_in("biologist")
    assert "no weights?" in client.get("/upload/").content.decode()
    client.post(f"/review/{visit.pk}/submit/", {"remark": " "})
    visit.refresh_from_db()
    assert visit.status == VisitStatus.RETURNED
    client.post(f"/review/{visit.pk}/submit/", {"remark": "scale was broken"})
    visit.refresh_from_db()
    assert visit.status == WAITING
    assert visit.steps.last().remark == "scale was broken"


def test_a_withdrawn_visit_can_be_taken_back_to_draft(signed_in: SignIn) -> None:
    visit = make_visit(status=VisitStatus.WITHDRAWN)
    signed_in("reviewer").post(f"/review/{visit.pk}/", {"action": "reopen"})
    visit.refresh_from_db()
    assert visit.status == VisitStatus.DRAFT


def test_a_step_that_is_no_longer_open_is_explained(signed_in: SignIn) -> None:
    visit = make_visit(status=ACCEPTED)
    answer = signed_in("reviewer").post(f"/review/{visit.pk}/", {"action": "accept"}, follow=True)
    assert "cannot become accepted from there" in answer.content.decode()


def test_get_and_wrong_methods_change_nothing(signed_in: SignIn) -> None:
    visit = waiting()
    client = signed_in("biologist")
    assert client.get(f"/review/{visit.pk}/submit/").status_code == 405
    assert signed_in("reviewer").delete("/review/").status_code == 405
    assert signed_in("reviewer").get("/review/999999/").status_code == 404


def test_the_queue_needs_few_queries_for_many_visits(
    signed_in: SignIn, django_assert_max_num_queries: Any
) -> None:
    for year in range(2010, 2020):
        waiting(f"{year}-07-16", passes=[{"Creek Chub": 3, "Mottled Sculpin": 1}, {"Creek Chub": 1}])
    client = signed_in("reviewer")
    # Session, person, two for permissions, a count, and visits with their questions for each list.
    with django_assert_max_num_queries(9):
        answer = client.get("/review/")
    assert [one.fish for one in answer.context["waiting"]] == [5] * 10
    assert [one.passes for one in answer.context["waiting"]] == [2] * 10
