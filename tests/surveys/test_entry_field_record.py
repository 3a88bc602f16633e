"""The field record at the desk: shown where it is held, opened where it is wanted, checked while one types."""

import datetime

import pytest
from django.urls import reverse

from surveys.entry.saving import Clash, NotOpen, withdraw_draft
from surveys.models import Catch, Permit, RemovalPass, SafetyCheck, Visit, VisitStatus
from surveys.review import StepRefused
from tests.factories import make_station, make_taxon, make_visit, make_watershed

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(person):
    station = make_station("WIL-01")
    return make_visit(station, status=VisitStatus.DRAFT, entered_by=person("biologist"), passes=[])


def address(visit: Visit) -> str:
    return reverse("surveys:entry_visit", args=[visit.pk])


def typed(visit: Visit, **texts) -> dict:
    base = {"visit_date": str(visit.visit_date), "method": visit.method.code, "passes": "2"}
    return {**base, "revision": str(visit.revision), "action": "save", **texts}


def line(number: int, taxon: int, **texts: str) -> dict[str, str]:
    return {f"{name}-{number}-{taxon}": text for name, text in texts.items()}


class TestChecksBeforeTheCurrent:
    def test_every_check_is_a_box_beside_a_line_that_clears_nobody(self, signed_in, visit):
        page = signed_in("biologist").get(address(visit)).content.decode()
        for one in SafetyCheck:
            assert f'name="checks_made" id="checks_made-{list(SafetyCheck).index(one) + 1}"' in page
        assert "It does not clear a crew to go and does not take the place of local rules" in page
        assert "Local rules and codes" in page

    def test_ticked_boxes_are_kept_with_who_made_them(self, signed_in, visit):
        client = signed_in("biologist")
        given = typed(visit, checks_made=["", "trained", "gear tested"], checks_by="K. L.")
        assert client.post(address(visit), given).status_code == 302
        visit.refresh_from_db()
        assert (visit.checks_made, visit.checks_by) == (["trained", "gear tested"], "K. L.")
        client.post(address(visit), typed(visit, checks_made=[""]))
        visit.refresh_from_db()
        assert visit.checks_made == []

    def test_a_visit_without_any_check_is_handed_in_all_the_same(self, signed_in, visit):
        given = typed(visit, **{"no_fish-1": "1"}, stop_nets="both", crew_lead="K. L.", reach_length_m="75")
        client = signed_in("biologist")
        looked = client.post(address(visit), given | {"action": "submit"}).context
        given |= {"action": "submit", "looked": looked["checked"].mark} if looked else {}
        client.post(address(visit), given)
        visit.refresh_from_db()
        assert (visit.status, visit.checks_made) == ("submitted", [])


class TestDetailsOfALine:
    def test_a_line_that_holds_fates_shows_them(self, signed_in, visit):
        """Nobody is refused for a field that is not on the page."""
        chub = make_taxon("Creek Chub").pk
        client = signed_in("biologist")
        fates = line(1, chub, count="12", released="11", died="1", kept="0")
        assert client.post(address(visit), typed(visit, **fates)).status_code == 302
        page = client.get(address(visit)).content.decode()
        assert f'name="released-1-{chub}" id="released-1-{chub}" value="11"' in page
        assert "holds fates" in page
        visit.refresh_from_db()
        refused = client.post(address(visit), typed(visit, **fates | line(1, chub, count="13")))
        assert refused.status_code == 422
        assert refused.context["grid"].rows[0].is_open

    def test_details_are_opened_without_a_script(self, signed_in, visit):
        chub, dace = make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
        given = typed(visit, row=[str(chub), str(dace)], open=str(chub), ph="7.1")
        page = signed_in("biologist").post(address(visit), given).content.decode()
        assert f'id="detail-{chub}"' in page
        assert f'id="detail-{dace}"' not in page
        assert 'value="7.1"' in page
        assert Visit.objects.get(pk=visit.pk).ph is None

    def test_every_line_is_opened_at_once(self, signed_in, visit):
        chub, dace = make_taxon("Creek Chub").pk, make_taxon("Blacknose Dace").pk
        given = typed(visit, row=[str(chub), str(dace)], open="all")
        page = signed_in("biologist").post(address(visit), given).content.decode()
        assert f'id="detail-{chub}"' in page
        assert f'id="detail-{dace}"' in page

    def test_a_tick_that_was_taken_away_is_gone(self, signed_in, visit):
        chub = make_taxon("Creek Chub").pk
        client = signed_in("biologist")
        client.post(
            address(visit), typed(visit, **line(1, chub, count="12", estimated="1"), detail=str(chub))
        )
        assert Catch.objects.get().estimated
        visit.refresh_from_db()
        client.post(address(visit), typed(visit, **line(1, chub, count="12"), detail=str(chub)))
        assert not Catch.objects.get().estimated

    def test_what_a_colleague_stored_meanwhile_is_on_the_page_of_both(self, signed_in, visit):
        chub = make_taxon("Creek Chub").pk
        fates = line(1, chub, count="12", released="12", died="0", kept="0")
        assert signed_in("biologist").post(address(visit), typed(visit, **fates)).status_code == 302
        late = signed_in("administrator").post(address(visit), typed(visit, **line(1, chub, count="11")))
        assert late.status_code == 409
        assert f'name="released-1-{chub}" id="released-1-{chub}" value=""' in late.content.decode()

    def test_forty_lines_with_everything_are_not_too_many_fields(self, signed_in, visit):
        taxa = [make_taxon(f"Fish{n} testis").pk for n in range(40)]
        given = {"row": [str(one) for one in taxa], "detail": [str(one) for one in taxa]}
        names = (
            "count",
            "released",
            "died",
            "kept",
            "in_main",
            "in_eel_well",
            "in_other",
            "gross_g",
            "tare_g",
        )
        for taxon in taxa:
            for number in (1, 2, 3):
                given |= line(number, taxon, **dict.fromkeys(names, ""))
        assert signed_in("biologist").post(address(visit), typed(visit, **given)).status_code == 302


def test_times_gear_and_settings_of_a_pass_are_kept(signed_in, visit):
    given = typed(
        visit,
        **{
            "no_fish-1": "1",
            "started_at-1": "9:40",
            "ended_at-1": "10:05",
            "gear_unit-1": "backpack 2",
            "waveform-1": "pulsed DC",
            "volts_first-1": "250",
            "netters-1": "2",
        },
    )
    client = signed_in("biologist")
    assert client.post(address(visit), given).status_code == 302
    one = RemovalPass.objects.get()
    assert (one.started_at, one.gear_unit, one.volts_first) == (datetime.time(9, 40), "backpack 2", 250)
    page = client.get(address(visit)).content.decode()
    assert 'name="ended_at-1" id="ended_at-1" value="10:05"' in page
    assert "None is proposed here" in page


def test_no_setting_is_proposed_on_a_new_sheet(signed_in, visit):
    grid = signed_in("biologist").get(address(visit)).context["grid"]
    assert all(f.text == "" for _, by_pass in grid.pass_lines for fields in by_pass for f in fields)
    assert not grid.passes_open


class TestTheVisit:
    def test_the_mean_of_the_widths_is_stored_where_none_is_typed(self, signed_in, visit):
        signed_in("biologist").post(address(visit), typed(visit, widths_m="2.1; 2.4; 2.0"))
        visit.refresh_from_db()
        assert visit.widths_m == [2.1, 2.4, 2.0]
        assert visit.mean_width_m == pytest.approx((2.1 + 2.4 + 2.0) / 3, abs=0.0005)

    def test_a_reach_that_nobody_measured_says_where_it_is_from(self, signed_in, visit):
        for year in (2022, 2023):
            make_visit(visit.station, f"{year}-07-16")
        client = signed_in("biologist")
        page = client.get(address(visit)).content.decode()
        assert "Carried over: 75 m is the length on record" in page
        assert "at the last 2 visits too" in page
        client.post(address(visit), typed(visit, reach_length_m="74"))
        assert "Carried over" not in client.get(address(visit)).content.decode()

    def test_a_day_without_a_permit_is_said_and_not_refused(self, signed_in, visit):
        permit = Permit.objects.create(
            number="P-1", valid_from=datetime.date(2024, 1, 1), valid_to=datetime.date(2024, 6, 30)
        )
        client = signed_in("biologist")
        page = client.get(address(visit)).content.decode()
        assert "No permit on record covers Willow Run on 2024-07-16." in page
        assert client.post(address(visit), typed(visit)).status_code == 302
        permit.valid_to = datetime.date(2024, 12, 31)
        permit.save()
        assert "No permit on record" not in client.get(address(visit)).content.decode()
        permit.watersheds.add(make_watershed("Other Run"))
        assert "No permit on record covers Willow Run" in client.get(address(visit)).content.decode()


class TestLiveChecks:
    def test_they_say_what_saving_would_and_store_nothing(self, signed_in, visit):
        chub = make_taxon("Creek Chub").pk
        given = typed(visit, **line(1, chub, count="12", released="10", died="1", kept="0"), ph="15")
        answer = signed_in("biologist").post(address(visit) + "check/", given).json()
        assert set(answer["wrong"]) == {"ph", f"released-1-{chub}"}
        assert "Put right" in answer["spots"][f"row-{chub}"]
        assert "Put right" in answer["spots"]["ph"]
        assert "No permit" in answer["permit"]
        assert not RemovalPass.objects.exists()

    def test_what_is_stored_and_not_on_the_page_counts_as_it_does_when_saved(self, signed_in, visit):
        chub = make_taxon("Creek Chub").pk
        client = signed_in("biologist")
        fates = line(1, chub, count="12", released="12", died="0", kept="0")
        client.post(address(visit), typed(visit, **fates))
        answer = client.post(address(visit) + "check/", typed(visit, **line(1, chub, count="13"))).json()
        assert any(field.endswith(f"-1-{chub}") for field in answer["wrong"])

    def test_words_of_a_person_are_not_markup(self, signed_in, visit):
        given = typed(visit, visit_date="<b>16</b>")
        answer = signed_in("biologist").post(address(visit) + "check/", given).json()
        assert "<b>" not in answer["look"] + answer["spots"]["visit_date"]

    @pytest.mark.parametrize(("role", "status"), [("", 302), ("planner", 403), ("reviewer", 403)])
    def test_only_those_who_enter_are_answered(self, signed_in, visit, role, status):
        assert signed_in(role).post(address(visit) + "check/", {}).status_code == status

    def test_an_address_that_is_only_for_the_page_is_not_opened(self, signed_in, visit):
        assert signed_in("biologist").get(address(visit) + "check/").status_code == 405


class TestWithdrawing:
    def test_who_began_a_draft_withdraws_it_with_a_reason(self, signed_in, visit):
        given = {"action": "withdraw", "revision": "1", "why": "Wrong station"}
        assert signed_in("biologist").post(address(visit), given).url == "/entry/"
        visit.refresh_from_db()
        assert visit.status == VisitStatus.WITHDRAWN
        assert visit.steps.last().remark == "Wrong station"

    def test_without_a_reason_it_stays(self, signed_in, visit):
        answer = signed_in("biologist").post(address(visit), {"action": "withdraw", "revision": "1"})
        assert answer.status_code == 422
        assert "Say why" in answer.content.decode()
        visit.refresh_from_db()
        assert visit.status == VisitStatus.DRAFT

    def test_a_colleague_is_not_offered_it_and_cannot(self, signed_in, visit, person):
        assert "Withdraw this draft" not in signed_in("administrator").get(address(visit)).content.decode()
        with pytest.raises(StepRefused):
            withdraw_draft(visit.pk, revision=1, by=person("administrator"), remark="x")

    def test_a_visit_that_was_handed_in_is_the_reviewers(self, visit, person):
        Visit.objects.filter(pk=visit.pk).update(status=VisitStatus.SUBMITTED)
        with pytest.raises(NotOpen):
            withdraw_draft(visit.pk, revision=1, by=person("biologist"), remark="x")

    def test_what_a_colleague_saved_meanwhile_is_looked_at_first(self, visit, person):
        Visit.objects.filter(pk=visit.pk).update(revision=2)
        with pytest.raises(Clash):
            withdraw_draft(visit.pk, revision=1, by=person("biologist"), remark="x")

    def test_a_reason_is_more_than_spaces(self, visit, person):
        with pytest.raises(StepRefused):
            withdraw_draft(visit.pk, revision=1, by=person("biologist"), remark="  ")
