"""Marks of look-alikes: real species of the list, told apart in words, with where the words are from."""

import csv
from pathlib import Path

import pytest
from django.test import Client

from surveys.look_alikes import all_marks, marks_among, marks_between
from surveys.models import Taxon

LIST = Path(__file__).parents[2] / "fixtures" / "taxa.csv"


def test_every_pair_is_on_the_list_and_marks_name_a_difference() -> None:
    with LIST.open(encoding="utf-8") as file:
        names = {row["scientific_name"] for row in csv.DictReader(file)}
    assert len(all_marks()) >= 12
    for pair, marks in all_marks().items():
        assert len(pair) == 2 and pair <= names
        assert len(marks.marks) >= 2 and all(mark.endswith(".") for mark in marks.marks)
        assert "from memory" in marks.source


def test_every_look_alike_noted_on_the_list_has_marks() -> None:
    with LIST.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    noted = {
        frozenset((row["scientific_name"], other.strip()))
        for row in rows
        for other in row["look_alikes"].split(";")
        if other.strip()
    }
    assert noted - set(all_marks()) == set()


def test_a_pair_is_found_in_either_order_and_among_many() -> None:
    one, other = "Salmo trutta", "Salvelinus fontinalis"
    assert marks_between(one, other) == marks_between(other, one) is not None
    assert marks_between(one, "Umbra pygmaea") is None
    assert [m.taxa for m in marks_among([one, other, "Umbra pygmaea"])] == [(one, other)]


@pytest.mark.django_db
def test_the_page_of_a_species_tells_it_from_its_look_alikes() -> None:
    taxon = Taxon.objects.create(
        scientific_name="Salmo trutta",
        slug="salmo-trutta",
        look_alikes="Salvelinus fontinalis; Umbra pygmaea",
    )
    page = Client().get(taxon.get_absolute_url()).content.decode()
    assert "dark on a light ground in the brown trout" in page and "from memory" in page
