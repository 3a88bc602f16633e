"""Whatever shows a score says that its cut points must be checked, until a named person has checked them.

One walk over every page, twin, list, file and archive that the public and the staff can open. A thing is taken
to show a score where it holds the rating word or a value of the index; those that only speak of the index (a
list of measures to choose from, a dictionary of columns) are named below.
"""

import datetime
import html
import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client

from surveys.models import RemovalPass, Visit
from tests.factories import make_station, make_taxon, make_visit
from trends import brief
from trends.exports import downloads
from trends.method_standing import short_standing, standing_sentence
from trends.models import MethodCheck, VisitResult
from trends.recompute import mark_all, recompute_marked, recompute_trends

pytestmark = pytest.mark.django_db

METHOD = "maryland_fish_2005"
# These say it in fewer words, since they are one sheet of paper.
SHORT = ("/handout/", "index.html")
# The word stands in a table of rating words or in the description of columns; no place's score does.
NO_SCORE = ("openapi", "schema", "datapackage", "dictionary", "README", "meta.xml")
PAGES = (
    "/",
    "/stations/",
    "/watersheds/willow-run/",
    "/watersheds/willow-run/?measure=richness",
    "/watersheds/willow-run/result/",
    "/stations/WIL-01/",
    "/stations/WIL-01/?measure=richness",
    "/stations/WIL-01/result/",
    "/visits/{visit}/",
    "/compare/",
    "/compare/?level=stations",
    "/compare/?measure=richness",
    "/brief/willow-run/",
    "/brief/willow-run/?measure=richness",
    "/handout/willow-run/",
    "/species/",
    "/species/semotilus-atromaculatus/",
    "/methods/",
    "/methods/maryland_fish_2005/",
    "/notes/",
    "/review/",
    "/season/2021/",
    "/season/2021/season.csv",
    "/visits/{visit}/history/",
    "/method-desk/",
    "/method-desk/strata/",
    "/trait-lists/",
    "/species/semotilus-atromaculatus/traits/",
)
FILES = (
    "/creeks.csv",
    "/creeks.json",
    "/watersheds/willow-run.csv",
    "/watersheds/willow-run.json",
    "/stations/WIL-01.csv",
    "/stations/WIL-01.json",
    "/visits/{visit}.csv",
    "/visits/{visit}.json",
    "/species/semotilus-atromaculatus.csv",
    "/species/semotilus-atromaculatus.json",
    "/data/",
    "/data/visits.csv",
    "/data/trends.csv",
    "/data/archive.zip",
    "/data/package.zip",
    "/handout/willow-run/pack.zip",
    *(
        f"/api/v1/{name}{form}"
        for name in ("watersheds", "stations", "visits", "indicators", "scores", "trends", "notes")
        for form in ("", "?format=csv")
    ),
)
# Pages where a score is always to be found: the walk would prove nothing if it found none.
SURELY = {
    "/",
    "/stations/",
    "/watersheds/willow-run/",
    "/stations/WIL-01/",
    "/stations/WIL-01/?measure=richness",
    "/visits/{visit}/",
    "/compare/",
    "/brief/willow-run/",
    "/handout/willow-run/",
    "/stations/WIL-01.json",
    "/data/visits.csv",
    "/data/trends.csv",
    "/api/v1/scores",
    "/api/v1/trends",
}


@pytest.fixture
def visit() -> Visit:
    for name in ("Creek Chub", "Mottled Sculpin", "Brook Trout"):
        make_taxon(name, lithophilic=name == "Brook Trout", benthic=name == "Mottled Sculpin")
    caught = [{"Creek Chub": 40, "Mottled Sculpin": 60, "Brook Trout": 6}, {"Creek Chub": 9}]
    for code in ("WIL-01", "WIL-02"):
        station = make_station(code, stratum="eastern_piedmont", catchment_km2=8.0)
        for year in range(2013, 2022):
            made = make_visit(station, f"{year}-07-10", passes=caught, mean_width_m=4)
    RemovalPass.objects.update(biomass_g=1800)
    score()
    downloads.forget()  # files are kept for a minute, and another test's must not be told
    return made


def score() -> None:
    mark_all()
    recompute_marked()


def shows_a_score(text: str) -> bool:
    return bool(re.search(r"\bGood\b", text)) or bool(re.search(r"index_score\W+[^\n]*\b4(\.0)?\b", text))


def opened(client: Client, address: str) -> Iterator[tuple[str, str]]:
    """What an address gives, as names and texts: one, or one for each file of an archive."""
    answer: Any = client.get(address, follow=True)
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    if body[:2] == b"PK":
        with zipfile.ZipFile(io.BytesIO(body)) as archive:
            for name in archive.namelist():
                yield f"{address} {name}", html.unescape(archive.read(name).decode())
    elif answer.status_code == 200:
        yield address, html.unescape(body.decode())


def walk(client: Client, visit: Visit, sentences: tuple[str, ...]) -> tuple[set[str], list[str]]:
    """Addresses that show a score, and those of them that do not say the sentence that they should."""
    found, silent = set(), []
    for pattern in (*PAGES, *FILES):
        for name, text in opened(client, pattern.format(visit=visit.pk)):
            if not shows_a_score(text) or any(one in name.split()[-1] for one in NO_SCORE):
                continue
            found.add(pattern)
            full, short = sentences
            told = text.replace("\\u2019", "’")
            if full not in told and not (any(one in name for one in SHORT) and short.lower() in told.lower()):
                silent.append(name)
    return found, silent


@pytest.mark.parametrize("role", ["", "administrator"])
def test_every_page_and_file_with_a_score_says_that_the_cut_points_must_be_checked(
    visit: Visit, signed_in: Any, role: str
) -> None:
    client = signed_in(role)
    full, short = standing_sentence(METHOD), short_standing(METHOD)
    assert "must be checked against" in full and "official" in full
    assert "to be checked" in short and "official" in short
    found, silent = walk(client, visit, (full, short))
    assert silent == []
    assert found >= SURELY


def test_once_a_person_has_checked_them_every_page_and_file_names_that_person(
    visit: Visit, signed_in: Any
) -> None:
    version = VisitResult.objects.first().index_version  # type: ignore[union-attr]
    MethodCheck.objects.create(
        code=METHOD, version=version, edition="the 2005 report", pages="pp. 20-31",
        checked_by_name="R. Alder", checked_on=datetime.date(2024, 3, 1),
    )  # fmt: skip
    client = signed_in("administrator")
    full, short = standing_sentence(METHOD), short_standing(METHOD)
    assert "R. Alder checked the cut points" in full and "R. Alder" in short
    found, silent = walk(client, visit, (full, short))
    assert silent == []
    assert found >= SURELY
    for _, text in opened(client, "/stations/WIL-01/"):
        assert "must be checked against" not in text


def test_a_picture_that_is_saved_from_a_page_takes_the_sentence_along(visit: Visit, signed_in: Any) -> None:
    short = short_standing(METHOD)
    sentence = f"{short[0].upper()}{short[1:]}."
    for address in ("/", "/compare/", "/stations/WIL-01/", "/watersheds/willow-run/"):
        ((_, text),) = opened(signed_in(""), address)
        assert sentence in text.replace("<br>", " ").replace("\\u003Cbr\\u003E", " "), address


def test_places_scored_by_several_methods_say_it_of_each(visit: Visit, signed_in: Any) -> None:
    """Where a station's years were scored by two versions the outcome names neither; the pages name both."""
    earlier = Visit.objects.filter(visit_date__year__lt=2016)
    VisitResult.objects.filter(visit__in=earlier).update(index_method="wisconsin_coldwater_1996")
    recompute_trends(visit.station.watershed, [visit.station])
    for address in ("/", "/stations/", "/stations/WIL-01/", "/watersheds/willow-run/"):
        ((_, text),) = opened(signed_in(""), address)
        assert text.count("how it is scored") >= 2, address
    ((_, text),) = opened(signed_in(""), "/stations/WIL-01.csv")
    rows = [line for line in text.splitlines() if "index_score" in line]
    assert rows and all(standing_sentence(METHOD).rstrip(".") in line for line in rows)


def test_an_issued_brief_keeps_the_sentence(visit: Visit, signed_in: Any) -> None:
    creek = visit.station.watershed
    content, asked = brief.for_creek(creek, {})
    assert content
    data = {"address": asked.query(), "hash": brief.content_hash(content), "title": "Hearing of 3 May"}
    sent = signed_in("planner").post(f"/brief/{creek.slug}/issue/", data)
    assert sent.status_code == 302
    ((_, text),) = opened(signed_in("planner"), sent.url)
    assert standing_sentence(METHOD) in text
