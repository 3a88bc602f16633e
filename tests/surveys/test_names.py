"""Names near a spelling: found by the letters they share, shown, and stored only as a person says."""

from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from surveys.models import Catch, TaxonAlias, Upload, UploadName, Visit
from surveys.names import near_names
from surveys.uploads.commit import NotTaken, check_upload, take
from surveys.uploads.name_choices import keep_names, names_of, prepare_upload
from tests.factories import make_station, make_taxon, make_user, season_csv

pytestmark = pytest.mark.django_db

ROW = {"station": "WIL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "creek chubb", "count": 12}
SEASON = season_csv(ROW, {**ROW, "pass": 2, "count": 5, "taxon": "Creek Chubb"})
SignIn = Callable[[str], Client]


@pytest.fixture(autouse=True)
def chub() -> Any:
    make_station("WIL-01")
    chub = make_taxon("Semotilus atromaculatus", common_name="Creek Chub", code="CRCH")
    make_taxon("Rhinichthys atratulus", common_name="Eastern Blacknose Dace")
    make_taxon("Rhinichthys cataractae", common_name="Longnose Dace")
    return chub


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("Semotilus atromaculatis", "scientific name"),
        ("SEMOTILLUS ATROMACULATUS", "scientific name"),
        ("creek chubb", "common name"),
        ("Crek Chub", "common name"),
        ("crch1", "code"),
        ("horned dacce", "other name"),
    ],
)
def test_the_nearest_taxon_is_found_by_any_of_its_names(chub: Any, written: str, kind: str) -> None:
    TaxonAlias.objects.create(taxon=chub, name="Horned Dace")
    nearest = near_names([written])[written.lower()][0]
    assert (nearest.key, nearest.kind) == (chub.pk, kind)
    assert 0.3 <= nearest.alike < 1


def test_many_names_are_looked_up_in_one_query(django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(1):
        found = near_names(["creek chubb", "blacknose dacee", "zzzz"])
    assert set(found) == {"creek chubb", "blacknose dacee"}


def test_a_taxon_is_named_once_and_the_nearest_comes_first() -> None:
    found = near_names(["longnose dace x"])["longnose dace x"]
    assert found[0].scientific_name == "Rhinichthys cataractae"
    assert len({one.key for one in found}) == len(found)
    assert [one.alike for one in found] == sorted((one.alike for one in found), reverse=True)


def sent() -> Upload:
    return check_upload("season.csv", SEASON, by=make_user("biologist"))[0]


def test_a_name_that_comes_near_is_never_taken_by_itself() -> None:
    upload = sent()
    open_name = prepare_upload(upload).open_names[0]
    assert (open_name.text, open_name.rows) == ("creek chubb", (2, 3))
    assert open_name.near[0].scientific_name == "Semotilus atromaculatus"
    with pytest.raises(NotTaken):
        take(upload, by=None)
    assert not Visit.objects.exists()


def test_a_confirmed_name_is_stored_as_confirmed_with_who_and_when(chub: Any) -> None:
    upload, person = sent(), make_user("biologist", "walker")
    plan = keep_names(upload, {"creek chubb": chub.pk}, by=person)
    assert not plan.has_errors
    assert "is stored as Semotilus atromaculatus" in next(
        f.message for f in plan.findings if f.code == "name_confirmed"
    )
    take(upload, by=person)
    assert set(Catch.objects.values_list("taxon", flat=True)) == {chub.pk}
    said = UploadName.objects.get()
    assert (said.written, said.by, said.remembered) == ("creek chubb", person, False)
    assert said.at is not None
    assert not TaxonAlias.objects.exists()


def test_a_confirmation_after_the_plan_was_seen_asks_for_another_look(chub: Any) -> None:
    upload = sent()
    seen = keep_names(upload, {"creek chubb": chub.pk}, by=None).mark()
    other = near_names(["longnose dace"])["longnose dace"][0].key
    keep_names(upload, {"creek chubb": other}, by=None)
    with pytest.raises(NotTaken, match="changed since"):
        take(upload, by=None, seen=seen)


def test_a_confirmation_is_taken_back(chub: Any) -> None:
    upload = sent()
    keep_names(upload, {"creek chubb": chub.pk}, by=None)
    assert keep_names(upload, {"creek chubb": None}, by=None).has_errors
    assert names_of(upload) == {}


def test_a_remembered_spelling_matches_the_next_file(chub: Any) -> None:
    keep_names(sent(), {"creek chubb": chub.pk}, by=None, remember=["creek chubb"])
    assert TaxonAlias.objects.get().taxon == chub
    assert UploadName.objects.get().remembered
    later = season_csv({**ROW, "visit_date": "2024-08-01"})
    assert not prepare_upload(check_upload("later.csv", later, by=None)[0]).has_errors


def test_names_that_do_not_stand_in_the_file_are_passed_over(chub: Any) -> None:
    upload = sent()
    keep_names(upload, {"brown trout": chub.pk}, by=None)
    assert names_of(upload) == {}


def test_a_name_two_taxa_share_is_asked_about_and_settled(chub: Any) -> None:
    other = make_taxon("Semotilus corporalis", common_name="Creek Chub")
    upload, _ = check_upload("s.csv", season_csv({**ROW, "taxon": "Creek Chub"}), by=None)
    open_name = prepare_upload(upload).open_names[0]
    assert open_name.shared
    assert {one.key for one in open_name.near} == {chub.pk, other.pk}
    assert not keep_names(upload, {"creek chub": other.pk}, by=None).has_errors


class TestPage:
    def say(self, client: Client, upload: Upload, **fields: str) -> Any:
        data = {"name-1": "creek chubb"} | {key.replace("_", "-"): value for key, value in fields.items()}
        return client.post(reverse("surveys:upload_names", args=[upload.pk]), data, follow=True)

    def test_the_page_lists_the_name_with_its_rows_and_what_comes_near(self, signed_in: SignIn) -> None:
        text = signed_in("biologist").get(sent().get_absolute_url()).content.decode()
        assert "“creek chubb” in rows 2 and 3" in text
        assert "nearly the same as the common name Creek Chub" in text
        assert "Stored as <i>Semotilus atromaculatus</i>" in text
        assert "Remember this spelling" not in text  # only who keeps the lists may add another name

    def test_a_choice_is_kept(self, signed_in: SignIn, chub: Any) -> None:
        upload = sent()
        answer = self.say(signed_in("biologist"), upload, choice_1=str(chub.pk), remember_1="yes")
        assert "Every name of the file stands for a taxon" in answer.content.decode()
        assert names_of(upload) == {"creek chubb": chub.pk}
        assert not TaxonAlias.objects.exists()

    def test_who_keeps_the_lists_may_have_a_spelling_remembered(self, signed_in: SignIn, chub: Any) -> None:
        self.say(signed_in("administrator"), sent(), choice_1=str(chub.pk), remember_1="yes")
        assert TaxonAlias.objects.get().name == "creek chubb"

    @pytest.mark.parametrize("typed", ["longnose dace", "Longnose Dace (Rhinichthys cataractae)"])
    def test_another_taxon_is_named(self, signed_in: SignIn, typed: str) -> None:
        self.say(signed_in("biologist"), sent(), choice_1="other", other_1=typed)
        assert UploadName.objects.get().taxon.scientific_name == "Rhinichthys cataractae"

    def test_another_taxon_must_be_on_the_list(self, signed_in: SignIn) -> None:
        answer = self.say(signed_in("biologist"), sent(), choice_1="other", other_1="pike")
        assert "not on the list of taxa" in answer.content.decode()
        assert not UploadName.objects.exists()

    def test_a_taxon_that_was_not_offered_is_not_taken(self, signed_in: SignIn) -> None:
        pike = make_taxon("Esox lucius")
        self.say(signed_in("biologist"), sent(), choice_1=str(pike.pk))
        assert not UploadName.objects.exists()

    @pytest.mark.parametrize("role", ["", "planner", "outreach", "reviewer"])
    def test_others_may_not(self, signed_in: SignIn, role: str, chub: Any) -> None:
        self.say(signed_in(role), sent(), choice_1=str(chub.pk))
        assert not UploadName.objects.exists()

    def test_a_file_that_is_taken_keeps_what_was_said(self, signed_in: SignIn, chub: Any) -> None:
        upload = sent()
        client = signed_in("biologist")
        self.say(client, upload, choice_1=str(chub.pk))
        take(Upload.objects.get(), by=None)
        answer = self.say(client, upload, choice_1="leave")
        text = answer.content.decode()
        assert "no longer waits" in text
        assert "was stored as <i>Semotilus atromaculatus</i>" in text

    def test_near_names_are_given_to_pages_that_ask(self, signed_in: SignIn) -> None:
        near = signed_in("biologist").get("/entry/near-names.json", {"name": "creek chubb"}).json()["near"]
        assert near[0]["scientific_name"] == "Semotilus atromaculatus"
        assert signed_in("planner").get("/entry/near-names.json").status_code == 403


class TestCommand:
    def load(self, tmp_path: Any, *more: str) -> str:
        file = tmp_path / "season.csv"
        file.write_bytes(SEASON)
        out = StringIO()
        call_command("load_season", str(file), *more, stdout=out, stderr=out)
        return out.getvalue()

    def test_a_refusal_tells_how_to_confirm(self, tmp_path: Any, capsys: Any) -> None:
        file = tmp_path / "season.csv"
        file.write_bytes(SEASON)
        out = StringIO()
        with pytest.raises(CommandError):
            call_command("load_season", str(file), stdout=out, stderr=out)
        assert '--name "creek chubb=Semotilus atromaculatus"' in out.getvalue()

    def test_a_name_is_confirmed_by_option_and_kept(self, tmp_path: Any, chub: Any) -> None:
        assert "Stored 1 visit" in self.load(tmp_path, "--name", "creek chubb=CRCH")
        assert UploadName.objects.get().taxon == chub

    @pytest.mark.parametrize("option", ["creek chubb", "creek chubb=pike", "=CRCH"])
    def test_an_option_nobody_can_read_is_refused(self, tmp_path: Any, option: str) -> None:
        with pytest.raises(CommandError):
            self.load(tmp_path, f"--name={option}")
        assert not Visit.objects.exists()
