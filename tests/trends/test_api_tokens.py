"""Personal tokens: shown once, kept as a fingerprint, ended by day or by hand, and worth what the role is worth.

Sources: RFC 6750 (bearer tokens, the WWW-Authenticate header), RFC 9111 (private, no-store), RFC 9457.
"""

import datetime
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from surveys.models import Visit
from tests.trends.exports.conftest import SENSITIVE, County, county
from trends.models import ApiToken, LandUseNote

__all__ = ["county"]
pytestmark = pytest.mark.django_db
STAFF = ["biologist", "reviewer", "planner", "outreach", "administrator"]


@pytest.fixture
def token(person: Callable[[str], Any]) -> Callable[..., str]:
    """The text of a new token of a role, usable for ``days`` from today."""

    def make(role: str, days: int = 30) -> str:
        ends_on = timezone.localdate() + datetime.timedelta(days=days)
        return ApiToken.objects.made(person(role), "A report", ends_on)[1]

    return make


def get(path: str, text: str = "", **headers: str) -> Any:
    if text:
        headers["Authorization"] = f"Bearer {text}"
    return Client().get(f"/api/v1/{path}", headers=headers)


# --- what it opens -------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["biologist", "reviewer", "administrator"])
def test_those_who_see_unaccepted_visits_read_them_marked_as_such(
    county: County, token: Callable[..., str], role: str
) -> None:
    text = token(role)
    rows = {row["visit"]: row["status"] for row in get("visits", text).json()["data"]}
    assert rows == dict(Visit.objects.values_list("pk", "status"))
    assert rows[county.draft.pk] == "draft"
    assert get(f"visits/{county.draft.pk}", text).status_code == 200
    assert county.draft.pk in {row["visit"] for row in get("catches", text).json()["data"]}
    for name in ("indicators", "scores"):
        assert county.draft.pk not in {row["visit"] for row in get(name, text).json()["data"]}


@pytest.mark.parametrize("role", ["planner", "outreach"])
def test_a_token_opens_no_more_than_the_role_of_its_owner(
    county: County, token: Callable[..., str], role: str
) -> None:
    text = token(role)
    assert county.draft.pk not in {row["visit"] for row in get("visits", text).json()["data"]}
    assert get(f"visits/{county.draft.pk}", text).status_code == 404


@pytest.mark.parametrize("role", STAFF)
def test_staff_read_exact_places_and_the_numbers_made_from_all_fish(
    county: County, token: Callable[..., str], role: str
) -> None:
    text = token(role)
    found = [r for r in get("catches", text).json()["data"] if r["scientific_name"] == SENSITIVE]
    assert {(r["station"], r["count"]) for r in found} == {("WR-1", 3), ("WR-1", 1)}
    # By hand: 12 + 30 + 3 fish in the first pass, 5 + 1 in the second.
    rows = get("indicators", text).json()["data"]
    assert {r["visit"]: r["total_catch"] for r in rows}[county.visit.pk] == 51
    public = {r["visit"]: r["total_catch"] for r in get("indicators").json()["data"]}
    assert public[county.visit.pk] == 47


def test_private_notes_are_read_with_a_token_alone(county: County, token: Callable[..., str]) -> None:
    LandUseNote.objects.create(
        watershed=county.open.watershed,
        category="pipe",
        starts_on="2020-01-01",
        title="Under enquiry",
        public=False,
    )
    assert "Under enquiry" not in get("notes").content.decode()
    assert "Under enquiry" in get("notes", token("planner")).content.decode()


def test_who_no_longer_has_a_role_or_an_account_reads_nothing_with_it(
    county: County, token: Callable[..., str], person: Callable[[str], Any]
) -> None:
    text = token("biologist")
    assert get("visits", text).status_code == 200
    owner = person("biologist")
    owner.groups.clear()
    assert get("visits", text).status_code == 401
    text = token("reviewer")
    owner = person("reviewer")
    owner.is_active = False
    owner.save()
    assert get("visits", text).status_code == 401


# --- what is kept of it --------------------------------------------------------------------------


def test_only_a_fingerprint_is_kept(token: Callable[..., str]) -> None:
    text = token("biologist")
    secret = text.split("_", 2)[2]
    assert len(secret) >= 43, "32 random bytes"
    row = str(ApiToken.objects.values().get())
    assert secret not in row and text not in row
    assert re.fullmatch(r"[0-9a-f]{64}", ApiToken.objects.get().fingerprint)


def test_when_it_was_last_used_is_written_down(county: County, token: Callable[..., str]) -> None:
    text = token("biologist")
    assert ApiToken.objects.get().last_used_at is None
    get("stations", text)
    used = ApiToken.objects.get().last_used_at
    assert used is not None and timezone.now() - used < datetime.timedelta(minutes=1)


# --- refusals ------------------------------------------------------------------------------------


def wrong_tokens(good: str) -> list[str]:
    mark, handle, secret = good.split("_", 2)
    return [
        good[:-1],
        f"{good}x",
        f"{mark}_{handle}_",
        f"{mark}_{'0' * 12}_{secret}",
        "nonsense",
        "",
        "\u00e9",
    ]


def test_what_is_not_a_token_is_refused_as_a_problem(county: County, token: Callable[..., str]) -> None:
    good = token("biologist")
    for header in [f"Bearer {one}" for one in wrong_tokens(good)] + [f"Basic {good}", good]:
        response = Client().get("/api/v1/visits", headers={"Authorization": header})
        assert response.status_code == 401, header
        assert response.headers["Content-Type"] == "application/problem+json"
        assert response.headers["WWW-Authenticate"].startswith("Bearer ")
        assert response.headers["Cache-Control"] == "no-store"
        assert response.json()["type"] == "/api/v1/#problem-token-not-known"
        assert good not in response.content.decode()


def test_it_ends_after_its_last_day_and_when_revoked(
    county: County, token: Callable[..., str], person: Callable[[str], Any]
) -> None:
    assert get("visits", token("biologist", days=0)).status_code == 200
    assert get("visits", token("biologist", days=-1)).status_code == 401
    text = token("reviewer")
    ApiToken.objects.get(person=person("reviewer")).revoke(person("reviewer"))
    assert get("visits", text).status_code == 401


@pytest.mark.parametrize("name", ["token", "access_token", "authorization"])
def test_a_token_in_an_address_is_not_read(county: County, token: Callable[..., str], name: str) -> None:
    response = get(f"visits?{name}={token('biologist')}")
    assert response.status_code == 400
    assert "rillmark_" not in response.content.decode()


def test_requests_are_counted_by_token(county: County, token: Callable[..., str], settings: Any) -> None:
    settings.API_REQUESTS_PER_MINUTE = 2
    cache.clear()
    one, other = token("biologist"), token("reviewer")
    assert [get("", one).status_code for _ in range(3)][-1] == 429
    assert get("", other).status_code == 200
    assert get("").status_code == 200, "nor does the token use up its address"
    assert [get("", "rillmark_0_guess").status_code for _ in range(3)][-1] == 429, "guessing is counted too"
    cache.clear()


# --- nothing of it is kept on the way ------------------------------------------------------------


@pytest.mark.parametrize(
    "path", ["visits", "visits?format=csv", "stations?format=geojson", "", "openapi.json"]
)
def test_answers_to_a_token_are_stored_nowhere(county: County, token: Callable[..., str], path: str) -> None:
    with_token, public = get(path, token("biologist")), get(path)
    assert with_token.headers["Cache-Control"] == "private, no-store"
    assert "ETag" not in with_token.headers
    assert "Authorization" in public.headers["Vary"] and "Authorization" in with_token.headers["Vary"]


def test_the_etag_of_a_public_answer_says_nothing_about_a_staff_answer(
    county: County, token: Callable[..., str]
) -> None:
    etag = get("visits").headers["ETag"]
    assert get("visits", token("biologist"), **{"If-None-Match": etag}).status_code == 200


def test_the_description_names_the_token(db: None) -> None:
    document = get("openapi.json").json()
    scheme = document["components"]["securitySchemes"]["personal_token"]
    assert (scheme["type"], scheme["scheme"]) == ("http", "bearer")
    assert document["security"] == [{}, {"personal_token": []}]
    for item in document["paths"].values():
        assert "401" in item["get"]["responses"]


# --- the page ------------------------------------------------------------------------------------


def test_a_token_is_made_shown_once_and_works(county: County, signed_in: Callable[[str], Client]) -> None:
    client = signed_in("biologist")
    ends_on = timezone.localdate() + datetime.timedelta(days=10)
    answer = client.post("/data/tokens/", {"name": "Yearly report", "ends_on": ends_on.isoformat()})
    text = re.search(r"rillmark_[0-9a-f]{12}_[\w-]+", answer.content.decode())
    assert text and "no-store" in answer.headers["Cache-Control"]
    assert get("visits", text.group()).status_code == 200
    again = client.get("/data/tokens/").content.decode()
    assert "Yearly report" in again and "rillmark_" not in again


@pytest.mark.parametrize("days", [-1, 367])
def test_the_last_day_lies_within_a_year(signed_in: Callable[[str], Client], days: int) -> None:
    ends_on = timezone.localdate() + datetime.timedelta(days=days)
    answer = signed_in("planner").post("/data/tokens/", {"name": "Report", "ends_on": ends_on.isoformat()})
    assert "Give a day from today" in answer.content.decode()
    assert not ApiToken.objects.exists()


def test_nobody_keeps_more_tokens_than_can_be_looked_after(
    signed_in: Callable[[str], Client], token: Callable[..., str]
) -> None:
    for _ in range(10):
        token("planner")
    ends_on = timezone.localdate().isoformat()
    answer = signed_in("planner").post("/data/tokens/", {"name": "Report", "ends_on": ends_on})
    assert "Revoke one" in answer.content.decode()
    assert ApiToken.objects.count() == 10


def test_one_sees_and_revokes_ones_own_tokens_alone(
    signed_in: Callable[[str], Client], token: Callable[..., str]
) -> None:
    token("biologist")
    own = ApiToken.objects.get()
    other = signed_in("reviewer")
    assert "A report" not in other.get("/data/tokens/").content.decode()
    assert other.post(f"/data/tokens/{own.pk}/revoke/").status_code == 404
    client = signed_in("biologist")
    assert client.get(f"/data/tokens/{own.pk}/revoke/").status_code == 405
    client.post(f"/data/tokens/{own.pk}/revoke/")
    own.refresh_from_db()
    assert own.state == "revoked" and own.revoked_by == own.person


def test_an_administrator_revokes_any_token_and_cannot_read_it(
    county: County,
    signed_in: Callable[[str], Client],
    token: Callable[..., str],
    person: Callable[[str], Any],
) -> None:
    text = token("biologist")
    own = ApiToken.objects.get()
    client = signed_in("administrator")
    listed = client.get("/admin/trends/apitoken/")
    assert listed.status_code == 200 and own.fingerprint not in listed.content.decode()
    one = client.get(f"/admin/trends/apitoken/{own.pk}/change/").content.decode()
    assert own.fingerprint not in one
    client.post("/admin/trends/apitoken/", {"action": "revoke", "_selected_action": [own.pk]})
    own.refresh_from_db()
    assert own.revoked_by == person("administrator")
    assert get("visits", text).status_code == 401
