"""Words that reach a page out of a stored result but stand in no text of this program: the ratings of the
shipped index methods, and the kinds of limits that the statistics name. They are given out for translation
here. A rating of an agency's own method that is not among them is shown as the method has it."""

from typing import Final

from trends.language import marked

RATINGS: Final = (
    marked("Excellent"),
    marked("Exceptional"),
    marked("Very good"),
    marked("Good"),
    marked("Marginally good"),
    marked("Fair"),
    marked("Poor"),
    marked("Very poor"),
    marked("Very Poor"),
    marked("No fish"),
)
LIMITS: Final = (marked("exact"), marked("interpolated"), marked("rounded"), marked("none"))
