"""Every page that staff work with is wholly there in each language: the walk opens it in a made-up one."""

from collections.abc import Callable

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.models import Station, Taxon, Visit, Watershed
from tests.made_up_language import county, data_words, made_up_language, not_given_out
from trends.middleware import TRANSLATED
from trends.models import LandUseNote

__all__ = ["county", "made_up_language"]  # fixtures

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("county", "made_up_language")]

Keys = list[list[object]]
SEASON = 2025


def _station() -> str:
    return Station.objects.order_by("code").values_list("code", flat=True)[0]


def _visit(status: str) -> int:
    return Visit.objects.filter(status=status).order_by("pk").values_list("pk", flat=True)[0]


def _creek() -> str:
    return Watershed.objects.order_by("slug").values_list("slug", flat=True)[0]


def _note() -> int:
    return LandUseNote.objects.current().order_by("pk").values_list("pk", flat=True)[0]


def _fish() -> str:
    caught = Taxon.objects.filter(catches__isnull=False).order_by("scientific_name")
    return caught.values_list("slug", flat=True)[0]


# Name of a page -> what stands in its address, once for each face that it has. Asked when the county is there.
PAGES: dict[str, Callable[[], Keys]] = {
    "surveys:season": lambda: [[]],
    "surveys:season_year": lambda: [[SEASON], [2024], [1950]],
    "surveys:season_plan_add": lambda: [[SEASON]],
    "surveys:season_not_sampled_add": lambda: [[SEASON]],
    "surveys:season_close": lambda: [[SEASON], [2024], [1950]],
    "surveys:season_permit_add": lambda: [[]],
    "surveys:season_crew_add": lambda: [[]],
    "surveys:permit_report": lambda: [[SEASON], [2024]],
    "surveys:gear": lambda: [[]],
    "surveys:field_sheet": lambda: [[_station()]],
    "surveys:station_layout": lambda: [[_station()]],
    "surveys:station_version": lambda: [[_station(), 0]],
    "surveys:upload_list": lambda: [[]],
    "surveys:mapping_list": lambda: [[]],
    # Files in all their states are in test_translated_upload_pages.
    "surveys:upload": list,
    "surveys:upload_answers": list,
    "surveys:upload_names": list,
    "surveys:mapping_batch": list,
    "surveys:mapping_file": list,
    "surveys:near_names": list,
    "surveys:entry_tally": lambda: [[]],
    # What the tally asks for and what it is told; its screens are opened in tests/browser/test_tally_language.
    "surveys:entry_worker": list,
    "surveys:entry_manifest": list,
    "surveys:entry_lists": list,
    "surveys:entry_sync": list,
    "surveys:entry_voucher": list,
    "surveys:review": lambda: [[]],
    # One that waits, one that came back, one that counts; more of their faces in test_translated_review_pages.
    "surveys:review_visit": lambda: [[_visit(s)] for s in ("submitted", "returned", "accepted")],
    "surveys:visit_history": lambda: [[_visit("accepted")]],
    "surveys:visit_vouchers": lambda: [[_visit("accepted")]],
    "surveys:entry": lambda: [[]],
    # A rule with limits, one that is only on or off, and one that stays on.
    "surveys:check_rules": lambda: [[]],
    "surveys:check_rule": lambda: [["unusual_weight"], ["method_differs"], ["unusual_value.crew_size"]],
    # Its many faces are in test_translated_entry_pages.
    "surveys:entry_visit": list,
    "trends:notes": lambda: [[]],
    "trends:note_add": lambda: [[_creek()]],
    "trends:note_edit": lambda: [[_note()]],
    "trends:note_withdraw": lambda: [[_note()]],
    "trends:handout_edit": lambda: [[_creek()]],
    "trends:tokens": lambda: [[]],
    "trends:method_desk": lambda: [[]],
    "trends:method_strata": lambda: [[]],
    "trends:method_check": lambda: [["maryland_fish_2005"]],
    "trends:trait_change": lambda: [[_fish()]],
    "trends:taxon_merge": lambda: [[_fish()]],
    "trends:taxon_split": lambda: [[_fish()]],
    "trends:trait_lists": lambda: [[]],
    "trends:trait_county": lambda: [[]],
    # Made in test_translated_list_desks, with the faces of the pages above that a form brings about.
    "trends:method_draft": list,
    "trends:method_draft_in_full": list,
    "trends:trait_list": list,
    # Their own tests make what they show; a step and a file have no page.
    "trends:brief_issued": list,
    "trends:brief_issued_pdf": list,
    "trends:token_revoke": list,
}
# Pages of ``trends`` that are for staff alone.
AT_THE_DESK = frozenset(name for name in PAGES if name.startswith("trends:"))
# Faces of a page that its address alone does not show: the name, its keys, and what is asked for.
ASKED: tuple[tuple[str, list[object], str], ...] = (("surveys:gear", [], "?gear=M1"),)
# Pages that need more than an address: their own tests below make what they show, and look at it.
KEPT_BY_ITS_OWN_TEST: frozenset[str] = frozenset(
    {"surveys:season_plan", "surveys:season_not_sampled", "surveys:season_permit", "surveys:season_crew"}
)
# Forms that are sent empty, so that their errors are seen.
SENT_EMPTY = (
    ("surveys:season_plan_add", [SEASON]),
    ("surveys:season_not_sampled_add", [SEASON]),
    ("surveys:season_permit_add", []),
    ("surveys:season_crew_add", []),
    ("surveys:entry", []),
    ("surveys:review", []),
    ("surveys:check_rule", ["unusual_weight"]),
)


@pytest.fixture
def desk() -> Client:
    client = Client()
    client.force_login(get_user_model().objects.get(username="administrator"))
    return client


def test_every_page_of_the_desk_is_in_the_walk() -> None:
    named = {name for name in TRANSLATED if name.startswith("surveys:")}
    reached = {*PAGES, *KEPT_BY_ITS_OWN_TEST}
    assert named - reached == set(), "name an address for these"


@pytest.mark.parametrize("name", PAGES)
def test_a_page_holds_no_words_that_were_not_given_out_for_translation(name: str, desk: Client) -> None:
    asked = [(keys, "") for keys in PAGES[name]()]
    asked += [(keys, query) for one, keys, query in ASKED if one == name]
    data = data_words()
    for keys, query in asked:
        with translation.override("es"):
            address = reverse(name, args=keys) + query
        response = desk.get(address)
        assert response.status_code == 200, address
        assert list(not_given_out(response, data)) == [], address


@pytest.mark.parametrize(("name", "keys"), SENT_EMPTY, ids=[name for name, _ in SENT_EMPTY])
def test_the_errors_of_a_form_are_said_in_its_language(name: str, keys: list[object], desk: Client) -> None:
    with translation.override("es"):
        address = reverse(name, args=keys)
    # A browser always sends something; of nothing at all a form is not bound and has no errors.
    response = desk.post(address, {"sent": "1"})
    assert response.status_code in (200, 422), address
    assert list(not_given_out(response, data_words())) == [], address
