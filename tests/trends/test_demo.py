"""The demo's county: made again byte for byte, loaded once, and read as its story says.

All expected readings come from the story that the data were made to tell (fixtures/README.md).
"""

import csv
import datetime
import socket
import subprocess
import sys
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import authenticate
from django.core.management import CommandError, ManagementUtility, call_command
from django.db import transaction
from django.db.models import Max

from surveys.access import ROLES
from surveys.models import Upload, Visit, VisitStatus, Watershed
from surveys.permits import known_permits, permit_warnings
from surveys.season_report import season_of
from surveys.uploads.commit import new_upload, take
from surveys.uploads.findings import ERROR, WARNING
from surveys.uploads.plan import prepare
from trends import demo, demo_season
from trends.assessments import assess_period
from trends.deploy_checks import no_demo_accounts_on_a_server
from trends.index.taxa import family_of
from trends.measures import INDEX
from trends.models import LandUseNote, TrendResult, VisitResult
from trends.outcomes import Outcome, Period, from_plain

FIXTURES = settings.BASE_DIR / "fixtures"
TODAY = datetime.date(2026, 3, 2)


@pytest.fixture(scope="module")
def loaded(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Path]:
    """The whole demo, loaded once for this file and rolled back after it; gives the file of logins."""
    logins = tmp_path_factory.mktemp("demo") / "demo_logins.json"
    with django_db_blocker.unblock(), transaction.atomic():
        demo.claim_database()
        demo.make_logins(logins)
        assert demo.load_lists()
        assert demo.load_seasons()
        assert demo_season.load_plans(TODAY, by=demo.demo_accounts().get(username="biologist"))
        demo.bring_results_up_to_date()
        yield logins
        transaction.set_rollback(True)


@pytest.fixture
def county(loaded: Path, db: None) -> Path:
    """The loaded demo for one test: what the test changes is undone after it."""
    return loaded


def outcome(slug: str, station: str | None = None, measure: str = INDEX.key) -> Outcome:
    result = TrendResult.objects.get(watershed__slug=slug, station__code=station, measure=measure)
    return from_plain(Outcome, result.outcome)


def period_of_years(found: Outcome, first: int, last: int) -> Period:
    """The same stations and values, as if only these years had been surveyed."""
    rows = {s.station: [y for y in s.present() if first <= y.year <= last] for s in found.series}
    assert found.current
    return assess_period(INDEX, (found.current.method, ""), rows, found.ratings)


def season_2025(*, corrected: bool = False) -> bytes:
    text = (FIXTURES / "season_2025.csv").read_text(encoding="utf-8")
    if not corrected:
        return text.encode()
    rows = list(csv.reader(StringIO(text)))
    at = rows[0].index
    for row in rows:
        row[at("station")] = row[at("station")].replace("BREN-O2", "BREN-02")
        if (row[at("station")], row[at("pass")]) == ("OSTR-03", "1") and "Cottus" in row[at("taxon")]:
            row[at("young_of_year")] = "3"
    out = StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue().encode()


def test_the_script_writes_the_same_bytes_again(tmp_path: Path) -> None:
    script = settings.BASE_DIR / "scripts" / "make_demo_data.py"
    subprocess.run([sys.executable, script, "--out", tmp_path], check=True, capture_output=True)
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    shipped = [*FIXTURES.glob("*.csv"), *FIXTURES.glob("*.geojson")]
    kept = {path.name: path.read_bytes() for path in shipped if path.name != "taxa.csv"}
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == []


def test_every_taxon_stands_in_the_family_that_the_index_methods_mean() -> None:
    with (FIXTURES / "taxa.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    families = {r["scientific_name"]: r["family"].casefold() for r in rows}
    assert families == {name: family_of(name) for name in families}
    assert sum(r["sensitive_location"] == "1" for r in rows) == 2


def test_the_creek_with_new_roofs_is_very_likely_worsening(county: Path) -> None:
    current = outcome("tarvandle-run").current
    assert current and (current.certainty, current.direction, current.good) == ("very_likely", "down", False)
    assert outcome("tarvandle-run").latest_rating == "Poor"


def test_the_recovering_creek_recovers_after_the_work_and_not_before(county: Path) -> None:
    found = outcome("brendowick-creek")
    before, after = period_of_years(found, 2005, 2013), period_of_years(found, 2015, 2024)
    assert before.certainty in ("unclear", "leaning", "steady")
    assert (after.certainty, after.direction, after.good) == ("very_likely", "up", True)
    assert found.current and found.current.good is True


def test_the_reference_creek_is_steady_and_not_merely_unclear(county: Path) -> None:
    current = outcome("ostrelwyn-creek").current
    assert current and current.certainty == "steady"
    assert current.lower is not None and current.upper is not None
    # A quarter of a rating class (1 point) per decade on either side.
    assert 10 * current.lower >= -0.25 and 10 * current.upper <= 0.25


def test_the_creek_with_three_years_is_not_assessed(county: Path) -> None:
    found = outcome("lummerdane-branch")
    assert found.current and found.current.certainty == "not_assessed"
    assert found.current.n == 3
    assert "C01" in {c.code for c in found.cautions}


def test_a_change_of_method_breaks_the_line(county: Path) -> None:
    found = outcome("tarvandle-run", "TARV-03")
    assert found.breaks == (2011,)
    assert [(p.method, p.first_year, p.last_year) for p in found.periods] == [
        ("backpack-50m-two-pass", 2005, 2010),
        ("backpack-75m-two-pass", 2011, 2024),
    ]
    assert "C06" in {c.code for c in found.cautions}


def test_the_year_without_a_season_is_a_gap_with_its_reason(county: Path) -> None:
    for slug in ("tarvandle-run", "brendowick-creek", "ostrelwyn-creek"):
        assert dict(outcome(slug).gaps)[2020].startswith("No field season")


def test_a_visit_without_fish_is_a_result(county: Path) -> None:
    result = VisitResult.objects.get(visit__station__code="TARV-04", visit__visit_date__year=2022)
    assert (result.values["total_catch"], result.index_score) == (0, 1.0)


def test_a_larger_second_pass_gives_no_estimate_and_says_why(county: Path) -> None:
    result = VisitResult.objects.get(visit__station__code="BREN-03", visit__visit_date__year=2009)
    removal = result.detail["indicators"]["removal_total"]
    first, second = removal["catches"]
    assert second > first
    assert not removal["usable"] and removal["n_hat"] is None and removal["reason"]


def test_the_review_page_has_a_returned_visit_and_visits_that_wait(county: Path) -> None:
    returned = Visit.objects.get(status=VisitStatus.RETURNED)
    assert (returned.station.code, returned.visit_date.year) == demo.RETURNED
    step = returned.steps.last()
    assert step and step.by and (step.by.username, step.remark) == ("reviewer", demo.RETURN_REMARK)
    waiting = {(v.station.code, v.visit_date.year) for v in Visit.objects.awaiting_review()}
    assert waiting == demo.WAITING
    assert VisitResult.objects.filter(visit__status__in=["submitted", "returned"]).count() == 0


def test_some_notes_are_private_and_some_dates_rough(county: Path) -> None:
    assert LandUseNote.objects.filter(public=False).count() == 2
    assert set(LandUseNote.objects.values_list("date_precision", flat=True)) == {
        "day",
        "month",
        "year",
        "decade",
    }


def test_a_second_run_changes_nothing(county: Path) -> None:
    def state() -> tuple[object, ...]:
        return (
            Visit.objects.count(),
            Upload.objects.count(),
            LandUseNote.objects.count(),
            TrendResult.objects.aggregate(Max("computed_at")),
            VisitResult.objects.aggregate(Max("computed_at")),
        )

    before = state()
    assert not demo.claim_database()
    assert not demo.load_lists()
    assert not demo.load_seasons()
    assert demo.bring_results_up_to_date() == 0
    assert state() == before


def test_the_command_prints_one_login_for_each_role(county: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLMARK_DATA_DIR", str(county.parent))
    out = StringIO()
    call_command("demo", "--no-serve", stdout=out)
    printed = dict(line.split() for line in out.getvalue().splitlines() if len(line.split()) == 2)
    for role in ROLES:
        user = authenticate(username=role, password=printed[role])
        assert user is not None
        assert set(user.groups.values_list("name", flat=True)) == {role, demo.MARK}


def test_a_login_whose_password_was_changed_is_made_anew(county: Path) -> None:
    own = county.with_name("own.json")
    logins = demo.make_logins(own)
    assert demo.make_logins(own) == logins
    assert own.stat().st_mode & 0o077 == 0
    user = demo.demo_accounts().get(username="planner")
    user.set_password("something else 123")
    user.save()
    again = demo.make_logins(own)
    assert again["planner"] != logins["planner"]
    assert authenticate(username="planner", password=again["planner"])


def test_the_next_season_has_exactly_two_errors(county: Path) -> None:
    plan = prepare("season_2025.csv", season_2025())
    errors = [(f.code, f.column) for f in plan.findings if f.level == ERROR]
    assert errors == [("unknown_station", "station"), ("young_above_count", "young_of_year")]
    warnings = {f.code for f in plan.findings if f.level == WARNING}
    assert warnings == {"fish_without_weight", "unusual_day"}
    assert not prepare("season_2025.csv", season_2025(corrected=True)).has_errors


def test_the_corrected_season_adds_one_point_to_each_trajectory(county: Path) -> None:
    slugs = list(Watershed.objects.values_list("slug", flat=True))
    before = {slug: outcome(slug) for slug in slugs}
    take(new_upload("season_2025.csv", season_2025(corrected=True), by=None), by=None, accept=True)
    demo.bring_results_up_to_date()
    after = {slug: outcome(slug) for slug in slugs}
    for slug in slugs:
        assert len(after[slug].middle) == len(before[slug].middle) + 1
        assert after[slug].latest_year == 2025
        assert after[slug].current and before[slug].current
        assert after[slug].current.certainty == before[slug].current.certainty


def test_demo_accounts_on_a_server_are_reported(county: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert no_demo_accounts_on_a_server(None) == []
    monkeypatch.setattr("trends.deploy_checks.env.database_url", "postgresql://example.invalid/county")
    (warning,) = no_demo_accounts_on_a_server(None)
    assert warning.id == "trends.W001" and "planner" in warning.msg


@pytest.mark.parametrize("port", ["99999", "0", "http", "\u00b2"])
def test_what_is_no_port_is_said_in_one_line_of_the_usage(
    port: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as refused:
        ManagementUtility(["manage.py", "demo", "--port", port]).execute()
    assert refused.value.code == 2
    assert f"argument --port: {port} is no port" in capsys.readouterr().err


def test_a_port_that_is_taken_is_said_before_anything_is_done() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(CommandError, match=r"is taken.*--port"):
            call_command("demo", "--port", str(other.getsockname()[1]), stdout=StringIO())


def test_the_coming_season_is_planned_with_one_station_called_off(county: Path) -> None:
    coming = season_of(2026, today=TODAY)
    assert coming.counts() == {
        **dict.fromkeys(coming.counts(), 0),
        "stations": 14,
        "planned": 14,
        "due": 13,
        "not_sampled": 1,
    }
    (off,) = coming.of_state("not sampled")
    assert (off.station.code, off.not_sampled[0].kind) == ("LUMM-02", "cancelled")


def test_the_last_season_was_planned_and_the_one_to_upload_is_missing(county: Path) -> None:
    assert season_of(2024, today=TODAY).counts()["done"] == 11
    assert season_of(2025, today=TODAY).counts()["missing"] == 14


def test_one_permit_covers_the_season_and_one_ends_soon(county: Path) -> None:
    (soon,) = permit_warnings(known_permits(), season_of(2026, today=TODAY), today=TODAY)
    assert soon == "QW-2026-104 (Quillomby County Water Office) ends on 2026-03-23."


def test_plans_are_put_in_once(county: Path) -> None:
    assert not demo_season.load_plans(TODAY)
