"""Lists of notes, land cover and traits go by the rules as the county set them, as files of visits do."""

from collections.abc import Callable, Iterable

import pytest

from surveys.check_settings import change_rule
from surveys.rules import RULES
from surveys.uploads.findings import Finding
from tests.factories import make_taxon, make_watershed
from trends.imports import load_land_cover, load_notes
from trends.trait_lists import read_list

pytestmark = pytest.mark.django_db

# Each has a value under an empty heading.
LISTS: dict[str, Callable[[], Iterable[Finding]]] = {
    "notes": lambda: (
        load_notes(
            "notes.csv",
            b"watershed,starts_on,,category,title\nWillow Run,2012,x,development,Houses on the hill\n",
        ).findings
    ),
    "land cover": lambda: (
        load_land_cover("cover.csv", b"watershed,year,,impervious_percent\nWillow Run,2012,x,8.5\n").findings
    ),
    "traits": lambda: (
        read_list("traits.csv", b"scientific_name,,tolerance\nSemotilus atromaculatus,x,tolerant\n").findings
    ),
}


@pytest.mark.parametrize("read", LISTS.values(), ids=LISTS)
def test_a_rule_that_is_off_asks_nobody_in_a_list_either(read: Callable[[], Iterable[Finding]]) -> None:
    make_watershed("Willow Run")
    make_taxon("Creek Chub")
    assert "no_heading" in {one.code for one in read()}
    change_rule(RULES["no_heading"], limits={}, off=True, reason="our lists have such a column", by=None)
    assert "no_heading" not in {one.code for one in read()}
