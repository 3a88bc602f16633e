"""Where places are listed, the codes of their cautions stand beside their numbers and open the rule."""

import datetime

import pytest
from django.test import Client

from tests.factories import make_station, make_visit
from tests.trends.caution_cases import QUIET, YEARS, outcome_of
from trends.listed import listed_outcome, summary_of
from trends.outcomes import to_plain
from trends.recompute import mark_all, recompute_marked
from trends.templatetags.trend_tags import caution_codes

pytestmark = pytest.mark.django_db


def test_a_listed_outcome_keeps_the_codes_of_its_cautions() -> None:
    whole = outcome_of(QUIET[:4], years=YEARS[:4])
    listed = listed_outcome(summary_of(whole, to_plain(whole))["rest"])
    assert caution_codes(listed) == caution_codes(whole) == ("C01",)


def test_what_only_staff_may_read_is_in_no_list() -> None:
    """That visits wait or were withdrawn is for staff; lists are the same for everybody."""
    waiting = outcome_of(left_out=((1, datetime.date(2012, 7, 30), "withdrawn"),))
    assert [c.code for c in waiting.cautions] == ["C33"]
    assert caution_codes(waiting) == ()


def test_codes_on_the_comparison_and_at_the_stations_open_the_rule(client: Client) -> None:
    station = make_station("WIL-01")
    for year in range(2010, 2014):
        make_visit(station, datetime.date(year, 7, 16), passes=[{"Creek Chub": 30}, {"Creek Chub": 4}])
    mark_all()
    recompute_marked()
    rules = client.get("/methods/").content.decode()
    of_fish = "measure=first_pass_catch"
    creek = station.watershed.get_absolute_url()
    for address in (f"/compare/?{of_fish}", f"/compare/?level=stations&{of_fish}", f"{creek}?{of_fish}"):
        page = client.get(address).content.decode()
        assert page.count('scope="col">Cautions</th>') == 1
        table = page.partition('scope="col">Cautions</th>')[2].partition("</table>")[0]
        assert 'href="/methods/#C01"' in table
    assert all(f'id="C{n:02d}"' in rules for n in range(1, 41))
