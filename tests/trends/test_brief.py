"""The brief: its order, its words, its numbers, and what is kept when it is issued."""

import datetime
import re
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import translation

from surveys.models import Watershed
from tests.copies import MadeOnce
from tests.factories import make_station, make_visit
from trends import brief, wording
from trends.brief_proposals import PROPOSALS
from trends.exports import brief as printing
from trends.models import IssuedBrief, LandUseNote
from trends.reading import place_outcome
from trends.recompute import mark_all, recompute_marked

pytestmark = pytest.mark.django_db

CAUGHT = (31, 36, 34, 41, 39, 46, 44, 51, 49, 56, 54, 61)


def make_creek() -> Watershed:
    """Two stations of one creek, twelve years, more fish from year to year; a public and a private note."""
    upper = make_station("WIL-02", stratum="", river_km=4.0, latitude=37.1, longitude=-70.1)
    lower = make_station("WIL-01", stratum="", river_km=1.0, latitude=37.0, longitude=-70.0)
    for i, number in enumerate(CAUGHT):
        for station, more in ((lower, 0), (upper, 5)):
            fish = {"Creek Chub": number + more - 6, "Mottled Sculpin": 6}
            make_visit(
                station, datetime.date(2010 + i, 7, 16), passes=[fish, {"Creek Chub": 5}], stop_nets="both"
            )
    place = lower.watershed
    for title, public in (("Trail paved", True), ("Owner complained", False)):
        LandUseNote.objects.create(
            watershed=place, category="trail", starts_on=datetime.date(2015, 4, 1), title=title, public=public
        )
    mark_all()
    recompute_marked()
    return place


@pytest.fixture
def creek(db: None, made_once: MadeOnce) -> Watershed:
    return made_once(make_creek)


ASKED = {"measure": ["total_catch", "native_richness"]}


def test_the_page_follows_the_order_of_a_decision(creek: Watershed, client: Any) -> None:
    page = client.get(f"/brief/{creek.slug}/?measure=total_catch&proposal=trail").content.decode()
    page = page[page.index('<article class="brief">') :]
    order = [
        "data version",
        "<h1>",
        "The question: Trail",
        "Comparable years",
        "What this does not show",
        "Compared with",
        "Also happened",
        "If we keep measuring",
        "<h2>Fish</h2>",
        "Data may be used by anyone",
    ]
    places = [page.index(words) for words in order]
    assert places == sorted(places)


def test_the_finding_is_that_of_the_creeks_page(creek: Watershed) -> None:
    content, _ = brief.for_creek(creek, ASKED)
    stored = place_outcome(creek, None, "total_catch")
    assert content and stored and stored.current
    assert content["answer"] == wording.headline(stored, staff=True)
    assert content["outcomes"]["total_catch"]["periods"][0]["slope"] == stored.current.slope


def test_who_is_not_signed_in_reads_the_verdict_in_the_words_of_the_public_pages(
    client: Any, signed_in: Any
) -> None:
    """S = 7 of 7 untied years has the exact p 0.381 (Kendall's table): leaning, which is for the staff."""
    station = make_station()
    for year, fish in enumerate((21, 20, 22, 26, 25, 24, 23), start=2015):
        make_visit(station, f"{year}-07-15", passes=[{"Creek Chub": fish}])
    mark_all()
    recompute_marked()
    address = f"/brief/{station.watershed.slug}/?measure=total_catch"
    assert "leaning" in signed_in("planner").get(address).content.decode()
    page = client.get(address).content.decode()
    assert "leaning" not in page and "leans" not in page
    assert "We can&#x27;t tell yet" in page


def test_private_notes_stay_out(creek: Watershed, client: Any, signed_in: Any) -> None:
    for person in (client, signed_in("planner")):
        page = person.get(f"/brief/{creek.slug}/").content.decode()
        assert "Trail paved" in page
        assert "Owner complained" not in page


def test_every_caution_of_the_outcome_is_in_the_brief(creek: Watershed) -> None:
    content, _ = brief.for_creek(creek, ASKED)
    stored = place_outcome(creek, None, "total_catch")
    assert content and stored
    assert {c.code for c in stored.cautions} <= {c["code"] for c in content["cautions"]}
    levels = [c["level"] for c in content["cautions"]]
    assert levels == sorted(levels, key=["stop", "warn", "note"].index)


def test_stations_and_years_come_back_from_the_address(creek: Watershed) -> None:
    params = {"station": ["WIL-02", "NOT-THERE"], "from": ["2012"], "to": ["2018"], **ASKED}
    content, asked = brief.for_creek(creek, params)
    assert content is not None
    assert (content["where"]["first"], content["where"]["last"], content["where"]["years"]) == (2012, 2018, 7)
    assert [s.split()[0] for s in content["where"]["stations"]] == ["WIL-02"]
    assert asked.query() == (
        "station=WIL-02&from=2012&to=2018&proposal=general&measure=total_catch&measure=native_richness"
    )


@pytest.mark.parametrize(
    "query",
    ["from=abcd&to=", "from=2030&to=1990", "station=%00", "measure=nothing", "proposal=castle", "from=٢٠١٢"],
)
def test_an_odd_address_is_read_as_well_as_it_can_be(creek: Watershed, client: Any, query: str) -> None:
    assert client.get(f"/brief/{creek.slug}/?{query}").status_code == 200


@pytest.mark.parametrize("proposal", [p.key for p in PROPOSALS])
def test_no_banned_word_in_any_kind_of_brief(creek: Watershed, proposal: str) -> None:
    content, _ = brief.for_creek(creek, {**ASKED, "proposal": [proposal]})
    text = re.sub(r"<[^>]*>", " ", printing.brief_html(content or {})).lower()
    for word in (
        "proves",
        "caused by",
        "no change.",
        " stable",
        "healthy creek",
        "dead creek",
        "clean water",
    ):
        assert word not in text.replace("no change in the life", "")


def test_a_creek_without_visits_says_what_would_fill_it(client: Any) -> None:
    make_station("BIR-01", watershed="Birch Run")
    answer = client.get("/brief/birch-run/")
    assert answer.status_code == 200
    assert "No accepted visit" in answer.content.decode()
    assert client.get("/brief/no-such-creek/").status_code == 404


def test_the_hash_forgets_the_day_and_knows_the_data(creek: Watershed) -> None:
    one, _ = brief.for_creek(creek, ASKED, today=datetime.date(2025, 1, 1))
    other, _ = brief.for_creek(creek, ASKED, today=datetime.date(2035, 1, 1))
    assert one and other
    assert one["printed_on"] != other["printed_on"]
    assert brief.content_hash(one) == brief.content_hash(other)
    make_visit(creek.stations.first(), "2022-07-16")
    mark_all()
    recompute_marked()
    later, _ = brief.for_creek(creek, ASKED)
    assert later
    assert brief.content_hash(later) != brief.content_hash(one)
    assert later["data_version"] != one["data_version"]


# --- issued -----------------------------------------------------------------------------------------


def _issue(person: Any, creek: Watershed, **more: str) -> Any:
    content, asked = brief.for_creek(creek, ASKED)
    assert content
    data = {
        "address": asked.query(),
        "hash": brief.content_hash(content),
        "title": "Hearing of 3 May",
        **more,
    }
    return person.post(f"/brief/{creek.slug}/issue/", data)


@pytest.mark.parametrize("role", ["biologist", "reviewer", "outreach"])
def test_only_planners_issue(creek: Watershed, signed_in: Any, role: str) -> None:
    assert _issue(signed_in(role), creek).status_code == 403
    assert not IssuedBrief.objects.exists()


def test_an_issued_brief_shows_the_same_when_the_data_have_moved_on(creek: Watershed, signed_in: Any) -> None:
    planner = signed_in("planner")
    sent = _issue(planner, creek)
    assert sent.status_code == 302
    before = planner.get(sent.url).content.decode()
    kept = IssuedBrief.objects.get()
    assert "The data are the same today." in before
    assert kept.content["answer"] in before.replace("&#x27;", "'")
    make_visit(creek.stations.first(), "2022-07-16", passes=[{"Creek Chub": 400}])
    mark_all()
    recompute_marked()
    after = planner.get(sent.url).content.decode()
    assert "The data have changed since" in after
    assert kept.content["answer"] in after.replace("&#x27;", "'")
    assert kept.content_hash[:12] in after


def test_a_form_that_is_sent_twice_issues_one_brief(creek: Watershed, signed_in: Any) -> None:
    """A browser without scripts keeps nobody from a second click."""
    planner = signed_in("planner")
    once, twice = _issue(planner, creek), _issue(planner, creek)
    assert once.url == twice.url and IssuedBrief.objects.count() == 1
    _issue(planner, creek, title="Hearing of 10 May")
    assert IssuedBrief.objects.count() == 2, "another brief"


def test_a_caution_is_answered_and_stays(creek: Watershed, signed_in: Any) -> None:
    content, _ = brief.for_creek(creek, ASKED)
    assert content
    code = content["cautions"][0]["code"]
    planner = signed_in("planner")
    sent = _issue(
        planner, creek, **{f"answer-{code}": "  The two  reaches are 3 km apart. ", "answer-C99": "x"}
    )
    assert IssuedBrief.objects.get().answers == {code: "The two reaches are 3 km apart."}
    page = planner.get(sent.url).content.decode()
    assert "The two reaches are 3 km apart." in page
    assert "some-planner" in page
    assert f'<span class="brief-code">{code}</span>' in page


def test_a_brief_is_not_issued_over_data_that_nobody_looked_at(creek: Watershed, signed_in: Any) -> None:
    planner = signed_in("planner")
    planner.post(f"/brief/{creek.slug}/issue/", {"address": "measure=total_catch", "hash": "0" * 64})
    assert not IssuedBrief.objects.exists()


def test_an_altered_brief_is_found_out(creek: Watershed, signed_in: Any) -> None:
    planner = signed_in("planner")
    sent = _issue(planner, creek)
    kept = IssuedBrief.objects.get()
    kept.content["answer"] = "All is well."
    kept.save()
    assert "does not match its own hash" in planner.get(sent.url).content.decode()


def test_issued_briefs_are_for_staff(creek: Watershed, signed_in: Any, client: Any) -> None:
    sent = _issue(signed_in("planner"), creek)
    assert client.get(sent.url).status_code == 302
    assert signed_in("biologist").get(sent.url).status_code == 200


def test_a_brief_issued_in_spanish_is_read_again_in_spanish(creek: Watershed, signed_in: Any) -> None:
    planner = signed_in("planner")
    page = planner.get(f"/es/brief/{creek.slug}/?measure=total_catch").content.decode()
    seen = re.search(r'name="hash" value="(\w{64})"', page)
    assert seen
    sent = planner.post(
        f"/es/brief/{creek.slug}/issue/", {"address": "measure=total_catch", "hash": seen[1], "title": ""}
    )
    kept = IssuedBrief.objects.get()
    assert kept.content["language"] == "es"
    again = planner.get(sent.url, follow=True).content.decode()
    assert '<article class="brief" lang="es">' in again
    assert "Lo que esto no muestra" in again
    assert "Los datos siguen siendo los mismos hoy." in again, "so is the staff's page around it"
    in_english = planner.get(f"/briefs/{kept.pk}/").content.decode()
    assert "The data are the same today." in in_english and "Lo que esto no muestra" in in_english


def test_the_same_creek_has_a_version_of_its_data_for_every_language(creek: Watershed) -> None:
    """The words differ, and so the hash of the content; the data do not."""
    english, _ = brief.for_creek(creek, ASKED)
    with translation.override("es"):
        spanish, _ = brief.for_creek(creek, ASKED)
    assert english
    assert spanish
    assert english["data_version"] == spanish["data_version"]
    assert english["answer"] != spanish["answer"]
    numbers = re.compile(r"\d+")
    assert numbers.findall(english["answer"]) == numbers.findall(spanish["answer"])
    assert "language" not in english


# --- files ------------------------------------------------------------------------------------------


def test_the_html_file_needs_nothing_else(creek: Watershed, tmp_path: Path) -> None:
    path = tmp_path / "brief.html"
    call_command("export_brief", str(path), watershed=creek.slug, measure=["total_catch"], verbosity=0)
    text = path.read_text(encoding="utf-8")
    assert "<script" not in text
    assert not re.search(r"(src|href)=|url\(", text)


def test_the_file_comes_in_the_language_asked_for(creek: Watershed, tmp_path: Path) -> None:
    path = tmp_path / "brief.html"
    call_command("export_brief", str(path), watershed=creek.slug, language="es", verbosity=0)
    text = path.read_text(encoding="utf-8")
    assert '<html lang="es">' in text
    assert "Lo que esto no muestra" in text
    assert "What this does not show" not in text


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"watershed": "no-such"}, "There is no watershed no-such"),
        ({"station": ["XXX-09"]}, "has no station XXX-09"),
        ({"first": 2050, "last": 2060}, "can be shown"),
        ({"name": "brief.docx"}, "ends in .pdf or .html"),
    ],
    ids=["watershed", "station", "years", "name"],
)
def test_bad_words_are_refused_in_one_line(creek: Watershed, tmp_path: Path, options: Any, told: str) -> None:
    name = options.pop("name", "brief.pdf")
    with pytest.raises(CommandError, match=told):
        call_command("export_brief", str(tmp_path / name), **{"watershed": creek.slug, **options})


def test_without_a_browser_the_message_says_what_to_do(
    creek: Watershed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, signed_in: Any
) -> None:
    monkeypatch.setattr(printing, "chromium", lambda: None)
    with pytest.raises(CommandError, match="No Chromium is installed"):
        call_command("export_brief", str(tmp_path / "brief.pdf"), watershed=creek.slug)
    planner = signed_in("planner")
    sent = planner.get(f"/brief/{creek.slug}/brief.pdf", follow=True)
    assert "No Chromium is installed" in sent.content.decode()


def test_the_pdf_is_for_those_who_export(creek: Watershed, client: Any) -> None:
    assert client.get(f"/brief/{creek.slug}/brief.pdf").status_code == 302


@pytest.mark.browser
@pytest.mark.parametrize(("paper", "points"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_the_pdf_has_one_or_two_sides(
    creek: Watershed, tmp_path: Path, paper: str, points: tuple[int, int]
) -> None:
    # Letter is 8.5 x 11 inches, A4 is 210 x 297 mm (ISO 216); a point is 1/72 inch.
    path = tmp_path / "brief.pdf"
    call_command("export_brief", str(path), watershed=creek.slug, paper=paper, verbosity=0)
    made = path.read_bytes()
    assert made.startswith(b"%PDF-")
    assert 1 <= printing.page_count(made) <= 2
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", made)
    assert box
    assert tuple(round(float(n)) for n in box.groups()) == points


@pytest.mark.browser
def test_a_creek_with_much_to_say_still_fits_two_sides(creek: Watershed) -> None:
    for i in range(14):
        LandUseNote.objects.create(
            watershed=creek,
            category="building",
            starts_on=datetime.date(2010 + i % 10, 3, 1 + i),
            title=f"Building of the kind that takes a long title to be told apart from others, number {i}",
        )
    content, _ = brief.for_creek(creek, ASKED)
    assert content
    assert printing.page_count(printing.brief_pdf(content)) <= 2


@pytest.mark.browser
def test_the_pdf_of_the_spanish_page_is_in_spanish(creek: Watershed, signed_in: Any) -> None:
    made = signed_in("planner").get(f"/es/brief/{creek.slug}/brief.pdf?measure=total_catch")
    assert made["Content-Type"] == "application/pdf"
    assert b"/Lang (es)" in made.content


def test_each_number_carries_the_codes_of_its_cautions(creek: Watershed, client: Any) -> None:
    """Whoever copies a row out of the table takes what speaks against it along."""
    content, _ = brief.for_creek(creek, ASKED | {"from": ["2018"]})
    assert content
    assert "C01" in content["measures"][0]["codes"]
    assert all("C01" in row["codes"] for row in content["stations"])
    page = client.get(f"/brief/{creek.slug}/?measure=total_catch&from=2018").content.decode()
    row = page[page.index('<th scope="row">Total catch') :]
    assert "C01" in row[: row.index("</tr>")]
