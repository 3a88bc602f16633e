"""Words in the reader's language: made when shown, or recognised by the pattern that made them."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import polib
import pytest
import yaml
from django.conf import settings as project
from django.utils import translation
from hypothesis import given
from hypothesis import strategies as st

from surveys import language
from surveys.language import said, told, worded, worded_n
from surveys.said import said_n
from trends.stored_words import RATINGS

CATALOGUE = {
    "poor": "mala",
    "{n} of {all} stations": "{n} de {all} estaciones",
    "Without {years} the direction is no longer likely": "Sin {years}, la dirección ya no es probable",
    "{first} and {last}": "{first} y {last}",
    "{items}; {rest}": "{items} ; {rest}",
    "count": "recuento",
    "The column {column} is missing.": "Falta la columna {column}.",
    "Pass {number}, {written}: {field}": "Pasada {number}, {written}: {field}",
}


@pytest.fixture
def spanish(tmp_path: Path, settings: Any) -> Iterator[None]:
    """A small Spanish catalogue of its own, so that these tests do not hang on the real one's words."""
    folder = tmp_path / "es" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    catalogue = polib.POFile()
    catalogue.metadata = {
        "Content-Type": "text/plain; charset=utf-8",
        "Plural-Forms": "nplurals=2; plural=n != 1;",
    }
    catalogue.append(
        polib.POEntry(
            msgid="{n} value differs",
            msgid_plural="{n} values differ",
            msgstr_plural={0: "{n} valor difiere", 1: "{n} valores difieren"},
        )
    )
    for english, words in CATALOGUE.items():
        catalogue.append(polib.POEntry(msgid=english, msgstr=words))
    catalogue.save_as_mofile(str(folder / "django.mo"))
    settings.LOCALE_PATHS = [tmp_path]
    language._told.cache_clear()
    language._catalogue.cache_clear()
    with translation.override("es"):
        yield
    language._told.cache_clear()
    language._catalogue.cache_clear()


def test_in_english_words_are_as_they_were_stored() -> None:
    assert told(said("{n} of {all} stations", n=2, all=5)) == "2 of 5 stations"
    assert worded("{n} of {all} stations", n=2, all=5) == "2 of 5 stations"
    assert worded_n("{n} year", "{n} years", 1) == "1 year"


@pytest.mark.usefixtures("spanish")
class TestStoredWords:
    def test_name_columns_and_what_was_typed_as_the_file_does(self) -> None:
        assert told("The column count is missing.") == "Falta la columna count."
        assert told("The column “count” is missing.") == "Falta la columna “recuento”."
        assert told("Pass 2, Creek Chub: count") == "Pasada 2, Creek Chub: recuento"

    def test_of_one_thing_and_of_several_are_known_by_their_own_form(self) -> None:
        assert told(said_n("{n} value differs", "{n} values differ", 1)) == "1 valor difiere"
        assert told(said_n("{n} value differs", "{n} values differ", 3)) == "3 valores difieren"

    def test_are_said_again_by_their_pattern(self) -> None:
        assert told(said("{n} of {all} stations", n=2, all=5)) == "2 de 5 estaciones"

    def test_values_are_said_again_too(self) -> None:
        words = said(
            "Without {years} the direction is no longer likely",
            years=said("{first} and {last}", first="2006", last="2011"),
        )
        assert told(words) == "Sin 2006 y 2011, la dirección ya no es probable"

    def test_whole_words_are_looked_up(self) -> None:
        assert told("poor") == "mala"

    def test_what_people_wrote_stands_as_it_is(self) -> None:
        assert told("The culvert at Mill Lane was rebuilt") == "The culvert at Mill Lane was rebuilt"
        assert told("") == told(None) == ""

    def test_a_title_with_an_and_in_it_is_not_taken_for_a_list(self) -> None:
        assert told("Warehouses and car parks") == "Warehouses and car parks"
        assert told("2006, 2009 and 2011") == "2006, 2009 y 2011"

    def test_sentences_side_by_side_are_said_one_by_one(self) -> None:
        words = "Without 2006 the direction is no longer likely"
        assert told(f"{words}. {words}.") == f"{words}. {words}."  # not known with their full stops
        assert told("poor; 2 of 5 stations") == "mala; 2 de 5 estaciones"

    def test_a_pattern_almost_without_letters_recognises_nothing(self) -> None:
        assert told("2006; 2011") == "2006; 2011"


@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_numbers_come_through_unchanged(n: int, total: int) -> None:
    shape = language._shape("{n} of {all} stations")
    found = shape.fullmatch(said("{n} of {all} stations", n=n, all=total))
    assert found and found.groupdict() == {"n": str(n), "all": str(total)}


def test_every_rating_of_a_shipped_method_is_given_out_for_translation() -> None:
    methods = Path(project.BASE_DIR) / "trends" / "index" / "methods"
    words = {
        one["word"]
        for path in methods.glob("*.yaml")
        for one in (yaml.safe_load(path.read_text()).get("ratings") or {}).get("words", ())
    }
    assert words <= set(RATINGS)
