"""What the county sets of the rules: for files and typed sheets alike, with a reason, and never what refuses."""

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.db.migrations.loader import MigrationLoader
from django.test import Client

from surveys.check_settings import change_rule, one_rule, rules_in_force
from surveys.entry.checking import check_sheet
from surveys.entry.saving import start_visit
from surveys.entry.sheet import sheet_from
from surveys.models import CheckRuleSetting, Visit
from surveys.rules import ALL, ASK, HARD, RULES, Rules
from surveys.uploads.commit import check_upload, take
from surveys.uploads.plan import prepare
from surveys.uploads.reference import load_stations
from tests.factories import make_method, make_station, make_taxon, make_visit, season_csv

pytestmark = pytest.mark.django_db

PH = "unusual_value.ph"
ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 12}
ALL_RULES = "/season/checks/"


@pytest.fixture(autouse=True)
def _lists() -> None:
    make_station("WIL-01", method=make_method())
    make_taxon("Creek Chub")


def set_rule(key: str, *, off: bool = False, by: Any = None, **limits: float) -> bool:
    return change_rule(RULES[key], limits=limits, off=off, reason="our creeks are so", by=by)


def in_file(*rows: dict[str, Any]) -> set[str]:
    return {f.rule for f in prepare("season.csv", season_csv(*(ROW | row for row in rows or [{}]))).findings}


@pytest.fixture
def on_sheet(person: Callable[[str], Any]) -> Callable[..., set[str]]:
    def check(**texts: str) -> set[str]:
        visit = Visit.objects.filter(visit_date="2024-07-16").first()
        if visit is None:
            station = make_station("WIL-02")
            visit, _ = start_visit(station, datetime.date(2024, 7, 16), make_method(), by=person("biologist"))
        whole = {"visit_date": "2024-07-16", "method": "two-pass", "reach_length_m": "75", "no_fish-1": "1"}
        return {one.rule for one in check_sheet(visit, sheet_from(whole | texts)).remarks}

    return check


class TestOnBothPaths:
    def test_without_a_setting_the_defaults_hold(self, on_sheet: Callable[..., set[str]]) -> None:
        assert rules_in_force() == Rules()
        assert PH in in_file({"ph": 4.8}) and PH in on_sheet(ph="4.8")
        assert PH not in in_file({"ph": 5.2}) | on_sheet(ph="5.2")

    def test_a_limit_that_was_changed_holds(self, on_sheet: Callable[..., set[str]]) -> None:
        set_rule(PH, least=4.5, most=9.5)
        assert PH not in in_file({"ph": 4.8}) | on_sheet(ph="4.8")
        assert PH in in_file({"ph": 4.4}) and PH in on_sheet(ph="4.4")

    def test_the_question_names_the_limit_in_force(self) -> None:
        set_rule(PH, least=5.5)
        found = prepare("season.csv", season_csv(ROW | {"ph": 5.2})).findings
        assert [f.message for f in found if f.rule == PH] == ["5.2 is unusual (expected 5.5 to 9.5)."]

    def test_a_rule_that_is_off_asks_nobody(self, on_sheet: Callable[..., set[str]]) -> None:
        set_rule(PH, off=True)
        assert PH not in in_file({"ph": 4.8}) | on_sheet(ph="4.8")
        assert "unusual_value.turbidity_ntu" in in_file({"turbidity_ntu": 200}), "other columns still ask"

    def test_a_rule_on_several_rows_can_be_off(self, on_sheet: Callable[..., set[str]]) -> None:
        chub = make_taxon("Creek Chub").pk
        larger = {f"count-1-{chub}": "3", f"count-2-{chub}": "5", "no_fish-1": ""}
        rows = [{"count": 3}, {"pass": 2, "count": 5}]
        assert "later_pass_larger" in in_file(*rows) & on_sheet(**larger)
        set_rule("later_pass_larger", off=True)
        assert "later_pass_larger" not in in_file(*rows) | on_sheet(**larger)

    def test_what_a_sheet_must_say_can_be_off(self, on_sheet: Callable[..., set[str]]) -> None:
        assert "crew_lead_empty" in on_sheet()
        set_rule("crew_lead_empty", off=True)
        assert "crew_lead_empty" not in on_sheet()

    @pytest.mark.parametrize(
        ("key", "limits", "rows"),
        [
            ("unusual_weight", {"heaviest": 10}, [{"biomass_g": 148.5}]),
            ("batches_below_pass", {"percent": 1}, [{"biomass_g": 98, "pass_biomass_g": 100}]),
            ("batches_above_pass", {"percent": 0}, [{"biomass_g": 100.2, "pass_biomass_g": 100}]),
            (
                "net_differs",
                {"grams": 0.1, "percent": 0},
                [{"gross_g": 300, "tare_g": 200, "biomass_g": 100.3}],
            ),
            ("width_differs_from_widths", {"percent": 1}, [{"widths_m": "3; 3", "mean_width_m": 3.1}]),
            ("calibration_old", {"days": 5}, [{"calibrated_on": "2024-07-06"}]),
            (
                "short_rest",
                {"minutes": 45},
                [
                    {"started_at": "09:00", "ended_at": "09:20"},
                    {"pass": 2, "count": 3, "started_at": "10:00", "ended_at": "10:20"},
                ],
            ),
        ],
    )
    def test_stricter_limits_ask_about_what_passed_before(
        self, key: str, limits: dict[str, float], rows: list[dict[str, Any]]
    ) -> None:
        assert key not in in_file(*rows)
        set_rule(key, **limits)
        assert key in in_file(*rows)

    def test_limits_of_rules_that_look_back_hold(self) -> None:
        station = make_station("WIL-03", reach_length_m=75, mean_width_m=4)
        for year in range(2019, 2024):
            make_visit(station, f"{year}-07-10", reach_length_m=75, mean_width_m=4)
        odd = {
            "station": "WIL-03",
            "visit_date": "2024-08-01",
            "reach_length_m": 80,
            "mean_width_m": 5,
            "count": 30,
        }
        keys = {"unusual_day", "reach_length_m_differs", "mean_width_m_differs"}
        assert not keys & in_file(odd)
        set_rule("unusual_day", days=10)
        set_rule("reach_length_m_differs", percent=5)
        set_rule("mean_width_m_differs", percent=20)
        assert keys <= in_file(odd)

    def test_the_list_of_stations_goes_by_them_too(self) -> None:
        content = b"station,watershed,stream,elevation_m\nWIL-09,Willow Run,Willow Run,2600\n"
        asked = {f.rule for f in load_stations("stations.csv", content, dry_run=True).findings}
        assert "unusual_value.elevation_m" in asked
        set_rule("unusual_value.elevation_m", most=3_000)
        assert not load_stations("stations.csv", content, dry_run=True).findings


class TestWhatCannotBeSet:
    @pytest.mark.parametrize("key", ["pass_gap", "alternating_current", "zero_count"])
    def test_only_what_asks_can_be_set(self, key: str) -> None:
        with pytest.raises(ValidationError, match="Only a rule that asks"):
            set_rule(key, off=True)

    @pytest.mark.parametrize("key", ["unusual_value.crew_size", "fast_pulses", "visit_held"])
    def test_what_guards_people_fish_and_stored_values_stays_on(self, key: str) -> None:
        with pytest.raises(ValidationError):
            set_rule(key, off=True)

    def test_a_limit_beyond_reason_is_refused(self) -> None:
        with pytest.raises(ValidationError, match="0 to 14"):
            set_rule(PH, most=20)

    def test_the_database_refuses_every_rule_that_refuses(self) -> None:
        for rule in ALL:
            if rule.level == HARD:
                with pytest.raises(IntegrityError), transaction.atomic():
                    CheckRuleSetting.objects.create(code=rule.key, off=True, reason="past the pages")

    def test_the_database_keeps_on_what_stays_on(self) -> None:
        for rule in ALL:
            if rule.level == ASK and rule.stays_on:
                with pytest.raises(IntegrityError), transaction.atomic():
                    CheckRuleSetting.objects.create(code=rule.key, off=True, reason="past the pages")

    def test_the_database_wants_a_reason(self) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            CheckRuleSetting.objects.create(code=PH, limits={"least": 4}, reason="")

    def test_a_row_of_a_rule_that_is_no_more_does_no_harm(self) -> None:
        CheckRuleSetting.objects.create(code="old_rule", limits={"a": 1}, off=True, reason="long ago")
        assert rules_in_force() == Rules()


def test_every_setting_stays_on_record(person: Callable[[str], Any]) -> None:
    clerk = person("administrator")
    set_rule(PH, least=4.5, by=clerk)
    set_rule(PH, off=True, by=clerk)
    assert set_rule(PH, by=clerk), "set back to what is proposed"
    assert not set_rule(PH), "the same again changes nothing"
    shown = one_rule(RULES[PH])
    assert [one.words for one in shown.history] == ["as proposed", "switched off", "asks below 4.5"]
    assert {one.by for one in shown.history} == {str(clerk)}
    assert not shown.changed


class TestPages:
    @pytest.mark.parametrize(
        ("role", "reads", "sets"),
        [
            ("", 302, 302),
            ("planner", 403, 403),
            ("outreach", 403, 403),
            ("biologist", 200, 403),
            ("reviewer", 200, 403),
            ("administrator", 200, 200),
        ],
    )
    def test_who_reads_and_who_sets(
        self, signed_in: Callable[[str], Client], role: str, reads: int, sets: int
    ) -> None:
        client = signed_in(role)
        assert client.get(ALL_RULES).status_code == reads
        assert client.get(f"{ALL_RULES}{PH}/").status_code == sets
        sent = client.post(f"{ALL_RULES}{PH}/", {"limit_least": 4, "limit_most": 9, "reason": "so"})
        assert CheckRuleSetting.objects.exists() == (sent.status_code == 302 and role == "administrator")

    def test_every_rule_is_there_with_its_explanation(self, signed_in: Callable[[str], Client]) -> None:
        page = signed_in("reviewer").get(ALL_RULES).content.decode()
        for rule in ALL:
            assert f'id="{rule.key}"' in page
        assert "Set this rule" not in page

    def test_a_change_is_shown_with_who_when_and_why(
        self, signed_in: Callable[[str], Client], person: Callable[[str], Any]
    ) -> None:
        sent = signed_in("administrator").post(
            f"{ALL_RULES}{PH}/", {"limit_least": "4.5", "limit_most": "9.5", "reason": "bog water up here"}
        )
        assert sent.url == f"{ALL_RULES}#{PH}"  # type: ignore[attr-defined]
        assert CheckRuleSetting.objects.get().limits == {"least": 4.5}, "a default is not kept as a change"
        page = signed_in("biologist").get(ALL_RULES).content.decode()
        for words in ("bog water up here", "(proposed: 5)", "asks below 4.5", str(person("administrator"))):
            assert words in page, words

    def test_a_rule_is_switched_off_and_set_back(self, signed_in: Callable[[str], Client]) -> None:
        client, place = signed_in("administrator"), f"{ALL_RULES}later_pass_larger/"
        client.post(place, {"off": "on", "reason": "asked too often"})
        assert not rules_in_force().on("later_pass_larger")
        assert client.post(place, {"action": "back", "reason": ""}).status_code == 422
        client.post(place, {"action": "back", "reason": "missed a swapped sheet"})
        assert rules_in_force() == Rules()

    @pytest.mark.parametrize(
        ("given", "field"),
        [
            ({"limit_least": "4", "limit_most": "9"}, "reason"),
            ({"limit_least": "", "limit_most": "9", "reason": "so"}, "limit_least"),
            ({"limit_least": "nan", "limit_most": "9", "reason": "so"}, "limit_least"),
            ({"limit_least": "-1", "limit_most": "9", "reason": "so"}, "limit_least"),
            ({"limit_least": "9", "limit_most": "8", "reason": "so"}, "limit_most"),
            ({"limit_least": "-1", "limit_most": "9", "reason": " "}, "limit_least reason"),
        ],
    )
    def test_what_cannot_be_is_said_beside_the_field(
        self, signed_in: Callable[[str], Client], given: dict[str, str], field: str
    ) -> None:
        answer = signed_in("administrator").post(f"{ALL_RULES}{PH}/", given)
        assert answer.status_code == 422
        assert set(answer.context["form"].errors) == set(field.split())
        assert not CheckRuleSetting.objects.exists()

    @pytest.mark.parametrize("key", ["pass_gap", "visit_held", "zero_count", "no_such_rule"])
    def test_there_is_no_form_for_what_cannot_be_set(
        self, signed_in: Callable[[str], Client], key: str
    ) -> None:
        assert signed_in("administrator").get(f"{ALL_RULES}{key}/").status_code == 404

    def test_a_rule_that_stays_on_offers_its_limits_only(self, signed_in: Callable[[str], Client]) -> None:
        form = signed_in("administrator").get(f"{ALL_RULES}unusual_value.crew_size/").context["form"]
        assert list(form.fields) == ["limit_least", "limit_most", "reason"]

    def test_a_remark_on_a_file_leads_to_its_rule(self, signed_in: Callable[[str], Client]) -> None:
        content = season_csv(ROW | {"ph": 4.8})
        client = signed_in("biologist")
        page = client.post("/upload/", {"file": SimpleUploadedFile("season.csv", content)}, follow=True)
        assert f'href="{ALL_RULES}#{PH}"' in page.content.decode()

    def test_a_warning_beside_a_visit_in_review_leads_to_its_rule(
        self, signed_in: Callable[[str], Client], person: Callable[[str], Any]
    ) -> None:
        upload, _ = check_upload("season.csv", season_csv(ROW | {"ph": 4.8}), by=person("biologist"))
        take(upload, by=person("biologist"))
        visit = Visit.objects.get()
        place = f"/review/{visit.pk}/"
        assert f'href="{ALL_RULES}#{PH}"' in signed_in("reviewer").get(place).content.decode()
        # A file taken before the rules had a page says only what was odd.
        for one in upload.summary["visits"]:
            del one["rules"]
        upload.save()
        page = signed_in("reviewer").get(place).content.decode()
        assert "4.8 is unusual" in page and f"{ALL_RULES}#" not in page

    def test_a_remark_on_a_typed_sheet_leads_to_its_rule(
        self, signed_in: Callable[[str], Client], on_sheet: Callable[..., set[str]]
    ) -> None:
        on_sheet()
        visit = Visit.objects.get()
        sent = {"visit_date": "2024-07-16", "method": "two-pass", "reach_length_m": "75", "no_fish-1": "1"}
        page = signed_in("biologist").post(
            f"/entry/{visit.pk}/", {**sent, "ph": "4.8", "revision": "1", "action": "hand_in"}, follow=True
        )
        assert f'href="{ALL_RULES}#{PH}"' in page.content.decode()


def test_the_constraints_of_the_database_know_every_rule() -> None:
    """A new rule that refuses or that stays on comes with a migration: the database guards it too."""
    state = MigrationLoader(None).project_state()
    made = state.models["surveys", "checkrulesetting"].options["constraints"]
    here = CheckRuleSetting._meta.constraints
    assert sorted(map(str, made)) == sorted(map(str, here))
