"""No public page tells where a sensitive fish lives: not by name, and not by a number beside a shortened list."""

import importlib
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.apps import apps
from django.db.models import F, Q
from django.test import Client

from surveys.models import Catch, RemovalPass, Station, Taxon, Visit
from surveys.queries import visit_records
from surveys.signals import visits_changed
from tests.factories import make_station, make_taxon, make_user, make_visit
from trends.exports.downloads import forget
from trends.judged_anew import traits_changed
from trends.models import IssuedBrief, LandUseNote, TrendResult, VisitResult
from trends.recompute import mark_all, recompute_marked
from trends.scores import score_visit
from trends.shelf import shelf

pytestmark = pytest.mark.django_db

SECRET, PLACE = "Etheostoma sellare", "WIL-01"


@pytest.fixture
def creek() -> None:
    make_taxon(
        SECRET, sensitive_location=True, native=True, common_name="Hidden Darter", tolerance="intolerant"
    )
    for code in (PLACE, "WIL-02"):
        station = make_station(code, river_km=1.5)
        for year in range(2015, 2023):
            fish = {"Creek Chub": 31, "Brook Trout": 7}
            if code == PLACE:
                fish[SECRET] = 9
            make_visit(station, f"{year}-07-10", passes=[fish, {"Creek Chub": 5}], mean_width_m=4)
    mark_all()
    recompute_marked()


def visit_address(client: Client) -> str:
    page = client.get(f"/stations/{PLACE}/").content.decode()
    return "/visits/" + page.split("/visits/")[1].split("/")[0] + "/"


@pytest.mark.parametrize(
    "address",
    [
        "/stations/WIL-01/",
        "/stations/WIL-01/?measure=richness",
        "/compare/?measure=richness&level=stations",
        "visit",
    ],
)
def test_the_public_reads_neither_the_name_nor_the_count(
    creek: None, signed_in: Callable[[str], Client], address: str
) -> None:
    client = signed_in("")
    page = client.get(visit_address(client) if address == "visit" else address).content.decode()
    assert SECRET not in page and "Hidden Darter" not in page
    if address == "visit":
        # By hand: 31 + 7 + 5 fish are listed; with the nine withheld there would be 52.
        assert ">43<" in page
        told = re.sub(r"<[^>]+>", " ", re.sub(r"<script.*?</script>", " ", page, flags=re.S))
        # A colon stands before the minutes of the hour at which the page was computed.
        assert re.findall(r"(?<![.:\d])(?:52|47)(?![.\d])", told) == []
        assert "47" not in re.findall(r'"y": ?\[([^\]]*)\]', page)[0]
        assert "3 species" not in page


def test_the_public_gets_no_yearly_counts_at_a_station_and_is_told_why(
    creek: None, signed_in: Callable[[str], Client]
) -> None:
    page = signed_in("").get(f"/stations/{PLACE}/?measure=richness").content.decode()
    assert 'value="richness"' not in page


def test_the_neighbour_where_it_was_never_met_is_treated_alike(
    creek: None, signed_in: Callable[[str], Client]
) -> None:
    """Else the missing number would point to the station that hides something."""
    client = signed_in("")
    here, there = (client.get(f"/stations/{code}/").content.decode() for code in (PLACE, "WIL-02"))
    assert ('value="richness"' in here) == ('value="richness"' in there)


def test_staff_read_everything(creek: None, signed_in: Callable[[str], Client]) -> None:
    client = signed_in("planner")
    assert SECRET in client.get(visit_address(client)).content.decode()
    assert 'value="richness"' in client.get(f"/stations/{PLACE}/").content.decode()


def test_a_station_whose_numbers_are_kept_back_is_not_said_to_be_without_visits(
    creek: None, client: Client
) -> None:
    # Without a stratum no index method applies, and the index is all that could be shown here.
    page = client.get("/stations/WIL-02/").content.decode()
    assert "WIL-02: no trend to show yet." in page
    assert "no accepted visit yet" not in page
    assert "kept back" in page


# What a row about a count may hold where something is withheld: its place, its name, and that it is kept back.
TOLD = {
    "scope", "watershed", "watershed_name", "station", "station_name", "measure", "measure_name", "unit",
    "certainty", "direction", "verdict", "reason", "index_method", "index_version", "index_standing",
    "code_version", "computed_at", "years",
}  # fmt: skip


@pytest.mark.parametrize(
    "address", ["/api/v1/trends", "/stations/WIL-01.json", "/watersheds/willow-run.json"]
)
def test_no_slope_or_test_of_all_fish_is_told_beside_the_fish_that_are_listed(
    creek: None, signed_in: Callable[[str], Client], address: str
) -> None:
    """Two species are listed each year and the line of all fish passes at three: that names the station."""
    answer = signed_in("").get(address).json()
    rows = [r for r in answer.get("data") or answer["trends"] if r["measure"] != "index_score"]
    assert {r["measure"] for r in rows} >= {"richness", "total_catch"}
    for row in rows:
        assert {key for key, value in row.items() if value not in (None, "", [])} <= TOLD
        assert (row["certainty"], row["direction"]) == ("withheld", "none")
        assert "could tell where a species lives" in row["reason"]


def test_results_that_are_kept_back_are_not_found_by_their_words(
    creek: None, signed_in: Callable[[str], Client]
) -> None:
    client = signed_in("")
    found = {
        word: client.get(f"/api/v1/trends?measure=richness&certainty={word}").json()["data"]
        for word in ("steady", "unclear", "not_assessed", "likely", "very_likely", "withheld")
    }
    assert {word: len(rows) for word, rows in found.items() if rows} == {"withheld": 3}


@pytest.mark.parametrize("level", ["creeks", "stations"])
def test_a_comparison_of_counts_leaves_out_where_something_is_withheld_and_says_so(
    creek: None, signed_in: Callable[[str], Client], level: str
) -> None:
    """A creek's median is the number of a station in a year in which only that one was visited."""
    make_visit(make_station("ALD-01", watershed="Alder Run"), "2022-07-01", passes=[{"Creek Chub": 2}])
    mark_all()
    recompute_marked()
    page = signed_in("").get(f"/compare/?measure=richness&level={level}").content.decode()
    assert "left out: where a fish lives whose places are withheld" in page
    assert "/watersheds/alder-run/" in page or "/stations/ALD-01/" in page
    assert '<h3><a href="/watersheds/willow-run/">' not in page and "/stations/WIL-01/" not in page
    everything = signed_in("planner").get(f"/compare/?measure=richness&level={level}").content.decode()
    assert "left out" not in everything


@pytest.fixture
def neighbour(creek: None) -> LandUseNote:
    """A creek without a secret, of the same stratum, and works at its one station."""
    Station.objects.update(stratum="piedmont")
    station = make_station("ALD-01", watershed="Alder Run", stratum="piedmont")
    for year in range(2015, 2023):
        make_visit(station, f"{year}-07-10", passes=[{"Creek Chub": 20}])
    mark_all()
    recompute_marked(everything=True)
    return LandUseNote.objects.create(
        watershed=station.watershed,
        station=station,
        category="stormwater",
        starts_on="2018-10-01",
        title="A pond",
        public=True,
    )


def test_no_station_of_such_a_creek_is_a_control_for_counts(
    neighbour: LandUseNote, signed_in: Callable[[str], Client]
) -> None:
    """A control is shown year by year: its number of species would be told beside its shortened lists."""
    address = f"/notes/{neighbour.pk}/effect/?measure={{}}&control={PLACE}"
    counts = signed_in("").get(address.format("richness")).content.decode()
    assert f'value="{PLACE}"' not in counts
    assert "2 stations left out: where a fish lives whose places are withheld" in counts
    assert f'value="{PLACE}" checked' in signed_in("planner").get(address.format("richness")).content.decode()


def test_a_brief_that_is_handed_on_compares_no_counts_of_such_a_creek(
    neighbour: LandUseNote, signed_in: Callable[[str], Client]
) -> None:
    for role in ("", "planner"):
        page = signed_in(role).get("/brief/alder-run/?measure=richness").content.decode()
        assert '<th scope="row">Willow Run</th>' not in page
        assert "1 creek left out: where a fish lives whose places are withheld" in page


@pytest.mark.parametrize(("creek_of_it", "kept"), [("willow-run", True), ("alder-run", False)])
def test_a_brief_with_counts_of_such_a_creek_says_that_it_is_not_for_publication(
    neighbour: LandUseNote, signed_in: Callable[[str], Client], creek_of_it: str, kept: bool
) -> None:
    page = signed_in("planner").get(f"/brief/{creek_of_it}/?measure=richness").content.decode()
    foot = page.split('<footer class="brief-foot">')[1].split("</footer>")[0]
    assert ("Not for publication" in foot, "CC BY 4.0" in foot) == (kept, not kept)


EVERYWHERE = (
    "/", "/creeks.json", "/stations/", "/stations/WIL-01/", "/stations/WIL-02/", "/stations/WIL-01.json",
    "/stations/WIL-02.csv", "/watersheds/willow-run/", "/watersheds/willow-run/?measure=richness",
    "/watersheds/willow-run/?measure=total_catch&station=WIL-01&from=2016", "/watersheds/willow-run.json",
    "/compare/?measure=richness", "/compare/?measure=total_catch&level=stations&sort=slope",
    "/brief/willow-run/?station=WIL-01", "/brief/alder-run/?measure=richness", "/handout/willow-run/",
    "/species/", "/species/etheostoma-sellare/", "/species/etheostoma-sellare.json",
    "/notes/{note}/effect/?measure=richness&control=WIL-01", "/api/v1/watersheds", "/api/v1/catches?limit=5",
    "/api/v1/visits", "/api/v1/indicators", "/api/v1/scores?format=csv", "/api/v1/trends?limit=500",
    "/api/v1/trends?certainty=steady", "/data/visits.csv", "/data/trends.csv",
)  # fmt: skip
# When a number was made is no number; the marks of a form are drawn anew for each page.
OF_THE_MOMENT = re.compile(
    r'\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d[^\s,"<]*|\d\d:\d\d (?=from revision)|csrfmiddlewaretoken" value="\w+"'
)


def by_a_method() -> None:
    """Give every station what an index method asks for; the withheld fish is one of those that earn points."""
    Station.objects.update(stratum="eastern_piedmont", catchment_km2=8.0, mean_width_m=4.0)
    RemovalPass.objects.update(biomass_g=1800, effort_s=900)
    Taxon.objects.filter(scientific_name=SECRET).update(
        benthic=True, lithophilic=True, family="Percidae", trophic_guild="invertivore"
    )
    Taxon.objects.exclude(scientific_name=SECRET).update(lithophilic=False, benthic=False)
    VisitResult.objects.all().delete()
    mark_all()
    recompute_marked(everything=True)


def test_wherever_in_the_creek_the_fish_lives_the_public_reads_the_same(
    neighbour: LandUseNote, signed_in: Callable[[str], Client]
) -> None:
    """The whole rule at once, where an index method makes scores of the fish."""
    by_a_method()
    client = signed_in("")
    addresses = [one.format(note=neighbour.pk) for one in EVERYWHERE]
    addresses += [
        f"/visits/{pk}{end}" for pk in Visit.objects.values_list("pk", flat=True) for end in ("/", ".json")
    ]

    def read() -> dict[str, str]:
        forget()
        pages = {one: client.get(one) for one in addresses}
        assert {one: page.status_code for one, page in pages.items() if page.status_code != 200} == {}
        return {one: OF_THE_MOMENT.sub("", page.content.decode()) for one, page in pages.items()}

    before = read()
    for catch in Catch.objects.filter(taxon__scientific_name=SECRET).select_related("removal_pass__visit"):
        year = catch.removal_pass.visit.visit_date.year
        there = RemovalPass.objects.get(
            visit__station__code="WIL-02", visit__visit_date__year=year, pass_number=2
        )
        Catch.objects.create(removal_pass=there, taxon=catch.taxon, count=catch.count)
        catch.delete()
    mark_all()
    recompute_marked(everything=True)
    after = read()
    assert [one for one in addresses if before[one] != after[one]] == []


def test_every_station_of_a_creek_is_told_anew_when_a_fish_there_is_withheld_or_no_longer(
    creek: None, client: Client, django_capture_on_commit_callbacks: Any
) -> None:
    """Made anew only where the fish was met, the caution on shortened lists would name that station."""
    taxon = Taxon.objects.get(scientific_name=SECRET)
    for withheld in (False, True):
        taxon.sensitive_location = withheld
        taxon.save()
        with django_capture_on_commit_callbacks(execute=True):
            traits_changed([taxon])
        rows = client.get("/api/v1/trends?measure=index_score").json()["data"]
        assert {r["station"]: "C34" in r["cautions"] for r in rows} == dict.fromkeys(
            (PLACE, "WIL-02", None), withheld
        )


# --- the index: the public's is made of the fish that are listed -----------------------------------------


def scored_at(visit: Visit) -> VisitResult:
    return VisitResult.objects.get(visit=visit)


def test_who_scores_the_listed_fish_by_the_method_gets_the_published_score(
    neighbour: LandUseNote, client: Client
) -> None:
    """Else a score that the list does not earn would say that a fish is left out of it."""
    by_a_method()
    standing = shelf()
    rows = {
        (r["station"], r["visit_date"]): r
        for r in client.get("/api/v1/scores?watershed=willow-run&limit=500").json()["data"]
    }
    assert len(rows) == 16
    for record in visit_records(Visit.objects.accepted().filter(station__watershed__slug="willow-run")):
        # What the interface lists of the visit, put in the place of all that was caught.
        day = record.date
        asked = f"station={record.station_code}&from={day}&to={day}"
        names = {c["scientific_name"] for c in client.get(f"/api/v1/catches?{asked}").json()["data"]}
        listed = replace(
            record,
            passes=tuple(
                replace(p, catches=tuple(c for c in p.catches if c.taxon.scientific_name in names))
                for p in record.passes
            ),
        )
        own = score_visit(listed, standing)
        told = rows[(record.station_code, str(record.date))]
        assert own.rated and told["index_score"] == pytest.approx(own.score)
        assert told["rating"] == own.rating


def test_the_score_of_all_fish_is_another_and_stays_with_those_who_see_all_places(
    neighbour: LandUseNote, signed_in: Callable[[str], Client]
) -> None:
    by_a_method()
    visit = Visit.objects.filter(station__code=PLACE).order_by("visit_date").first()
    assert visit is not None
    result = scored_at(visit)
    assert result.index_score is not None and result.listed_score is not None
    assert result.index_score > result.listed_score, "the withheld fish earns points, so this test can tell"
    address = f"/visits/{visit.pk}/"
    staff, public = (signed_in(role).get(address).content.decode() for role in ("planner", ""))
    assert f"made of the fish in the public list, is {result.listed_score:.2f}" in staff
    assert f"{result.index_score:.2f}" in staff and f"{result.index_score:.2f}" not in public
    assert f"Score {result.listed_score:.2f}" in public

    page = f"/stations/{PLACE}/"
    staff, public = (signed_in(role).get(page).content.decode() for role in ("planner", ""))
    assert 'value="index_score_all_fish"' in staff and "index_score_all_fish" not in public
    assert f"{result.listed_score:.2f}" in public and f"{result.index_score:.2f}" not in public


def test_the_trend_of_all_fish_is_nowhere_in_public(neighbour: LandUseNote, client: Client) -> None:
    """A page may say that it passes over the name in its address; it gives no number for it."""
    by_a_method()
    asked = "?measure=index_score_all_fish"
    assert client.get(f"/api/v1/trends{asked}").json()["data"] == []
    pages = [f"{page}{asked}" for page in ("/watersheds/willow-run/", "/brief/willow-run/", "/compare/")]
    for address in ("/stations/WIL-01.json", "/watersheds/willow-run.json", "/data/trends.csv", *pages):
        answer = client.get(address)
        assert answer.status_code == 200
        told = answer.content.decode().replace(asked.removeprefix("?"), "")
        assert "all fish counted" not in told and "Fish index score, all fish" not in told, address


def test_nothing_is_said_to_be_published_of_a_visit_in_review(
    neighbour: LandUseNote, signed_in: Callable[[str], Client]
) -> None:
    by_a_method()
    visit = make_visit(
        Station.objects.get(code=PLACE),
        "2023-07-10",
        passes=[{"Creek Chub": 31, SECRET: 9}],
        status="submitted",
        mean_width_m=4,
    )
    page = signed_in("reviewer").get(f"/visits/{visit.pk}/").content.decode()
    assert SECRET in page and "The published score" not in page


def test_the_published_trend_is_told_to_be_made_of_the_listed_fish(
    neighbour: LandUseNote, client: Client
) -> None:
    by_a_method()
    in_spanish = client.get("/es/watersheds/willow-run/").content.decode()
    assert "por norma: no se publica" in in_spanish and "con los peces de las listas públicas" in in_spanish
    page = client.get("/watersheds/willow-run/").content.decode()
    assert "made of the fish in the public lists" in page
    rows = client.get("/api/v1/trends?measure=index_score&watershed=willow-run").json()["data"]
    assert all("what becomes of the others does not show" in " ".join(r["caution_texts"]) for r in rows)


def test_a_fish_that_is_withheld_no_longer_leaves_no_second_index_behind(
    neighbour: LandUseNote, django_capture_on_commit_callbacks: Any
) -> None:
    by_a_method()
    assert TrendResult.objects.filter(measure="index_score_all_fish").count() == 3
    taxon = Taxon.objects.get(scientific_name=SECRET)
    taxon.sensitive_location = False
    taxon.save()
    with django_capture_on_commit_callbacks(execute=True):
        traits_changed([taxon])
    assert not TrendResult.objects.filter(measure="index_score_all_fish").exists()
    assert not VisitResult.objects.filter(
        ~Q(index_score=F("listed_score")), index_score__isnull=False
    ).exists()


# --- what else could point to the place: hours, weights, names of before, papers for staff ------------------


def hours(client: Client) -> dict[tuple[str, str], str]:
    rows = client.get("/api/v1/indicators?watershed=willow-run&limit=500").json()["data"]
    return {(row["station"], row["visit_date"]): row["computed_at"] for row in rows}


@pytest.mark.parametrize("way", ["a trait", "a list"])
def test_results_are_made_anew_at_every_visit_of_the_creek_or_at_none(
    creek: None, client: Client, django_capture_on_commit_callbacks: Any, way: str
) -> None:
    """Each visit tells when it was computed; one hour for a few of them would say where the fish was met."""
    before = hours(client)
    with django_capture_on_commit_callbacks(execute=True):
        if way == "a trait":
            assert traits_changed([Taxon.objects.get(scientific_name=SECRET)]) == 8
        else:
            met = set(Station.objects.filter(code=PLACE).values_list("pk", flat=True))
            visits_changed.send(sender=Visit, station_ids=met, judged_anew=True)
    after = hours(client)
    assert len(after) == 16 and len(set(after.values())) == 1
    assert all(after[visit] != before[visit] for visit in before)


def test_what_is_kept_back_tells_no_hour_either(creek: None, client: Client) -> None:
    """A trend is written anew only where it changed: that of the intolerant share where such a fish lives."""
    rows = client.get("/api/v1/trends?watershed=willow-run&limit=500").json()["data"]
    assert {row["computed_at"] is None for row in rows if row["measure"] != "index_score"} == {True}
    assert {row["computed_at"] is None for row in rows if row["measure"] == "index_score"} == {False}


def test_the_weight_of_a_pass_is_read_alike_at_every_visit_of_the_creek(neighbour: LandUseNote) -> None:
    """Weights of fish are listed, those of passes are not: a score by the latter would tell of a visit with none
    of the fish that are left out."""
    Catch.objects.update(biomass_g=20)
    by_a_method()
    standing, told_apart = shelf(), 0
    for record in visit_records(Visit.objects.accepted().filter(station__code="WIL-02")):
        result = VisitResult.objects.get(visit=record.visit_id)
        by_the_list = replace(record, passes=tuple(replace(p, biomass_g=None) for p in record.passes))
        assert result.listed_score == score_visit(by_the_list, standing).score
        told_apart += result.listed_score != result.index_score
    assert told_apart, "the weight of the passes earns other points, so this test can tell"


def test_a_fish_marked_on_the_admin_page_leaves_the_published_scores(
    neighbour: LandUseNote, signed_in: Callable[[str], Client], django_capture_on_commit_callbacks: Any
) -> None:
    Taxon.objects.filter(scientific_name=SECRET).update(sensitive_location=False)
    by_a_method()
    here = VisitResult.objects.filter(visit__station__code=PLACE)
    assert {r.listed_score == r.index_score for r in here} == {True}
    admin = signed_in("administrator")
    address = f"/admin/surveys/taxon/{Taxon.objects.get(scientific_name=SECRET).pk}/change/"
    form = admin.get(address).context["adminform"].form
    sent = {name: value for name, value in form.initial.items() if name in form.fields and value}
    none = dict.fromkeys(("aliases-TOTAL_FORMS", "aliases-INITIAL_FORMS"), "0")
    with django_capture_on_commit_callbacks(execute=True):
        answer = admin.post(address, {**sent, **none, "sensitive_location": "on"})
    assert answer.status_code == 302
    assert {r.listed_score == r.index_score for r in here.all()} == {False}


def test_an_earlier_name_of_the_fish_is_not_told_until_results_are_made_anew(
    creek: None, signed_in: Callable[[str], Client]
) -> None:
    address = visit_address(signed_in(""))
    Taxon.objects.filter(scientific_name=SECRET).update(scientific_name="Etheostoma other")
    assert SECRET in signed_in("planner").get(address).content.decode()
    assert SECRET not in signed_in("").get(address).content.decode()


def test_an_account_without_a_role_reads_what_the_public_reads(
    creek: None, signed_in: Callable[[str], Client], client: Client
) -> None:
    """A brief as issued holds numbers of all fish; remarks of a crew and notes for staff may name any."""
    planner = signed_in("planner")
    planner.post("/brief/willow-run/issue/", {"address": "measure=richness", "hash": "", "title": ""})
    Visit.objects.update(notes="one more of the rare darter")
    station = Station.objects.get(code=PLACE)
    note = LandUseNote.objects.create(
        watershed=station.watershed,
        station=station,
        category="stormwater",
        starts_on="2018-10-01",
        title="By its reach",
        public=False,
    )
    client.force_login(make_user())
    issued = f"/briefs/{IssuedBrief.objects.get().pk}/"
    assert (planner.get(issued).status_code, client.get(issued).status_code) == (200, 403)
    assert issued not in client.get("/brief/willow-run/").content.decode()
    address = visit_address(client)
    assert "rare darter" in planner.get(address).content.decode()
    assert "rare darter" not in client.get(address).content.decode()
    for page in (f"/stations/{PLACE}/", "/watersheds/willow-run/"):
        assert note.title in planner.get(page).content.decode()
        assert note.title not in client.get(page).content.decode()
    told = f"/notes/{note.pk}/effect/"
    assert (planner.get(told).status_code, client.get(told).status_code) == (200, 404)


def test_a_year_that_is_kept_back_tells_nothing_of_how_it_was_fished(creek: None, client: Client) -> None:
    """A line names the method of the years that have a value, and a fish of unknown habit leaves a year without."""
    Taxon.objects.filter(scientific_name=SECRET).update(benthic=None)
    mark_all()
    recompute_marked(everything=True)
    here, there = (
        [
            {**row, "station": ""}
            for row in client.get(f"/stations/{code}.json").json()["rows"]
            if row["measure"] == "benthic_richness"
        ]
        for code in (PLACE, "WIL-02")
    )
    assert here == there and len(here) == 8


def test_before_scores_are_made_anew_no_visit_of_the_creek_has_one(neighbour: LandUseNote) -> None:
    """The new column is filled at once where no fish is left out; a gap at just these visits would tell."""
    VisitResult.objects.update(index_score=3.0, listed_score=None)
    importlib.import_module("trends.migrations.0011_listed_score").of_listed(apps, None)
    scored = VisitResult.objects.exclude(listed_score=None)
    assert set(scored.values_list("visit__station__code", flat=True)) == {"ALD-01"}
