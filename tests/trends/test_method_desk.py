"""Methods of an agency's own: checked, tried, published as versions that never rewrite the past unasked."""

import datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from surveys.models import RemovalPass, Visit
from tests.factories import make_station, make_taxon, make_visit
from trends import recompute
from trends.index.checking import check_text
from trends.index.method import CHECK_FIRST, METHODS
from trends.method_standing import standing_sentence
from trends.models import EarlierScore, IndexMethodVersion, MethodCheck, StratumMethod, VisitResult
from trends.shelf import shelf

pytestmark = pytest.mark.django_db

MARYLAND = (METHODS / "maryland_fish_2005.yaml").read_text(encoding="utf-8")
STRATUM = "eastern_piedmont"


def with_version(version: str, *, text: str = MARYLAND, **changes: str) -> str:
    lines = text.splitlines()
    new = {"version": version, **changes}
    found = [
        f'{key}: "{new[key]}"' if (key := line.split(":")[0]) in new and not line.startswith(" ") else line
        for line in lines
    ]
    return "\n".join(found) + "\n"


def stricter(version: str = "2") -> str:
    """The same method with a cut point for the share of tolerant fish that few catches meet."""
    return with_version(version).replace("{points: 5, at_most: 45}", "{points: 5, at_most: 5}")


@pytest.fixture
def visits() -> list[Visit]:
    for name in ("Creek Chub", "Mottled Sculpin", "Brook Trout"):
        make_taxon(name, lithophilic=name == "Brook Trout", benthic=name == "Mottled Sculpin")
    station = make_station("WIL-1", stratum=STRATUM, catchment_km2=8.0, mean_width_m=4.0)
    caught: list[dict[str, int]] = [
        {"Creek Chub": 40, "Mottled Sculpin": 60, "Brook Trout": 6},
        {"Creek Chub": 9},
    ]
    made = [
        make_visit(station, f"{year}-07-16", passes=caught, mean_width_m=4.0) for year in (2021, 2022, 2023)
    ]
    RemovalPass.objects.update(biomass_g=1800)
    recompute.mark_all()
    recompute.recompute_marked()
    return made


def bring(client: Client, text: str) -> Any:
    return client.post(reverse("trends:method_desk"), {"text": text})


def publish(client: Client, capture: Any, row: IndexMethodVersion, use: str, day: str = "") -> Any:
    with capture(execute=True):
        return client.post(
            reverse("trends:method_publish", args=[row.pk]),
            {"use": use, "applies_from": day, "note": "Corrected against the report."},
        )


# --- the check ---------------------------------------------------------------------------------------


def test_every_fault_is_told_with_its_line() -> None:
    text = MARYLAND.replace("combine: mean", "combine: middle").replace("decimals:", "decimal_places:", 1)
    checked = check_text(text)
    lines = text.splitlines()
    assert checked.method is None
    assert {one.line for one in checked.remarks} >= {
        next(i for i, line in enumerate(lines, 1) if "combine: middle" in line),
        next(i for i, line in enumerate(lines, 1) if "decimal_places:" in line),
    }


@pytest.mark.parametrize("code", ["karr_midwest_1986", "maryland_fish_2005", "wisconsin_coldwater_1996"])
def test_a_shipped_file_passes_the_check(code: str) -> None:
    assert check_text((METHODS / f"{code}.yaml").read_text(encoding="utf-8")).remarks == ()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "a: [1, 2",
        "- a list",
        "a: &x [1]\n"
        + "\n".join(f"b{i}: &y{i} [{', '.join(['*x' if not i else f'*y{i - 1}'] * 9)}]" for i in range(12)),
        "a: &x [*x]",
        "[" * 5000,
        "code: \x00",
        "a: !!python/object/apply:os.getcwd []",
        "x" * 300_000,
    ],
    ids=["empty", "broken", "list", "unfolds", "itself", "deep", "zero", "object", "long"],
)
def test_text_that_is_no_method_is_refused_with_a_reason(text: str) -> None:
    checked = check_text(text)
    assert checked.method is None
    assert checked.remarks and all(one.reason for one in checked.remarks)


def test_a_faulty_file_is_shown_back_with_its_lines(signed_in: Any) -> None:
    answer = bring(signed_in("administrator"), MARYLAND.replace("combine: mean", "combine: middle"))
    assert answer.status_code == 422
    line = next(i for i, words in enumerate(MARYLAND.splitlines(), 1) if "combine: mean" in words)
    assert f"Line {line}:" in answer.content.decode()
    assert not IndexMethodVersion.objects.exists()


@pytest.mark.parametrize("role", ["", "biologist", "reviewer", "planner", "outreach"])
def test_only_who_manages_the_lists_may_bring_a_method(signed_in: Any, role: str) -> None:
    assert bring(signed_in(role), with_version("2")).status_code == (403 if role else 302)
    assert not IndexMethodVersion.objects.exists()


def test_a_version_that_exists_is_not_taken_again(
    signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    assert bring(client, MARYLAND).status_code == 422
    bring(client, with_version("2"))
    bring(client, stricter())  # a draft may be brought again
    row = IndexMethodVersion.objects.get()
    assert "at_most: 5}" in row.text
    publish(client, django_capture_on_commit_callbacks, row, "aside")
    assert bring(client, with_version("2")).status_code == 422
    assert "at_most: 5}" in IndexMethodVersion.objects.get().text


# --- the trial -----------------------------------------------------------------------------------------


def test_a_trial_shows_both_scores_and_stores_nothing(signed_in: Any, visits: list[Visit]) -> None:
    client = signed_in("administrator")
    bring(client, stricter())
    row = IndexMethodVersion.objects.get()
    before = list(VisitResult.objects.values_list("pk", "index_score", "computed_at"))
    answer = client.get(reverse("trends:method_draft", args=[row.pk]), {"creek": "all"})
    trial = answer.context["trial"]
    assert trial.summary["tried"] == 3
    assert trial.summary["both"] == 3
    assert all(one.change < 0 for one in trial.rows)
    assert list(VisitResult.objects.values_list("pk", "index_score", "computed_at")) == before
    assert not EarlierScore.objects.exists()


# --- versions ------------------------------------------------------------------------------------------


def test_publishing_asks_which_visits_it_scores(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    bring(client, stricter())
    row = IndexMethodVersion.objects.get()
    assert publish(client, django_capture_on_commit_callbacks, row, "").status_code == 422
    assert publish(client, django_capture_on_commit_callbacks, row, "since").status_code == 422
    row.refresh_from_db()
    assert row.published_at is None


def test_kept_aside_it_changes_no_score(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    bring(client, stricter())
    publish(client, django_capture_on_commit_callbacks, IndexMethodVersion.objects.get(), "aside")
    recompute.mark_all()
    recompute.recompute_marked(everything=True)
    assert set(VisitResult.objects.values_list("index_version", flat=True)) == {
        shelf().versions["maryland_fish_2005"][-1].version
    }


def test_from_a_day_on_earlier_visits_keep_their_version(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    shipped = VisitResult.objects.first().index_version  # type: ignore[union-attr]
    bring(client, stricter("9"))
    publish(
        client, django_capture_on_commit_callbacks, IndexMethodVersion.objects.get(), "since", "2023-01-01"
    )
    recompute.mark_all()
    recompute.recompute_marked(everything=True)
    found = VisitResult.objects.order_by("visit__visit_date").values_list("index_version", flat=True)
    assert list(found) == [shipped, shipped, "9"]
    assert EarlierScore.objects.get().method_version == shipped


def test_scores_that_are_replaced_are_kept_and_shown_beside(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    before = dict(VisitResult.objects.values_list("visit", "index_score"))
    bring(client, stricter("9"))
    publish(client, django_capture_on_commit_callbacks, IndexMethodVersion.objects.get(), "all")
    after = dict(VisitResult.objects.values_list("visit", "index_score"))
    assert set(VisitResult.objects.values_list("index_version", flat=True)) == {"9"}
    assert all(after[pk] < before[pk] for pk in before)
    assert dict(EarlierScore.objects.values_list("visit", "score")) == before
    page = Client().get(reverse("trends:method", args=["maryland_fish_2005"])).content.decode()
    assert "Old and new scores side by side" in page
    assert f"{before[visits[0].pk]:.2f} (1)" in page and f"{after[visits[0].pk]:.2f} (1)" in page


def test_taken_out_of_use_the_version_before_scores_again(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    before = dict(VisitResult.objects.values_list("visit", "index_score"))
    bring(client, stricter("9"))
    row = IndexMethodVersion.objects.get()
    publish(client, django_capture_on_commit_callbacks, row, "all")
    publish(client, django_capture_on_commit_callbacks, row, "aside")
    assert dict(VisitResult.objects.values_list("visit", "index_score")) == before
    assert set(EarlierScore.objects.values_list("method_version", flat=True)) >= {"9"}


def test_a_published_version_is_never_dropped(
    signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    bring(client, stricter())
    row = IndexMethodVersion.objects.get()
    publish(client, django_capture_on_commit_callbacks, row, "aside")
    client.post(reverse("trends:method_discard", args=[row.pk]))
    assert IndexMethodVersion.objects.count() == 1


def test_the_file_of_a_version_comes_back_as_it_was_brought(
    signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    bring(client, stricter("9"))
    publish(client, django_capture_on_commit_callbacks, IndexMethodVersion.objects.get(), "all")
    address = reverse("trends:method_file", args=["maryland_fish_2005"])
    assert Client().get(address).content.decode() == stricter("9")
    shipped = shelf().versions["maryland_fish_2005"][-1].version
    assert Client().get(address, {"version": shipped}).content.decode() == MARYLAND
    assert Client().get(address, {"version": "no such"}).status_code == 404


# --- the method of a stratum ------------------------------------------------------------------------------


def test_a_method_of_ones_own_scores_a_stratum_once_it_is_chosen(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    bring(client, with_version("1", code="our_own_creeks"))
    publish(client, django_capture_on_commit_callbacks, IndexMethodVersion.objects.get(), "all")
    assert set(VisitResult.objects.values_list("index_method", flat=True)) == {"maryland_fish_2005"}
    address, asked = reverse("trends:method_strata"), {f"stratum-{STRATUM}": "our_own_creeks"}
    shown = client.post(address, asked)
    assert shown.context["changes"][0]["trial"].summary["both"] == 3
    assert not StratumMethod.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**asked, "confirm": "yes"})
    assert set(VisitResult.objects.values_list("index_method", flat=True)) == {"our_own_creeks"}
    assert set(EarlierScore.objects.values_list("method_code", flat=True)) == {"maryland_fish_2005"}
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {f"stratum-{STRATUM}": "none", "confirm": "yes"})
    assert set(VisitResult.objects.values_list("index_score", flat=True)) == {None}


# --- checks against the report ------------------------------------------------------------------------------


def test_until_somebody_checked_every_page_with_a_score_says_so(
    signed_in: Any, visits: list[Visit], django_capture_on_commit_callbacks: Any
) -> None:
    pages = [visits[0].get_absolute_url(), visits[0].station.get_absolute_url(), "/watersheds/willow-run/"]
    pages.append(reverse("trends:method", args=["maryland_fish_2005"]))
    for address in pages:
        assert CHECK_FIRST in Client().get(address).content.decode(), address
    version = VisitResult.objects.first().index_version  # type: ignore[union-attr]
    answer = signed_in("administrator").post(
        reverse("trends:method_check", args=["maryland_fish_2005"]),
        {
            "checked_by_name": "Rhea Invented",
            "checked_on": "2024-03-01",
            "edition": "the report of 2005, first printing",
            "pages": "tables 3 to 5",
        },
    )
    assert answer.status_code == 302
    said = standing_sentence("maryland_fish_2005", version)
    assert said.startswith("Rhea Invented checked the cut points") and "1 March 2024" in said
    for address in pages:
        page = Client().get(address).content.decode()
        assert said in page and CHECK_FIRST not in page, address


def test_a_check_holds_for_its_version_alone(
    signed_in: Any, person: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    shipped = shelf().versions["maryland_fish_2005"][-1].version
    MethodCheck.objects.create(
        code="maryland_fish_2005", version=shipped, checked_by_name="Rhea Invented",
        checked_on=datetime.date(2024, 3, 1), edition="report", pages="3", recorded_by=person("administrator"),
    )  # fmt: skip
    bring(client, stricter("9"))
    publish(client, django_capture_on_commit_callbacks, IndexMethodVersion.objects.get(), "all")
    assert standing_sentence("maryland_fish_2005") == CHECK_FIRST
    assert standing_sentence("maryland_fish_2005", shipped) != CHECK_FIRST


def test_a_check_in_the_future_is_refused(signed_in: Any) -> None:
    day = datetime.date.today() + datetime.timedelta(days=2)
    answer = signed_in("administrator").post(
        reverse("trends:method_check", args=["maryland_fish_2005"]),
        {"checked_by_name": "R", "checked_on": day.isoformat(), "edition": "r", "pages": "1"},
    )
    assert answer.status_code == 422
    assert not MethodCheck.objects.exists()


def test_files_and_papers_with_a_score_say_it_too(visits: list[Visit]) -> None:
    from trends.exports.charts import in_size, watershed_pictures
    from trends.exports.trends import trend_rows
    from trends.exports.visits import visit_rows

    assert {row["index_standing"] for row in visit_rows()} == {CHECK_FIRST}
    told = {row["measure"]: row["index_standing"] for row in trend_rows()}
    assert told["index_score"] == CHECK_FIRST and told["total_catch"] == ""
    row = Client().get("/api/v1/scores").json()
    assert CHECK_FIRST in str(row)
    short = "ndex cut points still to be checked"
    assert short in Client().get("/handout/willow-run/").content.decode()
    pictures = {p.outcome.measure: p for p in watershed_pictures(visits[0].station.watershed)}
    assert short in str(in_size(pictures["index_score"], "screen"))
    assert short not in str(in_size(pictures["total_catch"], "screen"))
