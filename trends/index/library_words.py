"""What the libraries that read a method file say of a fault, so that it is found for translation.

The libraries say it in English, in just these words; it is said in the reader's language when it is shown. What
stands in a gap is written so in the file.
"""

from __future__ import annotations

from surveys.said import marked

OF_THE_SCHEMA = (
    marked("{written} is a required property"),
    marked("{written} is not of type {written_type}"),
    marked("{written} is not one of {written_words}"),
    marked("{written} was expected"),
    marked("{written} does not match {written_form}"),
    marked("{written} should be non-empty"),
    marked("{written} is too short"),
    marked("{written} is too long"),
    marked("{written} does not have enough properties"),
    marked("{written} is less than the minimum of {written_limit}"),
    marked("{written} is greater than the maximum of {written_limit}"),
    marked("{written} is not valid under any of the given schemas"),
)

OF_YAML = (
    marked("mapping values are not allowed here"),
    marked("sequence entries are not allowed here"),
    marked("mapping keys are not allowed here"),
    marked("could not find expected ':'"),
    marked("expected <block end>, but found {written}"),
    marked("expected ',' or ']', but got {written}"),
    marked("expected the node content, but found {written}"),
    marked("expected a comment or a line break, but found {written}"),
    marked("found character {written} that cannot start any token"),
    marked("found unknown escape character {written}"),
    marked("found unexpected end of stream"),
    marked("found undefined alias {written}"),
    marked("second occurrence"),
    marked("but found another document"),
    marked("could not determine a constructor for the tag {written}"),
    marked("found unconstructable recursive node"),
    marked("special characters are not allowed"),
)
