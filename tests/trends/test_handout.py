"""The handout: computed facts, words that staff change, the checks on them, and what the public must not read."""

import datetime
from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import translation

from surveys.language import told
from surveys.models import Watershed
from tests.copies import MadeOnce
from tests.factories import make_station, make_taxon, make_visit, make_watershed
from trends import reading_grade
from trends.creek_fish import creek_fish
from trends.handout import facts_of, filled, handout
from trends.handout_editing import faults, save_texts
from trends.handout_parts import BY_KEY, EVERY
from trends.models import HandoutText, LandCover, LandUseNote
from trends.reading_grade import remarks
from trends.recompute import mark_all, recompute_marked

STATE, FISH = BY_KEY["state"], BY_KEY["fish"]


def make_creek() -> Watershed:
    """Two stations, ten years: a chub always met, a sculpin lost, a trout that came back, a hidden darter."""
    make_taxon("Etheostoma sellare", common_name="Hidden Darter", sensitive_location=True, native=True)
    for code in ("WIL-01", "WIL-02"):
        station = make_station(code)
        for year in range(2014, 2024):
            fish = {"Creek Chub": 20}
            if year <= 2017:
                fish["Mottled Sculpin"] = 4
            if year in (2014, 2015, 2023):
                fish["Brook Trout"] = 1
            if code == "WIL-01" and year == 2022:
                fish["Etheostoma sellare"] = 1
            make_visit(station, f"{year}-07-10", passes=[fish, {"Creek Chub": 6}], mean_width_m=4)
    make_visit(station, "2024-07-10", passes=[{"Bluegill": 3}], status="submitted")
    mark_all()
    recompute_marked()
    return station.watershed


@pytest.fixture
def creek(db: None, made_once: MadeOnce) -> Watershed:
    return made_once(make_creek)


# --- reading grade -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "words", "sentences", "syllables"),
    [
        ("We count the fish. We let them go.", 8, 2, 8),
        ("We met many species here. The creek is small.", 9, 2, 11),
        ("Crews visit the stations every summer, and they count what they catch.", 12, 1, 17),
    ],
)
def test_the_grade_follows_the_published_formula(
    text: str, words: int, sentences: int, syllables: int
) -> None:
    """Kincaid, Fishburne, Rogers and Chissom 1975, Research Branch Report 8-75 (formula from memory):
    0.39 words a sentence + 11.8 syllables a word - 15.59. Words and syllables were counted by hand."""
    by_hand = 0.39 * words / sentences + 11.8 * syllables / words - 15.59
    assert reading_grade.reading(text).grade == pytest.approx(by_hand, abs=0.01)


def test_a_longer_word_and_a_longer_sentence_are_harder() -> None:
    easy = reading_grade.reading("We count the fish. We let them go.").grade
    longer = reading_grade.reading("We count the fish and we let them go.").grade
    harder = reading_grade.reading("We enumerate the fish. We subsequently release them.").grade
    assert easy is not None and longer is not None and harder is not None
    assert easy < longer and easy < harder


def test_spanish_has_a_scale_of_its_own() -> None:
    """Fernández Huerta 1959: the higher, the easier."""
    easy = reading_grade.reading("Contamos los peces. Los dejamos ir.", "es")
    harder = reading_grade.reading("Cuantificamos las poblaciones ictiológicas anualmente.", "es")
    assert easy.grade is None and easy.ease is not None and harder.ease is not None
    assert easy.ease > harder.ease


def test_a_text_without_words_has_no_grade() -> None:
    assert reading_grade.reading(" ... ").grade is None


def test_every_draft_is_easy_to_read_and_allowed(creek: Watershed) -> None:
    """Targets of the programme's own: grade 8 at most, sentences of 20 words at most."""
    values = facts_of(creek).values
    for part in EVERY:
        assert faults(part, part.draft) == [], part.key
        assert remarks(filled(part.draft, values)) == [], part.key


def test_every_spanish_draft_is_easy_to_read_and_allowed(creek: Watershed) -> None:
    """Fernández Huerta's ease of 60 at least, sentences of 20 words at most: the programme's own targets."""
    with translation.override("es"):
        values = facts_of(creek).values
        for part in EVERY:
            assert told(part.draft) != part.draft or part.draft.startswith("{"), part.key
            assert faults(part, told(part.draft)) == [], part.key
            assert remarks(filled(told(part.draft), values), "es") == [], part.key


def test_each_language_keeps_words_of_its_own(creek: Watershed, person: Callable[[str], object]) -> None:
    with translation.override("es"):
        save_texts(creek, {"do": "Venga a plantar árboles con nosotros."}, by=person("outreach"))
        spanish = {s.part.key: s.words for s in handout(creek).questions}
    english = {s.part.key: s.words for s in handout(creek).questions}
    assert spanish["do"] == "Venga a plantar árboles con nosotros."
    assert english["do"] == BY_KEY["do"].draft


def test_spanish_words_may_not_name_a_cause_either() -> None:
    with translation.override("es"):
        for words in ("Los peces se fueron debido a las obras.", "La obra causó la pérdida."):
            assert faults(BY_KEY["blame"], words)
        assert faults(BY_KEY["blame"], "El arroyo está muerto.")
        assert not faults(BY_KEY["blame"], "También hubo obras en esos años.")


# --- facts ---------------------------------------------------------------------------------------------


def test_what_lives_here_is_sorted_by_when_it_was_met(creek: Watershed) -> None:
    fish = creek_fish(creek)
    assert [s.taxon.common_name for s in fish.common] == ["Creek Chub"]
    # By hand: two stations in 2018 to 2023 make twelve visits since the last sculpin.
    assert [(s.taxon.common_name, s.last_year, s.since) for s in fish.lost] == [("Mottled Sculpin", 2017, 12)]
    assert [(s.taxon.common_name, s.away) for s in fish.returned] == [("Brook Trout", (2016, 2022))]
    assert [s.taxon.common_name for s in fish.special] == ["Brook Trout"]


def test_the_lost_are_said_to_be_not_seen_and_never_gone(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    page = signed_in("").get("/handout/willow-run/").content.decode()
    assert "Mottled Sculpin, not seen since 2017 in 12 visits" in page
    assert "Not seen is not gone" in page
    for word in ("extinct", "vanished", "disappeared"):
        assert word not in page


def test_a_visit_in_review_is_in_no_number(creek: Watershed, signed_in: Callable[[str], Client]) -> None:
    page = signed_in("").get("/handout/willow-run/").content.decode()
    assert "20 accepted visits" in page and "Bluegill" not in page


def test_a_sensitive_fish_is_named_for_the_creek_without_place_or_year(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    lines = dict(facts_of(creek).fish_lines)
    assert "Hidden Darter; for some of them we do not say where" in lines["Special"]
    for name, words in lines.items():
        if name != "Special":
            assert "Hidden Darter" not in words
    page = signed_in("").get("/handout/willow-run/").content.decode()
    assert (
        page.count("Hidden Darter") == 1 and "WIL-01" not in page.split("Hidden Darter")[1].split("</li>")[0]
    )


def test_with_a_single_station_a_sensitive_fish_is_not_named(db: None) -> None:
    make_taxon("Etheostoma sellare", common_name="Hidden Darter", sensitive_location=True, native=True)
    station = make_station("ALD-01", watershed="Alder Run")
    make_visit(station, "2022-07-01", passes=[{"Etheostoma sellare": 2, "Creek Chub": 1}])
    facts = facts_of(station.watershed)
    assert "Hidden Darter" not in str(facts.fish_lines) and facts.fish.kinds == 1


def test_what_happened_stands_beside_and_private_notes_do_not(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    when = datetime.date(2019, 5, 1)
    LandUseNote.objects.create(
        watershed=creek, category="road", starts_on=when, title="Road widened", date_precision="year"
    )
    LandUseNote.objects.create(
        watershed=creek, category="pipe", starts_on=when, title="Under enquiry", public=False
    )
    LandCover.objects.create(watershed=creek, year=2011, impervious_pct=8)
    LandCover.objects.create(watershed=creek, year=2021, impervious_pct=14)
    page = signed_in("outreach").get("/handout/willow-run/").content.decode()
    assert "2019: Road widened" in page and "Under enquiry" not in page
    assert "from 8 % of the land in 2011 to 14 % in 2021" in page
    assert "cannot show whether any of them is the reason" in page


def test_a_creek_without_any_visit_says_so(db: None, signed_in: Callable[[str], Client]) -> None:
    make_watershed("Reed Run")
    page = signed_in("").get("/handout/reed-run/")
    assert page.status_code == 200 and "There is no fish index for Reed Run yet." in page.content.decode()


def test_an_unknown_creek_is_not_found(db: None, signed_in: Callable[[str], Client]) -> None:
    assert signed_in("").get("/handout/nowhere/").status_code == 404


# --- words ---------------------------------------------------------------------------------------------


def test_numbers_are_filled_in_and_follow_the_record(
    creek: Watershed, person: Callable[[str], object]
) -> None:
    save_texts(creek, {"fish": "{kinds} kinds swim in {creek}."}, by=person("outreach"))
    assert handout(creek).sections["fish"].words == "4 kinds swim in Willow Run."
    make_visit(make_station("WIL-01"), "2025-07-10", passes=[{"Bluegill": 3}])
    assert handout(creek).sections["fish"].words == "5 kinds swim in Willow Run."


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("We met 12 kinds, in truth {kinds}.", "Numbers here come from the record"),
        ("Many kinds live here.", "Keep {kinds}"),
        ("{kinds} kinds and {fishes}.", "{fishes} is no name"),
        ("{kinds} kinds {here.", "A brace stands alone"),
        ("{kinds} kinds: this proves it.", "does not prove"),
        ("{kinds} kinds, a healthy creek.", "Speak of the fish"),
        ("{kinds} kinds, significant news.", "A word of statistics"),
        ("{kinds} kinds mean clean water.", "do not measure"),
        ("{kinds} kinds; the loss was caused by the road.", "cannot show a cause"),
        ("{kinds} kinds and no change.", "nobody can tell"),
        ("{kinds} kinds, as before: the fish have not changed.", "nobody can tell"),
        ("{kinds} kinds. Road salt caused the loss.", "cannot show a cause"),
        ("{kinds} kinds, fewer because of the new road.", "cannot show a cause"),
        ("{kinds} kinds: a healthy Willow Creek.", "Speak of the fish"),
        ("{kinds} kinds, and yet the creek is dead.", "Speak of the fish"),
        ("{kinds} kinds are proof of good work.", "does not prove"),
    ],
)
def test_words_that_go_beyond_the_record_are_refused_with_a_reason(text: str, why: str) -> None:
    """The banned words are the programme's own rule; no source."""
    assert any(why in fault for fault in faults(FISH, text))


@pytest.mark.parametrize("fish", ["healthy brook trout", "healthy wild brook trout", "dead river chubs"])
def test_a_fish_with_a_water_in_its_name_is_a_fish(fish: str) -> None:
    assert faults(FISH, f"{{kinds}} kinds, and {fish} among them.") == []


def test_hard_words_are_remarked_on_and_may_stay() -> None:
    hard = "Macroinvertebrate communities demonstrate considerable biogeochemical heterogeneity throughout."
    assert any("Reading grade" in r for r in remarks(hard))
    long = (
        "We go to the creek each year and we count the fish and we let them go and then we come home again."
    )
    assert any("A sentence has 23 words" in r for r in remarks(long))


def test_the_drafts_own_words_are_not_stored_and_bring_the_draft_back(
    creek: Watershed, person: Callable[[str], object]
) -> None:
    by = person("outreach")
    assert save_texts(creek, {"fish": FISH.draft}, by=by) == []
    assert save_texts(creek, {"fish": "{kinds} kinds."}, by=by) == ["fish"]
    assert save_texts(creek, {"fish": ""}, by=by) == ["fish"]
    assert not HandoutText.objects.exists()


def test_a_refused_text_is_not_kept_by_any_path(creek: Watershed, person: Callable[[str], object]) -> None:
    with pytest.raises(ValueError, match="Numbers here"):
        save_texts(creek, {"state": "{state} It was 3.", "helps": "Plant trees."}, by=person("outreach"))
    assert not HandoutText.objects.exists()


# --- the desk ------------------------------------------------------------------------------------------


def form_of(client: Client) -> dict[str, str]:
    form = client.get("/handout/willow-run/edit/").context["form"]
    return {name: form[name].value() or "" for name in form.fields}


def test_outreach_changes_words_and_the_history_keeps_the_earlier_ones(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    client = signed_in("outreach")
    for words in ("Call the parks desk: 555 0100.", "Write to the parks desk."):
        response = client.post("/handout/willow-run/edit/", {**form_of(client), "do": words}, follow=True)
        assert response.redirect_chain and words in response.content.decode()
    page = client.get("/handout/willow-run/edit/").content.decode()
    earlier = page.split("Earlier words")[1]
    assert "Call the parks desk: 555 0100." in earlier and "written by some-outreach" in earlier
    assert "Words last changed on" in signed_in("").get("/handout/willow-run/").content.decode()


def test_a_fault_is_named_by_its_box_and_nothing_is_kept(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    client = signed_in("outreach")
    response = client.post("/handout/willow-run/edit/", {**form_of(client), "fish": "About 12 kinds."})
    page = response.content.decode()
    assert response.status_code == 422 and "What lives here" in page.split("error-summary")[1]
    assert "Keep {kinds}" in page and not HandoutText.objects.exists()


def test_two_people_at_once_do_not_overwrite_each_other_unseen(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    first, second = signed_in("outreach"), signed_in("administrator")
    opened = form_of(second)
    first.post("/handout/willow-run/edit/", {**form_of(first), "do": "First words."})
    response = second.post("/handout/willow-run/edit/", {**opened, "do": "Second words."})
    assert response.status_code == 422 and "Somebody else changed" in response.content.decode()
    assert HandoutText.objects.get(part="do").text == "First words."
    again = {**opened, "do": "Second words.", "seen": response.context["form"]["seen"].value()}
    assert second.post("/handout/willow-run/edit/", again).status_code == 302
    assert HandoutText.objects.get(part="do").text == "Second words."


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("", 302),
        ("biologist", 403),
        ("reviewer", 403),
        ("planner", 403),
        ("outreach", 200),
        ("administrator", 200),
    ],
)
def test_who_may_change_the_words(
    creek: Watershed, signed_in: Callable[[str], Client], role: str, status: int
) -> None:
    assert signed_in(role).get("/handout/willow-run/edit/").status_code == status


def test_the_queries_of_a_handout_do_not_grow_with_the_record(
    creek: Watershed, signed_in: Callable[[str], Client]
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = signed_in("")
    client.get("/handout/willow-run/")
    with CaptureQueriesContext(connection) as before:
        client.get("/handout/willow-run/")
    for year in range(1990, 2005):
        make_visit(make_station("WIL-03"), f"{year}-07-01", passes=[{"Creek Chub": 3, "Bluegill": 1}])
    with CaptureQueriesContext(connection) as after:
        client.get("/handout/willow-run/")
    assert len(after) <= len(before)
