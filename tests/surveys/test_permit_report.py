"""The report on a permit: every fish of the accepted visits is in it, and what became of it is not made up."""

import csv
import io
from collections.abc import Callable

import pytest
from django.test import Client

from surveys.models import Catch, Permit, Visit
from surveys.permit_report import COLUMNS, permit_report, report_csv
from tests.factories import make_station, make_visit, make_watershed

pytestmark = pytest.mark.django_db


def make_permit(number: str, *watersheds: str) -> Permit:
    made = Permit.objects.create(
        number=number, body="State office", valid_from="2024-06-01", valid_to="2024-09-30"
    )
    made.watersheds.set([make_watershed(name) for name in watersheds])
    return made


def note(visit: Visit, name: str, number: int, **fates: int) -> None:
    Catch.objects.filter(
        removal_pass__visit=visit, removal_pass__pass_number=number, taxon__common_name=name
    ).update(**fates)


@pytest.fixture
def visit() -> Visit:
    """12 and 5 chub of which one died and one was kept; the 3 dace's fate was not noted."""
    made = make_visit(
        make_station("WIL-01"), passes=[{"Creek Chub": 12, "Blacknose Dace": 3}, {"Creek Chub": 5}]
    )
    note(made, "Creek Chub", 1, released=10, died=1, kept=1)
    note(made, "Creek Chub", 2, released=5, died=0, kept=0)
    return made


def test_each_fish_is_released_dead_kept_or_not_noted(visit: Visit) -> None:
    permit = make_permit("P-1")
    (section,) = permit_report(2024).sections
    assert section.permit == permit
    told = {line.taxon.common_name: line.tally for line in section.lines}
    chub, dace = told["Creek Chub"], told["Blacknose Dace"]
    assert (chub.fish, chub.released, chub.died, chub.kept, chub.not_noted) == (17, 15, 1, 1, 0)
    assert (dace.fish, dace.fates, dace.not_noted) == (3, (None, None, None), 3)
    total = section.total
    assert total.fish == total.released + total.died + total.kept + total.not_noted == 20


def test_deaths_are_named_with_species_station_and_day(visit: Visit) -> None:
    (death,) = permit_report(2024).deaths
    assert (death.visit, death.taxon.common_name, death.died) == (visit, "Creek Chub", 1)


def test_only_accepted_visits_are_counted_and_the_others_are_said(visit: Visit) -> None:
    make_visit(make_station("WIL-02"), status="submitted")
    make_visit(make_station("WIL-03"), status="withdrawn")
    make_visit(make_station("WIL-04"), "2023-07-01")
    report = permit_report(2024)
    assert (report.visits, report.total.fish, report.undecided) == (1, 20, 1)


def test_a_visit_outside_every_permit_stands_apart(visit: Visit) -> None:
    make_permit("P-1", "Otter Run")
    (section,) = permit_report(2024).sections
    assert (section.permit, section.total.fish) == (None, 20)


def test_two_permits_both_report_the_visit_but_no_fish_is_counted_twice(visit: Visit) -> None:
    first, second = make_permit("P-1"), make_permit("P-2", "Willow Run")
    report = permit_report(2024)
    assert [section.permit for section in report.sections] == [first, second]
    assert [section.total.fish for section in report.sections] == [20, 20]
    assert (report.total.fish, report.shared) == (20, 1)
    assert [section.permit for section in permit_report(2024, second).sections] == [second]


def test_the_table_adds_up_and_leaves_unknown_fates_empty(visit: Visit) -> None:
    make_visit(make_station("WIL-02"), passes=[{}])
    rows = list(csv.DictReader(io.StringIO(report_csv(permit_report(2024)))))
    assert tuple(rows[0]) == COLUMNS
    assert sum(int(row["fish"]) for row in rows) == 20
    dace = next(row for row in rows if row["common_name"] == "Blacknose Dace")
    assert (dace["released"], dace["died"], dace["fate_not_noted"]) == ("", "", "3")
    # A visit that caught nothing was made under the permit as well.
    assert [row["station"] for row in rows if row["scientific_name"] == "no fish"] == ["WIL-02"]


def test_the_page_shows_what_the_report_says(visit: Visit, signed_in: Callable[[str], Client]) -> None:
    permit = make_permit("P-1")
    page = signed_in("biologist").get(f"/season/2024/permit-report/?permit={permit.pk}").content.decode()
    assert "20 fish in 1 accepted visit of 2024; 1 is noted as dead" in page
    assert "Of 3 fish it was not noted what became of them" in page
    assert "WIL-01 on 2024-07-16" in page


def test_the_report_takes_the_same_queries_however_many_visits(
    visit: Visit, django_assert_max_num_queries: Callable[[int], object]
) -> None:
    make_permit("P-1")
    for number in range(2, 8):
        make_visit(make_station(f"WIL-{number:02d}"))
    with django_assert_max_num_queries(5):
        permit_report(2024)
