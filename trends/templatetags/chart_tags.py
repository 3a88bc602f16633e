"""The frames in which a chart of a page can be saved."""

from typing import Any

from django import template
from django.utils import timezone

from trends.chart_frames import caption, frames
from trends.chart_style import Figure
from trends.exports.sources import source_words

register = template.Library()


@register.simple_tag
def chart_frames(chart: Figure) -> dict[str, Any]:
    return frames(chart, caption(chart, source_words(), timezone.localdate()))
