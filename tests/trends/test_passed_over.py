"""An address may be old, cut short or typed wrong. The page says what it could not give; it never breaks off.

Common practice of the web, no source: what a person asked for and did not get is named.
"""

import pytest
from django.test import Client

from tests.factories import make_station, make_visit
from trends.measures import BY_KEY, INDEX
from trends.passed_over import measure_passed_over, names_passed_over, years_passed_over
from trends.recompute import mark_all, recompute_marked

RICHNESS = BY_KEY["native_richness"]
YEARS = range(2010, 2021)


def test_a_number_that_is_not_shown_is_named_beside_the_one_that_is() -> None:
    assert measure_passed_over({"measure": ["trout_per_mile"]}, [INDEX, RICHNESS], INDEX) == [
        f"“trout_per_mile” is no number that this page shows. Shown instead: {INDEX.name}."
    ]


def test_an_address_that_asks_for_nothing_odd_needs_no_remark() -> None:
    asked = {"measure": [RICHNESS.key], "station": ["WIL-01"], "from": ["2012"], "to": ["2020"]}

    assert measure_passed_over(asked, [INDEX, RICHNESS], RICHNESS) == []
    assert names_passed_over(asked, "station", ["WIL-01"]) == []
    assert years_passed_over(asked, YEARS) == []


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("abc", "", "“abc” is not a year, and was passed over."),
        ("", "-5", "“-5” is not a year, and was passed over."),
        ("9" * 60, "", f"“{'9' * 40}…” is not a year, and was passed over."),
        ("2018", "2012", "The first year asked for comes after the last. Read as 2012 to 2018."),
        ("2030", "2040", "The years asked for lie outside the record, which runs from 2010 to 2020."),
    ],
)
def test_years_that_cannot_be_shown_are_told(first: str, last: str, said: str) -> None:
    assert years_passed_over({"from": [first], "to": [last]}, YEARS) == [said]


def test_a_list_of_nonsense_is_named_in_its_first_three() -> None:
    assert len(names_passed_over({"station": [f"X-{i}" for i in range(50)]}, "station", ["WIL-01"])) == 3


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("/watersheds/willow-run/?measure=nope", "“nope” is no number that this page shows"),
        ("/watersheds/willow-run/?station=ELSE-9", "“ELSE-9” is not on the list"),
        ("/watersheds/willow-run/?from=2030&to=2040", "lie outside the record"),
        (
            "/watersheds/willow-run/?from=2030&to=2040",
            "Willow Run: no value for the stations and years chosen.",
        ),
        ("/watersheds/willow-run/?from=abc", "“abc” is not a year"),
        ("/watersheds/willow-run/result/?measure=nope", "“nope” is no number"),
        ("/stations/WIL-01/?measure=nope", "“nope” is no number"),
        ("/compare/?creek=nowhere&sort=luck", "“luck” is not on the list"),
        ("/brief/willow-run/?proposal=castle", "“castle” is not on the list"),
        ("/brief/willow-run/?from=2016&to=2014", "Read as 2014 to 2016"),
        ("/es/watersheds/willow-run/?from=abc", "«abc» no es un año"),
    ],
)
def test_each_page_says_what_it_could_not_give(client: Client, address: str, said: str) -> None:
    station = make_station("WIL-01")
    for year in range(2013, 2018):
        make_visit(station, f"{year}-07-01", passes=[{"Creek Chub": 10 + year % 3}, {"Creek Chub": 2}])
    mark_all()
    recompute_marked()

    answer = client.get(address)

    assert answer.status_code == 200
    assert said in answer.content.decode()


@pytest.mark.django_db
def test_what_was_typed_is_shown_as_words_and_never_as_markup(client: Client) -> None:
    make_visit(make_station("WIL-01"), "2015-07-01", passes=[{"Creek Chub": 9}])
    mark_all()
    recompute_marked()

    page = client.get("/watersheds/willow-run/?from=<script>alert(1)</script>").content.decode()

    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page
