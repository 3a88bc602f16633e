"""The main job in a real browser: a season file with two errors becomes one more point on the creek's line."""

from pathlib import Path
from typing import Any

import pytest

from surveys.models import Visit
from trends import demo
from trends.models import TrendResult

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
SEASON = FIXTURES / "season_2025.csv"


@pytest.fixture
def logins(transactional_db: None, tmp_path: Path) -> dict[str, str]:
    """The demo's county as a newcomer finds it."""
    demo.claim_database()
    logins = demo.make_logins(tmp_path / "logins.json")
    demo.load_lists()
    demo.load_seasons()
    demo.bring_results_up_to_date()
    return logins


def sign_in(page: Any, address: str, role: str, password: str) -> None:
    page.goto(f"{address}/account/login/")
    page.get_by_label("Username or email").or_(page.locator("[name=login]")).first.fill(role)
    page.locator("[name=password]").fill(password)
    page.locator("main button[type=submit]").first.click()
    page.wait_for_url(lambda url: "login" not in url)


def press(page: Any, button: Any) -> None:
    """Press what leads to another page, and wait until that page is there."""
    with page.expect_navigation():
        button.click()


def sign_out(page: Any) -> None:
    press(page, page.get_by_role("button", name="Sign out"))


def index_years(slug: str) -> list[int]:
    outcome = TrendResult.objects.get(watershed__slug=slug, station=None, measure="index_score").outcome
    return [y["year"] for y in outcome["middle"] if y["value"] is not None]


def test_a_season_with_two_errors_becomes_one_more_point(
    page: Any, live_server: Any, logins: dict[str, str], tmp_path: Path
) -> None:
    before = index_years("tarvandle-run")
    assert 2025 not in before

    # The biologist sends the season as it came; nothing is stored, and both errors are named.
    sign_in(page, live_server.url, "biologist", logins["biologist"])
    press(page, page.get_by_role("link", name="Season files"))
    page.set_input_files("input[type=file]", str(SEASON))
    press(page, page.get_by_role("button", name="Check the file"))
    words = page.locator("main").inner_text()
    assert "BREN-O2" in words and "BREN-02" in words, "the unknown station is named with the nearest code"
    assert "324" in words and "young_of_year" in words
    assert page.get_by_role("button", name="Take the whole file").count() == 0
    assert not Visit.objects.filter(visit_date__year=2025).exists()

    # Both are put right in the file, which is then taken whole.
    mended = tmp_path / "season_2025.csv"
    lines = SEASON.read_text(encoding="utf-8").splitlines(keepends=True)
    assert lines[323].split(",")[5] == "25"
    cells = lines[323].split(",")
    cells[5] = "5"
    lines[323] = ",".join(cells)
    mended.write_text("".join(lines).replace("BREN-O2", "BREN-02"), encoding="utf-8")
    page.goto(f"{live_server.url}/upload/")
    page.set_input_files("input[type=file]", str(mended))
    press(page, page.get_by_role("button", name="Check the file"))
    for box in page.locator("form input[type=checkbox]").all():
        box.check()
    press(page, page.get_by_role("button", name="Take the whole file"))
    taken = Visit.objects.filter(visit_date__year=2025)
    assert taken.count() > 10
    assert set(taken.values_list("status", flat=True)) == {"submitted"}
    assert index_years("tarvandle-run") == before, "nothing counts before it has been accepted"
    sign_out(page)

    # A second person accepts.
    sign_in(page, live_server.url, "reviewer", logins["reviewer"])
    press(page, page.get_by_role("link", name="Review", exact=True))
    for box in page.locator("input[name=visits]").all():
        box.check()
    press(page, page.get_by_role("button", name="Accept the ticked visits"))
    assert not taken.exclude(status="accepted").exists()
    sign_out(page)

    # The planner finds the creek's line longer by one year.
    assert index_years("tarvandle-run") == [*before, 2025]
    page.goto(f"{live_server.url}/watersheds/tarvandle-run/")
    assert "2025" in page.locator("h1").inner_text()
    page.get_by_text("The same numbers in a table").first.click()
    assert page.locator("#trajectory table tbody tr th", has_text="2025").count() == 1
    page.locator("#trajectory .main-svg").first.wait_for()
