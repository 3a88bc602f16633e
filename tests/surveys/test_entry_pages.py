"""Pages for entering by hand: who may, what is shown, what is stored."""

import json

import pytest
from django.urls import reverse

from surveys.models import TaxonAlias, Visit, VisitStatus
from surveys.review import return_visit
from tests.factories import make_method, make_station, make_taxon, make_visit

pytestmark = pytest.mark.django_db
HOME = "/entry/"


def sheet_address(visit: Visit) -> str:
    return reverse("surveys:entry_visit", args=[visit.pk])


def draft(person, **fields) -> Visit:
    fields.setdefault("station", make_station("WIL-01"))
    fields.setdefault("passes", [])
    return make_visit(status=VisitStatus.DRAFT, entered_by=person("biologist"), **fields)


def typed(visit: Visit, **texts) -> dict:
    base = {"visit_date": str(visit.visit_date), "method": visit.method.code, "passes": "2"}
    return {**base, "revision": str(visit.revision), "action": "save", **texts}


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("", 302),
        ("planner", 403),
        ("outreach", 403),
        ("reviewer", 403),
        ("biologist", 200),
        ("administrator", 200),
    ],
)
def test_only_those_who_enter_get_in(signed_in, person, role, status):
    visit = draft(person)
    client = signed_in(role)
    assert client.get(HOME).status_code == status
    assert client.get(sheet_address(visit)).status_code == status


def test_cautions_defer_to_local_rules_and_the_crew_leader(signed_in):
    page = signed_in("biologist").get(HOME).content.decode()
    for words in (
        "Local rules and codes",
        "judgement of the trained crew leader come",
        "OFR 93-104",
        "permit",
    ):
        assert words.replace("OFR", "Open-File Report") in page


def test_a_visit_is_begun_as_a_draft_with_the_fixed_reach(signed_in, person):
    make_station("WIL-09", reach_length_m=80, method=make_method("three-pass", planned_passes=3))
    given = {"station": "wil-09", "visit_date": "2024-07-16", "method": ""}
    answer = signed_in("biologist").post(HOME, given)
    visit = Visit.objects.get()
    assert answer.url == sheet_address(visit)
    assert (visit.status, visit.reach_length_m, visit.mean_width_m) == ("draft", 80, None)
    assert (visit.method.code, visit.entered_by) == ("three-pass", person("biologist"))


def test_a_visit_that_is_begun_twice_is_one_visit(signed_in, person):
    visit = draft(person)
    given = {"station": visit.station.code, "visit_date": str(visit.visit_date)}
    answer = signed_in("administrator").post(HOME, given)
    assert answer.url == sheet_address(visit)
    assert Visit.objects.count() == 1


@pytest.mark.parametrize(
    "given",
    [
        {"station": "NO-99"},
        {"visit_date": "2999-01-01"},
        {"visit_date": "0025-07-16"},
        {"visit_date": "16.7.2024"},
        {"method": "0"},
    ],
)
def test_what_cannot_be_begun_is_said(signed_in, given):
    make_station("WIL-01")
    whole = {"station": "WIL-01", "visit_date": "2024-07-16", **given}
    answer = signed_in("biologist").post(HOME, whole)
    assert answer.status_code == 422
    assert not Visit.objects.exists()


def test_the_reviewers_remark_stands_beside_what_came_back(signed_in, person):
    visit = make_visit(status=VisitStatus.SUBMITTED, entered_by=person("biologist"))
    return_visit(visit.pk, by=person("reviewer"), remark="Weigh pass 2 again")
    client = signed_in("biologist")
    assert "Weigh pass 2 again" in client.get(HOME).content.decode()
    assert "Weigh pass 2 again" in client.get(sheet_address(visit)).content.decode()


def test_expected_species_are_blank_rows(signed_in, person):
    visit = draft(person, date="2024-07-16")
    make_visit(visit.station, "2023-07-16", passes=[{"Creek Chub": 8}])
    chub = make_taxon("Creek Chub")
    page = signed_in("biologist").get(sheet_address(visit)).content.decode()
    assert f'name="count-1-{chub.pk}" id="count-1-{chub.pk}" value=""' in page
    assert "at 1 of 1 earlier visits" in page


@pytest.mark.parametrize(
    "name", ["Bluegill", "lepomis macrochirus", "Bluegill (Lepomis macrochirus)", "BLGL"]
)
def test_a_species_is_added_by_any_of_its_names(signed_in, person, name):
    taxon = make_taxon("Bluegill", code="BLGL")
    visit = draft(person)
    answer = signed_in("biologist").post(sheet_address(visit), typed(visit, ph="7.1", add_taxon=name))
    page = answer.content.decode()
    assert f'name="count-1-{taxon.pk}"' in page
    assert 'value="7.1"' in page
    assert Visit.objects.get().ph is None


def test_an_unknown_species_is_said_and_nothing_typed_is_lost(signed_in, person):
    visit = draft(person)
    answer = signed_in("biologist").post(sheet_address(visit), typed(visit, ph="7.1", add_taxon="Snark"))
    assert answer.status_code == 422
    assert "Snark" in answer.content.decode()
    assert 'value="7.1"' in answer.content.decode()


def test_one_more_pass_keeps_what_is_typed(signed_in, person):
    visit = draft(person)
    given = typed(visit, action="add_pass", **{"effort_s-1": "600"})
    page = signed_in("biologist").post(sheet_address(visit), given).content.decode()
    assert 'name="effort_s-3"' in page
    assert 'value="600"' in page


def test_a_sheet_is_saved_and_handed_in(signed_in, person):
    visit, chub = draft(person), make_taxon("Creek Chub").pk
    given = typed(
        visit, **{f"count-1-{chub}": "12", f"count-2-{chub}": "4"}, stop_nets="both", crew_lead="K. L."
    )
    given["reach_length_m"] = "75"
    client = signed_in("biologist")
    assert client.post(sheet_address(visit), given).status_code == 302
    given |= {"revision": "2", "action": "submit"}
    assert client.post(sheet_address(visit), given).url == HOME
    visit.refresh_from_db()
    assert (visit.status, visit.passes.count()) == ("submitted", 2)


def test_a_refused_sheet_is_shown_again_as_typed(signed_in, person):
    visit = draft(person)
    answer = signed_in("biologist").post(sheet_address(visit), typed(visit, water_temp_c="180"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="180"' in page
    assert 'href="#water_temp_c"' in page


def test_the_second_saver_sees_both_and_chooses(signed_in, person):
    visit, client = draft(person), signed_in("biologist")
    base = json.dumps({"visit_date": "2024-07-16", "method": visit.method.code})
    assert client.post(sheet_address(visit), typed(visit, ph="7.1", **{"no_fish-1": "1"})).status_code == 302
    late = typed(visit, water_temp_c="18", ph="7.9", base=base)
    answer = signed_in("administrator").post(sheet_address(visit), late)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert 'name="take" value="no_fish-1" aria-label="Pass 1: no fish: take the stored value" checked' in page
    assert 'name="take" value="ph" aria-label="pH: take the stored value">' in page
    chosen = late | {"revision": "2", "take": ["no_fish-1"]}
    assert signed_in("administrator").post(sheet_address(visit), chosen).status_code == 302
    visit.refresh_from_db()
    assert (visit.ph, visit.water_temp_c, visit.passes.count()) == (7.9, 18, 1)


@pytest.mark.parametrize("action", ["save", "submit"])
def test_a_button_pressed_twice_does_its_work_once_and_asks_nothing(signed_in, person, action):
    """The browser shows the answer to the second press alone."""
    visit, chub, dace = draft(person), make_taxon("Creek Chub"), make_taxon("Blacknose Dace")
    texts = typed(
        visit, action=action, stop_nets="both", crew_lead="K. L.", reach_length_m="75", mean_width_m="3.4",
        **{f"count-1-{chub.pk}": "9", f"count-1-{dace.pk}": "0", "no_fish-2": "1"},
    )  # fmt: skip
    client = signed_in("biologist")
    first, second = (client.post(sheet_address(visit), texts) for _ in range(2))
    home = HOME if action == "submit" else sheet_address(visit)
    assert (first.url, second.url) == (home, home)
    assert "Two versions" not in client.get(home).content.decode()
    # What differs from the first press is not passed over.
    assert client.post(sheet_address(visit), {**texts, f"count-1-{chub.pk}": "8"}).status_code == 409


def test_what_waits_for_the_reviewer_is_not_changed(signed_in):
    visit = make_visit(status=VisitStatus.SUBMITTED)
    answer = signed_in("biologist").post(sheet_address(visit), typed(visit, ph="7.1"))
    assert answer.status_code == 409
    assert signed_in("biologist").get(sheet_address(visit)).status_code == 302
    assert Visit.objects.get().ph is None


@pytest.mark.parametrize("odd", [{"revision": "x"}, {"base": "{"}, {"passes": "-4"}, {"row": "x"}])
def test_a_form_that_was_tampered_with_stores_nothing_and_breaks_nothing(signed_in, person, odd):
    visit = draft(person)
    answer = signed_in("biologist").post(sheet_address(visit), {**typed(visit), **odd})
    assert answer.status_code in (302, 409)


@pytest.mark.parametrize("odd", ["passes", "revision", "row", "detail", "open"])
def test_a_digit_of_no_number_in_a_hidden_field_breaks_nothing(signed_in, person, odd):
    visit = draft(person)
    answer = signed_in("biologist").post(sheet_address(visit), {**typed(visit), odd: "\u00b2"})
    assert answer.status_code in (200, 302, 409)


@pytest.mark.parametrize(
    "count", ["12\u00b2", "\u2461", "\u0661\u0662"], ids=["squared", "circled", "arabic"]
)
def test_a_count_in_other_digits_is_asked_about_and_what_was_typed_stays(signed_in, person, count):
    """Digits of other scripts and raised ones are told by the same sentence as any other word."""
    visit, chub = draft(person), make_taxon("Creek Chub")
    texts = typed(visit, **{f"count-1-{chub.pk}": count, f"count-2-{chub.pk}": "7"})
    answer = signed_in("biologist").post(sheet_address(visit), texts)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert f"{count}" in page and "is not a whole number" in page and 'value="7"' in page
    looked = signed_in("biologist").post(reverse("surveys:entry_check", args=[visit.pk]), texts)
    assert looked.json()["wrong"] == [f"count-1-{chub.pk}"]


def test_a_zero_byte_in_a_name_or_a_remark_breaks_nothing(signed_in, person):
    visit = draft(person)
    client = signed_in("biologist")
    assert client.post(sheet_address(visit), typed(visit, add_taxon="a\0b")).status_code == 422
    chub = make_taxon("Creek Chub")
    texts = typed(visit, **{f"count-1-{chub.pk}": "3", "remark": "deep\0 pool", "action": "submit"})
    assert client.post(sheet_address(visit), texts).status_code in (302, 422)


def test_queries_do_not_grow_with_the_catch(signed_in, person, django_assert_max_num_queries):
    visit = draft(person, passes=[{"Creek Chub": 4, "Bluegill": 2, "Blacknose Dace": 1}])
    client = signed_in("biologist")
    with django_assert_max_num_queries(40):
        client.get(sheet_address(visit))


class TestNearNames:
    """A spelling that is not on the list is asked about; the choice comes back as a name of its own."""

    def test_names_that_come_near_are_offered_and_nothing_is_added(self, signed_in, person):
        visit, chub = draft(person), make_taxon("Creek Chub")
        answer = signed_in("biologist").post(sheet_address(visit), typed(visit, add_taxon="creek chubb"))
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "Did you mean one of these?" in page
        assert f'name="meant" value="{chub.scientific_name}"' in page
        assert f'name="row" value="{chub.pk}"' not in page

    def test_the_name_that_was_chosen_goes_before_the_spelling(self, signed_in, person):
        visit, chub = draft(person), make_taxon("Creek Chub")
        answer = signed_in("biologist").post(
            sheet_address(visit), typed(visit, add_taxon="creek chubb", meant=chub.scientific_name)
        )
        assert answer.status_code == 200
        assert f'name="row" value="{chub.pk}"' in answer.content.decode()

    def test_a_name_near_nothing_says_so(self, signed_in, person):
        visit = draft(person)
        page = signed_in("biologist").post(sheet_address(visit), typed(visit, add_taxon="qqqq")).content
        assert "No name on the list comes near it." in page.decode()


def test_the_list_for_the_creek_holds_other_names(signed_in):
    chub = make_taxon("Creek Chub")
    TaxonAlias.objects.create(taxon=chub, name="Horned dace")
    lists = signed_in("biologist").get("/entry/lists.json").json()
    assert next(one for one in lists["taxa"] if one["id"] == chub.pk)["other"] == ["Horned dace"]
