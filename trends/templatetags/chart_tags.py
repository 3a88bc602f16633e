"""The frames and words in which charts and pictures of a page can be saved."""

from collections.abc import Iterable
from typing import Any

from django import template
from django.utils import timezone
from django.utils.text import slugify

from surveys.language import worded
from trends.chart_frames import caption, caption_words, frames, plain_frames
from trends.chart_style import Figure
from trends.chart_words import made_by
from trends.exports.sources import source_words
from trends.method_standing import short_sentences, versions_behind
from trends.outcomes import Outcome
from trends.still_charts import still_of
from trends.wording import line_years

register = template.Library()
register.simple_tag(still_of)
# A file name has to stay readable in a list of files.
LONGEST_NAME = 80


@register.simple_tag
def chart_frames(chart: Figure) -> dict[str, Any]:
    words = caption(chart, source_words(), timezone.localdate())
    scored = chart["layout"]["meta"].get("index")
    return frames(chart, _joined(words, short_sentences([tuple(scored)] if scored else ())))


@register.simple_tag
def save_given() -> dict[str, Any]:
    """What the scripts cannot know by themselves: words in the reader's language, sizes of sheets."""
    return {"words": _words(), "frames": plain_frames()}


@register.inclusion_tag("components/save_picture.html")
def save_picture(
    name: str,
    title: str = "",
    subtitle: str = "",
    *,
    outcome: Outcome | None = None,
    rows: Iterable[Any] = (),
    made: str = "",
    first: int | None = None,
    last: int | None = None,
    of: str = "",
    pick: str = "",
    numbers: str = "",
    beside: str = "",
) -> dict[str, str]:
    """The ways to take a picture along; a title that the page shows in ``.chart-title`` need not be given.

    The caption is made of ``outcome``, or of those in ``rows`` where several pictures stand together.
    ``of`` names the part of the page that holds the pictures, ``pick`` chooses among those in it, and
    ``numbers`` names the part that holds their table, ``beside`` is the address of numbers
    elsewhere; without them all is in the figure or section around.
    """
    placed = (row["outcome"] if isinstance(row, dict) else row.outcome for row in rows)
    shown = [one for one in (outcome, *placed) if one and one.latest_year]
    if shown:
        made = made or made_by(*shown)
        years = [y.year for one in shown for y in line_years(one)]
        if first is None and years:
            first, last = min(years), max(years)
    span = None if first is None else (first, first if last is None else last)
    return {
        "name": slugify(name)[:LONGEST_NAME].rstrip("-") or "picture",
        "title": title,
        "subtitle": subtitle,
        "caption": _joined(
            caption_words(made, span, source_words(), timezone.localdate()),
            short_sentences(versions_behind(shown)),
        ),
        "of": of,
        "pick": pick,
        "numbers": numbers,
        "beside": beside,
    }


def _joined(*sentences: str) -> str:
    return " ".join(one for one in sentences if one)


def _words() -> dict[str, str]:
    return {
        "chart": worded("Save or share this chart"),
        "picture": worded("Save or share this picture"),
        "pictures": worded("Save or share these pictures"),
        "screen": worded("Picture for a screen (PNG)"),
        "slide": worded("Picture for a slide, 16:9 (PNG)"),
        "print": worded("Picture for print (PNG)"),
        "svg": worded("Drawing (SVG)"),
        "paper": worded("On paper, or as PDF"),
        "numbers": worded("The numbers (CSV)"),
        "page_numbers": worded("The numbers behind it (CSV)"),
        "numbers_saved": worded("The numbers are saved."),
        "link": worded("Link that opens this chart again"),
        "copy": worded("Copy the link"),
        "copied": worded("The link is copied."),
        "not_copied": worded("The browser did not allow copying. Use the link itself."),
        "drawing": worded("The picture is being drawn."),
        "saved": worded("The picture is saved."),
        "not_drawn": worded("The picture could not be drawn. The table below has the same numbers."),
        "no_picture": worded("The picture could not be drawn. What it shows stands on this page."),
        "drawing_sheet": worded("The sheet is being drawn."),
        "print_window": worded("The print window of the browser also saves it as PDF."),
        "no_sheet": worded("The sheet could not be drawn. The table below has the same numbers."),
    }
