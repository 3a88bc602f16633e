"""The strips of years of a species that lives in several creeks, saved from a real browser."""

from typing import Any

import pytest

from tests.browser.test_pictures_travel import STRIP, SVG, drawn, make_creek, opened, saved
from tests.factories import make_station, make_visit

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_strips_of_several_creeks_stand_on_one_sheet_with_their_names(page: Any, live_server: Any) -> None:
    make_creek()
    make_visit(make_station("BIR-01", watershed="Birch Run"), "2019-07-01", passes=[{"Creek Chub": 3}])
    box = opened(page, live_server.url + STRIP, "section:has(#creeks)")
    _, content = saved(page, box, "Drawing (SVG)")
    assert {"Birch Run", "Willow Run"} <= {one.text for one in drawn(content).iter(f"{SVG}text")}
