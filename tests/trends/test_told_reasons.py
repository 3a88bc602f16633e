"""Reasons that are stored in English are said in the reader's language, also where several were put together."""

from django.utils import translation

from surveys.language import told
from trends.templatetags.index_tags import band_words, own_words


def test_a_reason_behind_the_name_it_speaks_of_is_said_with_it() -> None:
    with translation.override("es"):
        assert told("Tolerant individuals: no fish were caught, so there is no share") == (
            "Individuos tolerantes: no se capturó ningún pez, por lo que no hay proporción"
        )


def test_reasons_put_side_by_side_are_said_one_by_one() -> None:
    with translation.override("es"):
        assert told("no pass was made; the effort is not known") == (
            "no se hizo ninguna pasada; no se sabe el esfuerzo"
        )


def test_a_name_and_a_remark_that_people_wrote_stand_as_they_are() -> None:
    with translation.override("es"):
        assert told("Crew: met a heron at the weir") == "Crew: met a heron at the weir"


def test_the_band_of_a_score_is_said_in_each_language() -> None:
    assert band_words("> 0.2 and ≤ 0.4 of the line (3.1)") == "> 0.2 and ≤ 0.4 of the line (3.1)"
    assert band_words("otherwise") == "anything else"
    with translation.override("es"):
        assert band_words("> 0.2 and ≤ 0.4 of the line (3.1)") == "> 0.2 y ≤ 0.4 de la línea (3.1)"
        assert band_words("1 to 5") == "1 a 5"


def test_what_an_agencys_own_method_says_is_marked_as_english_on_a_spanish_page() -> None:
    assert own_words("Fish with blue fins") == "Fish with blue fins"
    with translation.override("es"):
        assert own_words("Fish with blue fins") == '<span lang="en">Fish with blue fins</span>'
        assert own_words("Sculpins & darters") == '<span lang="en">Sculpins &amp; darters</span>'
        assert own_words("Insectivores") == "Insectívoros"


def test_one_fish_and_several_are_told_apart_where_english_writes_them_alike() -> None:
    with translation.override("es"):
        assert told("1 fish") == "1 pez"
        assert told("12 fish") == "12 peces"


def test_a_sentence_of_a_method_is_not_taken_for_a_number_of_things() -> None:
    with translation.override("es"):
        assert told("Ohio's lists of tolerant and of non-native species") == (
            "Ohio's lists of tolerant and of non-native species"
        )


def test_what_a_metric_counts_is_said_in_the_readers_language() -> None:
    english = "not known for 3 fish whether they count as native and benthic (Creek Chub)"
    with translation.override("es"):
        assert told(english) == "no se sabe de 3 peces si cuentan como nativa y de fondo (Creek Chub)"


def test_two_sentences_of_one_caution_stay_together_beside_another() -> None:
    """The last gap of the first sentence does not swallow what follows it."""
    words = (
        "A visit caught no fish in 2022: a result, not a missing visit. "
        "No season in 2020: No field season: crews could not travel. Not visited is not zero."
    )
    with translation.override("es"):
        said_again = told(words)
    assert said_again.startswith("Una visita no capturó peces en 2022: ")
    assert said_again.endswith(
        ". Sin temporada en 2020: No field season: crews could not travel. No visitado no es cero."
    )
    assert "missing visit" not in said_again
