"""Words for every kind of outcome. The scale of certainty and the banned words are the project's own rules.

The readings of Kendall's p as confidence in a direction follow McBride 2019 (J. Environ. Qual.); how
many words a public sentence may have is common practice of plain writing, taken here as 25.
"""

import re

import pytest

from tests.trends.hand_made import KINDS, outcome, period
from trends import wording
from trends.assessments import DISAGREE_P, LEANING, LIKELY, VERY_LIKELY, certainty_of
from trends.measures import BY_KEY, INDEX
from trends.number_words import (
    CONFIDENCE_LIMITS,
    P_LIMITS,
    format_confidence,
    format_p,
    rounded,
    small_p,
    two_digits,
)

BANNED = (
    "proves", "caused by", "no change", "stable", "healthy creek", "dead creek", "significant", "clean water",
    "insight", "!", "nan", "None", "inf",
)  # fmt: skip


def everything_said(name: str, *, staff: bool) -> list[str]:
    one = KINDS[name]
    return [
        *re.split(r"(?<=[.?])\s+(?=[A-Z0-9])", wording.headline(one, staff=staff)),
        wording.short_title(one, staff=staff),
        *wording.cannot_say(one, staff=staff),
    ]


@pytest.mark.parametrize("staff", [True, False], ids=["staff", "public"])
@pytest.mark.parametrize("name", KINDS)
def test_banned_words_never_appear(name: str, staff: bool) -> None:
    said = " ".join(everything_said(name, staff=staff)).replace("financ", "")
    for word in BANNED:
        assert not re.search(rf"(?<![A-Za-z]){re.escape(word)}(?![A-Za-z])", said), (word, said)


@pytest.mark.parametrize("name", KINDS)
def test_public_sentences_are_short(name: str) -> None:
    for sentence in everything_said(name, staff=False):
        assert len(sentence.split()) <= 25, sentence


@pytest.mark.parametrize("name", KINDS)
def test_public_words_carry_no_statistics(name: str) -> None:
    said = " ".join(everything_said(name, staff=False))
    assert "Kendall" not in said
    assert "p =" not in said


@pytest.mark.parametrize(
    ("name", "staff", "public", "mark"),
    [
        ("very likely better", "very likely improving", "very likely getting better", "▲"),
        ("likely worse", "likely worsening", "probably getting worse", "▼"),
        ("leaning", "leaning towards improving", "we can't tell yet", "◇"),
        ("unclear", "no clear direction", "we can't tell yet", "◇"),
        ("steady", "steady", "steady", "▬"),
        ("disagree", "stations disagree", "stations disagree", "◇"),
        ("too few", "not assessed", "not enough comparable years", "◇"),
        ("nothing", "not assessed", "not enough comparable years", "◇"),
        ("neutral rising", "very likely rising", "very likely rising", "↗"),
        ("share that should fall", "very likely improving", "very likely getting better", "▲"),
    ],
)
def test_each_kind_has_its_word_and_mark(name: str, staff: str, public: str, mark: str) -> None:
    current = KINDS[name].current
    assert wording.verdict_word(current, staff=True) == staff
    assert wording.verdict_word(current, staff=False) == public
    assert wording.mark(current) == mark


def test_a_direction_travels_with_years_size_and_range() -> None:
    assert wording.headline(KINDS["very likely better"], staff=True) == (
        "Fair in 2017. Between 2006 and 2017 (11 comparable years) fish health very likely improved, "
        "by about 0.4 points a decade (between 0.1 and 0.7)."
    )


def test_a_worsening_is_told_by_its_size_and_the_range_keeps_its_sign() -> None:
    assert wording.headline(KINDS["likely worse"], staff=True).endswith(
        "fish health likely worsened, by about 0.4 points a decade (between −0.1 and 0.9)."
    )


def test_only_steady_claims_that_nothing_moved() -> None:
    for name, one in KINDS.items():
        assert ("steady" in wording.headline(one, staff=False)) == (name == "steady")


def test_leaning_is_for_staff_alone() -> None:
    assert "leans towards improving (confidence in the direction 0.78)" in wording.headline(
        KINDS["leaning"], staff=True
    )
    assert "lean" not in wording.headline(KINDS["leaning"], staff=False)


def test_a_measure_without_a_good_direction_is_not_judged() -> None:
    said = wording.headline(KINDS["neutral rising"], staff=False)
    assert "very likely rose" in said
    assert "better" not in said


def test_a_falling_share_that_is_good_says_both() -> None:
    said = wording.headline(KINDS["share that should fall"], staff=True)
    assert (
        "very likely improved. It fell by about 5.0 percentage points a decade (between 1.0 and 9.0)." in said
    )


def test_parts_of_a_split_record_are_told_apart() -> None:
    said = wording.headline(KINDS["split by method"], staff=False)
    assert "The method changed in 2013. Before: we can't tell yet" in said
    assert "After: between 2013 and 2017 (5 comparable years) fish health probably got worse." in said
    assert said.endswith("The two parts must not be joined.")
    assert wording.short_title(KINDS["split by method"]).endswith("probably getting worse since 2013")


def test_disagreeing_stations_are_counted_by_better_and_worse() -> None:
    said = wording.headline(KINDS["disagree"], staff=False)
    assert "1 probably better, 2 probably worse" in said
    assert said.endswith("No single statement fits the creek.")


def test_where_less_is_better_stations_that_rise_are_worse() -> None:
    one = outcome(
        period(certainty="disagree", direction="none", good=None, stations_up=("A",), stations_down=()),
        measure="tolerant_share_pct",
    )
    assert "1 likely worse" in wording.headline(one, staff=True)


def test_a_range_without_limits_says_so() -> None:
    assert "(too few years for limits)" in wording.headline(KINDS["no limits"], staff=True)


def test_the_limits_of_a_range_are_never_rounded_together() -> None:
    close = period(slope=3.0, lower=2.98, upper=3.02)
    assert wording.change_size(INDEX, close) == "about 30.0 points a decade (between 29.8 and 30.2)"


def test_the_footnote_never_gives_p_alone() -> None:
    told = wording.footnote(period(p_adjusted=0.0111), INDEX)
    assert "p = 0.004" in told
    assert "adjusted for the list: p = 0.011" in told
    assert "Sen slope 0.4 points a decade" in told
    assert "95 % interval 0.1 to 0.7 (limits interpolated)" in told
    assert "S = 61" in told
    assert "n = 11 years, 2 stations, 22 station-years" in told
    assert "p =" not in wording.footnote(period(slope=None, reason="Too few years."), INDEX)


def test_what_cannot_be_said_names_size_effort_gap_and_reason() -> None:
    told = wording.cannot_say(KINDS["unclear"])
    assert "11 years are not enough to say." in told
    assert "A change smaller than 0.3 points a decade would not show yet." in told
    needed = "At the present scatter it takes about 18 yearly visits to show a change of 0.5 points a decade."
    assert needed in told
    assert "There is no value for 2012: high water all summer." in told
    assert told[-1] == "The record shows how the fish changed. It cannot show what the reason was."


def test_a_year_without_an_accepted_visit_is_said_so() -> None:
    one = outcome(period(), gaps=((2010, "no accepted visit"), (2012, "no accepted visit")))
    assert "There is no accepted visit from 2010 and 2012." in wording.cannot_say(one)


def test_cautions_come_worst_first() -> None:
    ordered = wording.ordered_cautions(KINDS["unclear"].cautions)
    assert [one.public for one in ordered] == [
        "The way of sampling changed.",
        "A longer stretch in 2009.",
        "One visit has no score.",
    ]


@pytest.mark.parametrize(
    ("measure", "value", "words"),
    [
        ("index_score", 3.249, "3.25 points"),
        ("native_richness", 12.0, "12 species"),
        ("native_richness", 11.5, "11.5 species"),
        ("tolerant_share_pct", 41.25, "41.2 % of fish"),
        ("total_catch", 1234.0, "1,234 fish"),
        ("biomass_g_per_m2", None, "not known"),
    ],
)
def test_values_are_rounded_to_what_they_bear(measure: str, value: float | None, words: str) -> None:
    assert wording.format_value(BY_KEY[measure], value) == words


@pytest.mark.parametrize(
    ("per_year", "words"),
    [
        (0.04, "+0.4 points a decade"),
        (-0.04, "−0.4 points a decade"),
        (-0.0041, "−0.04 points a decade"),
        (2.26, "+23 points a decade"),
        (0.0, "0.0 points a decade"),
        (-0.00001, "0.00 points a decade"),
        (None, "not known"),
    ],
)
def test_slopes_are_told_per_decade(per_year: float | None, words: str) -> None:
    assert wording.format_slope(INDEX, per_year) == words


def test_there_is_no_minus_zero_and_the_minus_is_a_minus() -> None:
    assert rounded(-0.004, 2) == "0.00"
    assert rounded(-1.5, 1) == "−1.5"


def test_p_is_never_given_as_zero() -> None:
    assert format_p(0.00001) == "p below 0.001"
    assert format_p(0.0043) == "p = 0.004"
    assert format_p(0.432) == "p = 0.43"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (1634.0, "1,600"), (600.0, "600"), (99.6, "100"), (16.3, "16"), (2.0, "2"), (1.63, "1.6"),
        (0.0163, "0.016"), (0.00003, "0.00003"), (-163.0, "−160"), (0.0, "0"),
    ],
)  # fmt: skip
def test_sizes_are_told_in_plain_figures(value: float, words: str) -> None:
    assert two_digits(value) == words


def test_a_tiny_p_is_told_in_words() -> None:
    assert (small_p(0.000031), small_p(0.0201)) == ("less than 0.0001", "0.02")


@pytest.mark.parametrize(
    ("p_value", "words", "confidence"),
    [
        # On the limit and to either side of it: 0.10 is "very likely", more is not.
        (0.1, "p = 0.10", "0.95"),
        (0.1002, "p = 0.1002", "0.9499"),
        (0.0998, "p = 0.0998", "0.9501"),
        (0.3, "p = 0.30", "0.85"),
        (0.304, "p = 0.304", "0.848"),
        (0.6004, "p = 0.6004", "0.6998"),
        (0.0496, "p = 0.0496", "0.98"),
        (0.0504, "p = 0.0504", "0.97"),
    ],
)
def test_no_number_is_rounded_on_to_a_limit_of_the_words(p_value: float, words: str, confidence: str) -> None:
    assert format_p(p_value) == words
    assert format_confidence(1 - p_value / 2) == confidence


def test_the_limits_that_are_not_rounded_across_are_those_of_the_words() -> None:
    assert CONFIDENCE_LIMITS == (LEANING, LIKELY, VERY_LIKELY)
    assert pytest.approx((DISAGREE_P, *(2 * (1 - c) for c in reversed(CONFIDENCE_LIMITS)))) == P_LIMITS


@pytest.mark.parametrize(
    "p_value", [0.07, 0.0996, 0.1, 0.1004, 0.2, 0.2996, 0.3, 0.3004, 0.5996, 0.6, 0.6004]
)
def test_the_word_is_the_one_that_the_printed_p_earns(p_value: float) -> None:
    printed = float(format_p(p_value).removeprefix("p = "))
    words = {certainty_of(1 - p / 2, 0.1, -1.0, 1.0, None) for p in (p_value, printed)}
    words.add(certainty_of(float(format_confidence(1 - p_value / 2)), 0.1, -1.0, 1.0, None))
    assert len(words) == 1
