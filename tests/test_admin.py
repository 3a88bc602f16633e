"""The administrator's lists: who may, what happens to results, and what cannot be deleted."""

from typing import Any

import pytest
from django.core import mail
from django.forms import NullBooleanSelect
from django.test import Client
from django.urls import reverse

from surveys.models import SamplingMethod, Station, Taxon, Watershed
from tests.factories import make_method, make_station, make_taxon, make_user, make_visit, make_watershed
from trends.models import LandUseNote, StaleStation, TrendResult, VisitResult
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db

LISTS = [
    "surveys_samplingmethod",
    "surveys_watershed",
    "surveys_station",
    "surveys_taxon",
    "surveys_taxonalias",
    "trends_landusenote",
    "trends_landcover",
    "auth_user",
]
RESULTS = ["trends_visitresult", "trends_trendresult"]


@pytest.fixture
def admin(signed_in: Any) -> Client:
    return signed_in("administrator")  # type: ignore[no-any-return]


def _form(client: Client, address: str) -> dict[str, Any]:
    """The fields of a change page as the browser would send them back unchanged."""
    form = client.get(address).context["adminform"].form
    data = {name: form[name].value() for name in form.fields}
    for formset in client.get(address).context["inline_admin_formsets"]:
        management = formset.formset.management_form
        data |= {management[name].html_name: management[name].value() for name in management.fields}
    for name, field in form.fields.items():
        if isinstance(field.widget, NullBooleanSelect):
            data[name] = {True: "true", False: "false", None: "unknown"}[data[name]]
    return {k: ("" if v is None else "on" if v is True else v) for k, v in data.items() if v is not False}


def _change(row: Any) -> str:
    return reverse(f"admin:{row._meta.app_label}_{row._meta.model_name}_change", args=[row.pk])


@pytest.mark.parametrize("name", LISTS + RESULTS)
def test_an_administrator_opens_every_list(admin: Client, name: str) -> None:
    assert admin.get(reverse(f"admin:{name}_changelist")).status_code == 200


@pytest.mark.parametrize("name", LISTS)
def test_an_administrator_opens_the_form_for_a_new_row(admin: Client, name: str) -> None:
    assert admin.get(reverse(f"admin:{name}_add")).status_code == 200


@pytest.mark.parametrize("role", ["", "biologist", "reviewer", "planner", "outreach"])
@pytest.mark.parametrize("name", ["surveys_station", "auth_user", "trends_trendresult"])
def test_others_are_sent_to_sign_in(signed_in: Any, role: str, name: str) -> None:
    answer = signed_in(role).get(reverse(f"admin:{name}_changelist"))
    assert answer.status_code == 302
    assert "/login/" in answer.url


def test_a_staff_flag_alone_opens_no_list(signed_in: Any, person: Any) -> None:
    planner = person("planner")
    planner.is_staff = True
    planner.save()
    assert signed_in("planner").get(reverse("admin:surveys_station_changelist")).status_code == 403


@pytest.mark.parametrize("name", RESULTS)
def test_results_are_shown_and_not_edited(admin: Client, name: str) -> None:
    make_visit(make_station("W-1"))
    mark_all()
    recompute_marked()
    model = VisitResult if name == "trends_visitresult" else TrendResult
    row = model.objects.first()
    assert row is not None
    assert admin.get(reverse(f"admin:{name}_add")).status_code == 403
    assert admin.get(_change(row)).status_code == 200
    assert admin.post(_change(row), {}).status_code == 403


def test_an_administrator_adds_a_watershed_and_a_station(admin: Client) -> None:
    admin.post(
        reverse("admin:surveys_watershed_add"), {"name": "Alder Run", "slug": "alder-run", "description": ""}
    )
    watershed = Watershed.objects.get(slug="alder-run")
    answer = admin.post(
        reverse("admin:surveys_station_add"),
        {"code": "ALD-1", "watershed": watershed.pk, "stream": "Alder Run"},
    )
    assert answer.status_code == 302
    assert Station.objects.get(code="ALD-1").watershed == watershed


def test_a_wrong_position_is_refused_with_its_words(admin: Client) -> None:
    station = make_station("W-1")
    answer = admin.post(_change(station), _form(admin, _change(station)) | {"latitude": "39.1"})
    assert answer.status_code == 200
    assert "Give latitude and longitude together" in answer.content.decode()


class TestInUse:
    def _refused(self, admin: Client, row: Any, words: str) -> None:
        address = reverse(f"admin:{row._meta.app_label}_{row._meta.model_name}_delete", args=[row.pk])
        for send in (admin.get, admin.post):
            answer = send(address, {"post": "yes"}, follow=True)
            assert answer.status_code == 200
            assert words in answer.content.decode()
        assert type(row).objects.filter(pk=row.pk).exists()

    def test_a_taxon_that_was_caught_is_kept(self, admin: Client) -> None:
        make_visit()
        self._refused(admin, make_taxon("Creek Chub"), "it was caught at 1 visit")

    def test_a_station_with_visits_is_kept(self, admin: Client) -> None:
        station = make_station("W-1")
        make_visit(station)
        self._refused(admin, station, "1 visit belong to it")

    def test_a_watershed_with_stations_is_kept(self, admin: Client) -> None:
        self._refused(admin, make_station("W-1").watershed, "1 station belong to it")

    def test_a_sampling_method_in_use_is_kept(self, admin: Client) -> None:
        method = make_method("four-pass")
        make_visit(method=method)
        self._refused(admin, method, "1 visit use it")

    def test_a_taxon_never_caught_goes(self, admin: Client) -> None:
        taxon = make_taxon("Bluegill")
        admin.post(reverse("admin:surveys_taxon_delete", args=[taxon.pk]), {"post": "yes"})
        assert not Taxon.objects.filter(pk=taxon.pk).exists()

    def test_a_station_never_visited_goes_with_what_was_computed(self, admin: Client) -> None:
        station = make_station("W-2")
        make_visit(make_station("W-1"))
        mark_all()
        recompute_marked()
        assert TrendResult.objects.filter(station=station).exists()
        admin.post(reverse("admin:surveys_station_delete", args=[station.pk]), {"post": "yes"})
        assert not Station.objects.filter(pk=station.pk).exists()

    def test_deleting_many_at_once_is_not_offered(self, admin: Client) -> None:
        make_taxon("Creek Chub")
        answer = admin.get(reverse("admin:surveys_taxon_changelist"))
        assert "delete_selected" not in answer.content.decode()


class TestResultsFollow:
    @pytest.fixture
    def station(self) -> Station:
        station = make_station("W-1", stratum="Eastern Piedmont", catchment_km2=8.0, mean_width_m=3.0)
        make_visit(station, "2022-07-01", passes=[{"Creek Chub": 12, "Mottled Sculpin": 5}], mean_width_m=3.0)
        make_visit(station, "2023-07-01", passes=[{"Mottled Sculpin": 5}], mean_width_m=3.0)
        mark_all()
        recompute_marked()
        return station

    def _tolerant(self, year: int) -> float | None:
        return VisitResult.objects.get(visit__visit_date__year=year).values["tolerant_share_pct"]  # type: ignore[no-any-return]

    def test_a_changed_trait_changes_the_results_of_visits_that_caught_it(
        self, admin: Client, station: Station, django_capture_on_commit_callbacks: Any
    ) -> None:
        # 12 of 17 fish are tolerant at first (arithmetic).
        assert self._tolerant(2022) == pytest.approx(100 * 12 / 17)
        untouched = VisitResult.objects.get(visit__visit_date__year=2023).computed_at
        chub = make_taxon("Creek Chub")
        page = reverse("trends:trait_change", args=[chub.slug])
        assert page in admin.get(_change(chub)).content.decode()
        asked = {"rank": "species", "trophic_guild": "generalist", "native": "true", "tolerance": "moderate"}
        with django_capture_on_commit_callbacks(execute=True):
            answer = admin.post(page, asked | {"reason": "A slip.", "confirm": "yes"}, follow=True)
        assert "the results of 1 accepted visit" in answer.content.decode()
        assert self._tolerant(2022) == 0
        assert VisitResult.objects.get(visit__visit_date__year=2023).computed_at == untouched
        assert not StaleStation.objects.exists()

    def test_a_trait_is_not_changed_unseen(self, admin: Client, station: Station) -> None:
        chub = make_taxon("Creek Chub")
        admin.post(_change(chub), _form(admin, _change(chub)) | {"tolerance": "moderate"})
        assert Taxon.objects.get(pk=chub.pk).tolerance == "tolerant"

    def test_a_remark_on_a_taxon_moves_no_result(self, admin: Client, station: Station) -> None:
        chub = make_taxon("Creek Chub")
        before = list(VisitResult.objects.order_by("pk").values_list("pk", "computed_at"))
        admin.post(_change(chub), _form(admin, _change(chub)) | {"note": "common here"})
        assert Taxon.objects.get(pk=chub.pk).note == "common here"
        assert list(VisitResult.objects.order_by("pk").values_list("pk", "computed_at")) == before

    def test_a_changed_stratum_changes_the_index(
        self, admin: Client, station: Station, django_capture_on_commit_callbacks: Any
    ) -> None:
        assert VisitResult.objects.first().index_method == "maryland_fish_2005"  # type: ignore[union-attr]
        with django_capture_on_commit_callbacks(execute=True):
            admin.post(_change(station), _form(admin, _change(station)) | {"stratum": "coldwater"})
        assert set(VisitResult.objects.values_list("index_method", flat=True)) == {"wisconsin_coldwater_1996"}

    def test_a_station_that_moves_leaves_no_trend_behind(
        self, admin: Client, station: Station, django_capture_on_commit_callbacks: Any
    ) -> None:
        left, joined = station.watershed, make_watershed("Alder Run")
        with django_capture_on_commit_callbacks(execute=True):
            admin.post(_change(station), _form(admin, _change(station)) | {"watershed": joined.pk})
        assert not TrendResult.objects.filter(watershed=left).exists()
        assert TrendResult.objects.filter(watershed=joined, station=station).exists()

    def test_a_changed_season_leaves_visits_outside_it_unused(
        self, admin: Client, station: Station, django_capture_on_commit_callbacks: Any
    ) -> None:
        method = SamplingMethod.objects.get(visits__visit_date__year=2022)
        with django_capture_on_commit_callbacks(execute=True):
            admin.post(
                _change(method),
                _form(admin, _change(method)) | {"season_starts": "09-01", "season_ends": "10-31"},
            )
        trend = TrendResult.objects.get(station=station, measure="total_catch")
        assert trend.outcome["latest_year"] is None


class TestPeople:
    def _add(self, admin: Client, **fields: Any) -> Any:
        from django.contrib.auth.models import Group

        roles = [Group.objects.get(name=name).pk for name in fields.pop("roles", ["biologist"])]
        data = {"username": "new", "email": "new@example.org", "first_name": "", "last_name": "", **fields}
        return admin.post(reverse("admin:auth_user_add"), {**data, "groups": roles}, follow=True)

    def test_a_new_person_has_no_password_and_gets_a_mail_to_set_one(
        self, admin: Client, django_user_model: Any
    ) -> None:
        self._add(admin)
        new = django_user_model.objects.get(username="new")
        assert not new.has_usable_password()
        assert not new.is_staff
        assert [g.name for g in new.groups.all()] == ["biologist"]
        assert [m.to for m in mail.outbox] == [["new@example.org"]]
        assert "/account/password/reset/key/" in mail.outbox[0].body

    def test_the_link_in_the_mail_sets_a_password(self, admin: Client, django_user_model: Any) -> None:
        import re

        self._add(admin)
        address = re.search(r"https?://[^/\s]+(/account/password/reset/key/\S+)", mail.outbox[0].body)
        assert address is not None
        visitor = Client()
        form = visitor.get(address.group(1), follow=True)
        word = "quiet-riffle-9-darters"
        visitor.post(form.request["PATH_INFO"], {"password1": word, "password2": word})
        assert django_user_model.objects.get(username="new").check_password(word)

    def test_the_role_of_administrator_opens_these_pages(self, admin: Client, django_user_model: Any) -> None:
        self._add(admin, roles=["administrator"])
        assert django_user_model.objects.get(username="new").is_staff

    def test_two_people_do_not_share_an_address(self, admin: Client, django_user_model: Any) -> None:
        make_user("biologist", "first")
        answer = self._add(admin, email="First@example.org")
        assert "Somebody else has this address" in answer.content.decode()
        assert not django_user_model.objects.filter(username="new").exists()

    def test_a_mail_is_sent_again_on_request(self, admin: Client) -> None:
        one = make_user("biologist", "waiting")
        admin.post(
            reverse("admin:auth_user_changelist"),
            {"action": "send_password_mail", "_selected_action": [one.pk]},
        )
        assert [m.to for m in mail.outbox] == [["waiting@example.org"]]

    def test_an_administrator_cannot_reach_or_become_a_superuser(
        self, admin: Client, django_user_model: Any, person: Any
    ) -> None:
        root = django_user_model.objects.create_superuser("root", "root@example.org", "a-long-word-9")
        assert admin.get(_change(root)).status_code == 302  # not found in the list: back to the start
        own = person("administrator")
        admin.post(_change(own), _form(admin, _change(own)) | {"is_superuser": "on"})
        own.refresh_from_db()
        assert not own.is_superuser
        assert own.is_staff

    def test_nobody_sets_a_password_for_somebody_else(self, admin: Client) -> None:
        one = make_user("biologist", "waiting")
        address = reverse("admin:auth_user_password_change", args=[one.pk])
        word = "quiet-riffle-9-darters"
        admin.post(address, {"password1": word, "password2": word})
        one.refresh_from_db()
        assert not one.check_password(word)


def test_a_note_keeps_who_wrote_it_and_is_not_deleted(admin: Client, person: Any) -> None:
    watershed = make_watershed()
    admin.post(
        reverse("admin:trends_landusenote_add"),
        {
            "watershed": watershed.pk, "category": "trail", "starts_on": "2015-05-01",
            "date_precision": "day", "title": "New trail", "public": "on",
        },
    )  # fmt: skip
    note = LandUseNote.objects.get(title="New trail")
    assert note.written_by == person("administrator")
    assert admin.post(reverse("admin:trends_landusenote_delete", args=[note.pk])).status_code == 403


def test_how_well_a_position_is_known_is_never_zero(admin: Client) -> None:
    station = make_station("W-1", latitude=39.1, longitude=-77.2)
    form = _form(admin, _change(station))
    answer = admin.post(_change(station), form | {"position_uncertainty_m": "0"})
    words = "How far the true place may lie from the position is above zero, or left empty."
    assert words in answer.content.decode()
    assert admin.post(_change(station), form | {"position_uncertainty_m": "30"}).status_code == 302
    station.refresh_from_db()
    assert station.position_uncertainty_m == 30


@pytest.mark.parametrize(
    ("make", "field", "text"),
    [
        (make_taxon, "authorship", "(Quillon, 1801)"),
        (make_method, "reference", "County field manual, third edition, section 4"),
    ],
    ids=["who named a taxon", "where a protocol is written down"],
)
def test_what_only_the_archive_asks_for_is_edited_with_its_row(
    admin: Client, make: Any, field: str, text: str
) -> None:
    row = make()
    assert admin.post(_change(row), _form(admin, _change(row)) | {field: text}).status_code == 302
    row.refresh_from_db()
    assert getattr(row, field) == text
