"""The interface for programs: public records alone, strict questions, stable pages, honest refusals.

Sources: OpenAPI 3.1.0, JSON Schema 2020-12, RFC 9457 (problems), RFC 8288 (links), RFC 9110 (ETag,
content negotiation), RFC 7946 (GeoJSON), RFC 4180 (CSV).
"""

import csv
import io
import json
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from django.core.cache import cache
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from surveys.models import Visit
from tests.factories import make_station, make_visit
from tests.trends.exports.conftest import SENSITIVE, County, county
from trends.models import LandUseNote, VisitResult
from trends.recompute import mark_all, recompute_marked

__all__ = ["county"]
NAMES = ["watersheds", "stations", "visits", "catches", "indicators", "scores", "trends", "notes"]
# The parts of the OpenAPI 3.1 schema that a client leans on, written down by hand.
ESSENTIAL = {
    "type": "object",
    "required": ["openapi", "info", "paths", "components"],
    "properties": {
        "openapi": {"pattern": r"^3\.1\.\d+$"},
        "info": {"type": "object", "required": ["title", "version"]},
        "servers": {"type": "array", "items": {"type": "object", "required": ["url"]}},
        "paths": {
            "type": "object",
            "patternProperties": {
                "^/": {
                    "type": "object",
                    "properties": {
                        "get": {
                            "type": "object",
                            "required": ["operationId", "responses"],
                            "properties": {
                                "parameters": {
                                    "items": {
                                        "required": ["name", "in", "schema"],
                                        "properties": {"in": {"enum": ["query", "path"]}},
                                    }
                                },
                                "responses": {
                                    "type": "object",
                                    "required": ["200"],
                                    "patternProperties": {
                                        r"^\d{3}$": {
                                            "anyOf": [
                                                {"required": ["$ref"]},
                                                {"required": ["description"]},
                                            ]
                                        }
                                    },
                                    "additionalProperties": False,
                                },
                            },
                        }
                    },
                }
            },
            "additionalProperties": False,
        },
    },
}


@pytest.fixture(autouse=True)
def _fresh_count() -> None:
    cache.clear()


@pytest.fixture
def records(county: County) -> County:
    """The county with notes, one of them for staff."""
    place = county.guarded.watershed
    common = {"watershed": place, "category": "trail", "starts_on": "2020-05-01"}
    LandUseNote.objects.create(**common, title="=A trail", text='Two lines,\nquoted "so"')
    LandUseNote.objects.create(**common, title="Secret matter", public=False)
    return county


def get(path: str, **headers: str) -> HttpResponse:
    return Client().get(f"/api/v1/{path}", headers=headers)


def data(path: str) -> list[dict[str, Any]]:
    response = get(path)
    assert response.status_code == 200, response.content
    return response.json()["data"]


def resolved(schema: dict[str, Any]) -> jsonschema.Draft202012Validator:
    """A validator that finds the components of the document."""
    document = get("openapi.json").json()
    return jsonschema.Draft202012Validator(schema | {"components": document["components"]})


# --- the description -----------------------------------------------------------------------------


def test_the_document_has_the_essential_parts_of_openapi(db: None) -> None:
    document = get("openapi.json").json()
    jsonschema.validate(document, ESSENTIAL, jsonschema.Draft202012Validator)
    assert {f"/{name}" for name in NAMES} <= set(document["paths"])
    operations = [path["get"] for path in document["paths"].values()]
    ids = [one["operationId"] for one in operations]
    assert len(ids) == len(set(ids))
    for schema in document["components"]["schemas"].values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_every_reference_and_path_parameter_of_the_document_is_there(db: None) -> None:
    document = get("openapi.json").json()
    text = json.dumps(document)
    for part in text.split('"$ref": "')[1:]:
        place: Any = document
        for step in part.split('"')[0].removeprefix("#/").split("/"):
            place = place[step]
    for path, item in document["paths"].items():
        named = {p["name"] for p in item["get"]["parameters"] if p["in"] == "path"}
        assert named == {step[1:-1] for step in path.split("/") if step.startswith("{")}


@pytest.mark.parametrize("name", NAMES)
def test_answers_are_as_the_document_says(records: County, name: str) -> None:
    document = get("openapi.json").json()
    described = document["paths"][f"/{name}"]["get"]["responses"]["200"]["content"]
    response = get(name)
    resolved(described["application/json"]["schema"]).validate(response.json())
    assert response.json()["data"]


def test_what_stands_in_a_list_of_a_record_is_described_too(records: County) -> None:
    """A stranger who reads the description alone knows where the years of a trend and their values are."""
    schemas = get("openapi.json").json()["components"]["schemas"]
    years = schemas["trends"]["properties"]["years"]["items"]["properties"]
    assert {key: one["type"] for key, one in years.items()} == {
        "year": "integer",
        "value": ["number", "null"],
        "reason": ["string", "null"],
    }
    assert schemas["trends"]["properties"]["caution_texts"]["items"] == {"type": "string"}
    assert {"metric", "value", "points"} <= set(
        schemas["scores"]["properties"]["metrics"]["items"]["properties"]
    )
    for name in ("trends", "scores", "watersheds"):
        jsonschema.Draft202012Validator(schemas[name]).validate(data(name)[0])


@pytest.mark.parametrize("path", ["watersheds/{0}", "stations/{1}", "visits/{2}"])
def test_one_record_is_the_record_of_the_list(records: County, path: str) -> None:
    filled = path.format(records.guarded.watershed.slug, "WR-1", records.visit.pk)
    document = get("openapi.json").json()
    name = path.split("/")[0]
    template = next(p for p in document["paths"] if p.startswith(f"/{name}/"))
    described = document["paths"][template]["get"]["responses"]["200"]["content"]["application/json"]
    response = get(filled)
    resolved(described["schema"]).validate(response.json())
    assert response.json()["data"] in data(name)


def test_the_index_is_a_page_for_people_and_a_list_for_programs(db: None) -> None:
    page = get("", accept="text/html,application/xhtml+xml,*/*;q=0.8")
    assert page.headers["Content-Type"].startswith("text/html")
    for name in NAMES:
        assert f'href="/api/v1/{name}"' in page.content.decode()
    assert [r["name"] for r in get("", accept="*/*").json()["resources"]] == NAMES
    assert get("?format=json", accept="text/html").json()["openapi"] == "/api/v1/openapi.json"


# --- what is public ------------------------------------------------------------------------------


def test_only_accepted_visits_are_given(records: County) -> None:
    numbers = {v["visit"] for v in data("visits")}
    assert numbers == set(Visit.objects.accepted().values_list("pk", flat=True))
    assert get(f"visits/{records.draft.pk}").status_code == 404
    for name in ("catches", "indicators", "scores"):
        assert {row["visit"] for row in data(name)} <= numbers


def test_private_notes_crew_and_remarks_are_not_given(records: County) -> None:
    assert [note["title"] for note in data("notes")] == ["=A trail"]
    for name in NAMES:
        text = get(name).content.decode()
        for secret in ("Secret matter", "Robin Example", "Gate code"):
            assert secret not in text


@pytest.mark.parametrize("role", ["biologist", "reviewer", "administrator"])
def test_signing_in_gives_nothing_more(
    records: County, signed_in: Callable[[str], Client], role: str
) -> None:
    for name in NAMES:
        assert signed_in(role).get(f"/api/v1/{name}").content == get(name).content


@pytest.mark.parametrize("form", ["json", "csv"])
def test_a_sensitive_taxon_is_named_for_its_watershed_alone(records: County, form: str) -> None:
    naming = [name for name in NAMES if SENSITIVE in get(f"{name}?format={form}").content.decode()]
    assert naming == (["watersheds"] if form == "json" else [])
    told = {w["watershed"]: w["withheld_species"] for w in data("watersheds")}
    assert told["alder-run"] == []
    assert [t["scientific_name"] for t in told["willow-run"]] == [SENSITIVE]


def test_asking_for_a_sensitive_taxon_finds_what_a_taxon_never_met_finds(records: County) -> None:
    assert data(f"catches?taxon={records.darter.slug}") == data("catches?taxon=never-met") == []


def test_counts_do_not_betray_what_the_list_withholds(records: County) -> None:
    fish: dict[int, int] = {}
    species: dict[int, set[str]] = {}
    for row in data("catches"):
        fish[row["visit"]] = fish.get(row["visit"], 0) + row["count"]
        species.setdefault(row["visit"], set()).add(row["taxon"])
    for row in data("indicators"):
        assert row["total_catch"] == fish[row["visit"]]
        assert row["richness"] == len(species[row["visit"]])
    guarded = [row for row in data("scores") if row["watershed"] == "willow-run"]
    assert [row["metrics"] for row in guarded] == [None, None]
    assert len({row["metrics_reason"] for row in guarded}) == 1
    for row in data("trends?watershed=willow-run&measure=richness"):
        assert {year["value"] for year in row["years"]} == {None}
        assert row["latest_value"] is None


def test_index_metrics_are_given_where_nothing_is_withheld(records: County) -> None:
    records.open.stratum = "Eastern Piedmont"
    records.open.catchment_km2 = 10
    records.open.save()
    mark_all()
    recompute_marked(everything=True)
    row = next(r for r in data("scores") if r["station"] == "AR-1")
    stored = VisitResult.objects.get(visit=row["visit"])
    metrics = stored.detail["index"]["metrics"]
    assert row["index_score"] == stored.index_score
    assert [m["metric"] for m in row["metrics"]] == list(metrics)
    assert [m["value"] for m in row["metrics"]] == [m["value"] for m in metrics.values()]


# --- asking --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("question", "stations"),
    [
        ("visits?watershed=willow-run", ["WR-1", "WR-2"]),
        ("visits?station=AR-1", ["AR-1"]),
        ("visits?from=2023-07-05", ["AR-1", "WR-2"]),
        ("visits?from=2023-07-05&to=2023-07-05", ["WR-2"]),
        ("visits?year=2022", []),
        ("catches?taxon=cottus-bairdii", ["AR-1", "WR-2"]),
        ("stations?stream=Alder%20Run", ["AR-1"]),
        ("trends?measure=richness&whole_watershed=false", ["AR-1", "WR-1", "WR-2"]),
        ("trends?measure=richness&whole_watershed=true", [None, None]),
        ("notes?category=trail&from=2020-01-01", [None]),
        ("notes?category=road", []),
    ],
)
def test_filters_narrow_the_list(records: County, question: str, stations: list[str | None]) -> None:
    found = [row["station"] for row in data(question)]
    assert sorted(found, key=str) == sorted(stations, key=str)


def test_pages_hold_every_record_once(records: County) -> None:
    seen = []
    path: str | None = "/api/v1/catches?limit=2"
    while path:
        response = Client().get(path)
        seen += response.json()["data"]
        assert len(response.json()["data"]) <= 2
        path = response.json()["next"]
        assert ('rel="next"' in response.headers["Link"]) == bool(path)
        if path:
            assert f"<{path}>" in response.headers["Link"]
    assert seen == data("catches")


def test_the_place_of_a_page_does_not_betray_a_fish_that_is_left_out(records: County) -> None:
    """The link to the next page is the same whether a withheld fish was caught there or not."""

    def links() -> list[str]:
        found, path = [], "/api/v1/catches?station=WR-1&limit=1"
        while path := Client().get(path).json()["next"]:
            found.append(path)
        return found

    before = links()
    pass_ = records.visit.passes.get(pass_number=1)
    moved = pass_.catches.get(taxon=records.darter)
    late = Visit.objects.get(station=records.neighbour).passes.get(pass_number=2)
    late.catches.create(taxon=moved.taxon, count=moved.count)
    moved.delete()
    assert len(before) == 2
    assert links() == before


def test_a_record_added_between_two_pages_shifts_nothing(records: County) -> None:
    whole = data("visits")
    first = get("visits?limit=1").json()
    make_visit(records.open, "1999-07-01", passes=[{"Creek Chub": 1}])
    second = Client().get(first["next"]).json()
    assert [first["data"][0], second["data"][0]] == whole[:2]


def test_csv_is_complete_and_safe(records: County) -> None:
    response = get("notes", accept="text/csv")
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert response.headers["Content-Disposition"] == 'attachment; filename="notes.csv"'
    rows = list(csv.DictReader(io.StringIO(response.content.decode(), newline="")))
    assert [row["title"] for row in rows] == ["'=A trail"]
    assert rows[0]["text"] == 'Two lines,\nquoted "so"'
    places = list(csv.DictReader(io.StringIO(get("stations?format=csv").content.decode(), newline="")))
    assert {p["station"]: p["longitude"] for p in places}["WR-1"] == "-77.4321"


@pytest.mark.parametrize("name", NAMES)
def test_csv_and_json_hold_the_same_numbers(records: County, name: str) -> None:
    rows = csv.DictReader(io.StringIO(get(f"{name}?format=csv").content.decode(), newline=""))
    for flat, plain in zip(rows, data(name), strict=True):
        for key, text in flat.items():
            value = plain[key]
            if isinstance(value, (int, float)) and not isinstance(value, bool):
                assert float(text) == value
            elif value in (None, ""):
                assert text == ""


def test_stations_as_geojson_put_longitude_first(records: County) -> None:
    response = get("stations", accept="application/geo+json")
    assert response.headers["Content-Type"] == "application/geo+json"
    collection = response.json()
    assert collection["type"] == "FeatureCollection"
    places = {f["id"]: f["geometry"] for f in collection["features"]}
    assert places["WR-1"] == {"type": "Point", "coordinates": [-77.4321, 39.1234]}
    assert places["AR-1"] is None
    assert "crs" not in collection


def test_an_unchanged_answer_is_not_sent_again(records: County) -> None:
    first = get("visits")
    again = get("visits", if_none_match=first.headers["ETag"])
    assert again.status_code == 304
    assert again.content == b""
    make_visit(records.open, "1999-07-01", passes=[{"Creek Chub": 1}])
    changed = get("visits", if_none_match=first.headers["ETag"])
    assert changed.status_code == 200
    assert changed.headers["ETag"] != first.headers["ETag"]


def test_answers_may_be_kept_by_a_shared_cache(records: County) -> None:
    response = get("visits")
    assert "public" in response.headers["Cache-Control"]
    assert "Accept" in response.headers["Vary"]
    assert "Cookie" not in response.headers["Vary"]


# --- refusing ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "status", "parameters"),
    [
        ("visits?limit=0", 400, ["limit"]),
        ("visits?limit=1001", 400, ["limit"]),
        ("visits?limit=ten&after=-1&colour=red", 400, ["limit", "after", "colour"]),
        ("visits?after=99999999999999999999", 400, ["after"]),
        ("visits?from=2023-02-30", 400, ["from"]),
        ("visits?from=20230101", 400, ["from"]),
        ("visits?year=23", 400, ["year"]),
        ("visits?station=%00", 400, ["station"]),
        ("visits?station=A&station=B", 400, ["station"]),
        ("trends?measure=beauty", 400, ["measure"]),
        ("visits?format=geojson", 400, ["format"]),
        ("stations?format=xml", 400, ["format"]),
        ("nothing", 404, None),
        ("stations/none", 404, None),
        ("visits/0x1", 404, None),
        ("visits/99999999999999999999999", 404, None),
        ("catches/1", 404, None),
        ("a/b/c/d", 404, None),
        ("catches?watershed=no-such", 404, ["watershed"]),
        ("visits?station=NO-1&method=no-such&year=2024", 404, ["station", "method"]),
        ("trends?watershed=no-such&year=nineteen", 400, ["year"]),
    ],
)
def test_refusals_are_problems(db: None, path: str, status: int, parameters: list[str] | None) -> None:
    response = get(path)
    assert response.status_code == status
    assert response.headers["Content-Type"] == "application/problem+json"
    problem = response.json()
    schema = get("openapi.json").json()["components"]["schemas"]["problem"]
    jsonschema.Draft202012Validator(schema).validate(problem)
    assert problem["status"] == status
    assert problem["instance"] == response.wsgi_request.path
    if parameters is not None:
        assert [error["parameter"] for error in problem["errors"]] == parameters


@pytest.mark.parametrize("path", ["stations/a%00b", "watersheds/a%00b", "a%00b"])
def test_an_address_with_a_zero_byte_leads_nowhere(db: None, path: str) -> None:
    """PostgreSQL takes no zero byte in a text (its documentation, section 8.3)."""
    assert get(path).status_code == 404
    assert get(path).json()["status"] == 404


def test_a_problem_leads_to_its_entry_on_the_page(db: None) -> None:
    address, _, anchor = get("nothing").json()["type"].partition("#")
    page = Client().get(address, headers={"accept": "text/html"})
    assert f'id="{anchor}"' in page.content.decode()


def test_a_form_that_is_not_offered_is_refused(db: None) -> None:
    response = get("visits", accept="application/xml")
    assert response.status_code == 406
    assert response.json()["type"].endswith("not-acceptable")


@pytest.mark.parametrize(
    ("accept", "given"),
    [
        ("application/json; charset=utf-8", "application/json"),
        ("text/csv; charset=utf-8; header=present", "text/csv"),
        ("application/json;odata=verbose;q=0.4, text/csv; q=0.9", "text/csv"),
        ("text/html, application/json;q=0.9, */*;q=0.8", "application/json"),
        ("*/*", "application/json"),
    ],
)
def test_what_is_said_beside_the_name_of_a_form_is_no_hindrance(
    records: County, accept: str, given: str
) -> None:
    """Media ranges and their weights: RFC 9110, section 12.5.1."""
    assert get("visits", accept=accept).headers["Content-Type"].partition(";")[0] == given


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_nothing_can_be_written(records: County, method: str) -> None:
    """Told as a problem, and not as the page about forms that a request without a form's mark would get."""
    response = getattr(Client(enforce_csrf_checks=True), method)("/api/v1/visits")
    assert response.status_code == 405
    assert response.headers["Allow"] == "GET, HEAD"
    assert response.json()["status"] == 405


def test_head_answers_without_a_body(records: County) -> None:
    response = Client().head("/api/v1/visits")
    assert (response.status_code, response.content) == (200, b"")


def test_haste_is_slowed_down(db: None, settings: Any) -> None:
    settings.API_REQUESTS_PER_MINUTE = 3
    answers = [get("watersheds") for _ in range(8)]
    refused = [a for a in answers if a.status_code == 429]
    # A new minute may begin on the way, which allows three more.
    assert 2 <= len(refused) <= 5
    assert 1 <= int(refused[0].headers["Retry-After"]) <= 60
    assert refused[0].json()["status"] == 429


@pytest.mark.parametrize(("proxies", "second"), [(1, 200), (0, 429)])
def test_readers_behind_one_proxy_are_counted_apart(
    db: None, settings: Any, proxies: int, second: int
) -> None:
    """By the entry that the proxy added, the last one; what a reader writes before it counts for nothing."""
    settings.API_REQUESTS_PER_MINUTE, settings.ALLAUTH_TRUSTED_PROXY_COUNT = 3, proxies

    def ask(seen: str) -> int:
        return Client().get("/api/v1/watersheds", headers={"x-forwarded-for": seen}).status_code

    # Eight, for a new minute may begin on the way.
    assert 429 in {ask(f"198.51.100.{i}, 203.0.113.7") for i in range(8)}
    assert second in {ask("203.0.113.7, 203.0.113.8") for _ in range(1 if proxies else 8)}


@pytest.mark.parametrize("name", NAMES)
def test_queries_do_not_grow_with_the_records(records: County, name: str) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert get(name).status_code == 200
        return len(captured)

    before = queries()
    for number in range(5):
        station = make_station(f"WR-1{number}")
        make_visit(station, "2020-07-01", passes=[{"Creek Chub": 3, SENSITIVE: 1}])
        LandUseNote.objects.create(
            watershed=station.watershed, category="road", starts_on="2020-05-01", title=f"Road {number}"
        )
    mark_all()
    recompute_marked()
    assert queries() == before
