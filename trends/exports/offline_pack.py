"""Everything for a meeting in one archive that opens from a memory stick, without any network.

The pages are whole by themselves: their style and the charts drawn by the server stand inside the HTML,
nothing is fetched. Beside them lie the numbers as CSV with their dictionaries. All of it is public.
"""

import io
import json
import zipfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.text import slugify

from surveys.language import day_words, told, worded
from surveys.models import Station, Watershed
from surveys.withholding import STATEMENT
from trends import charts
from trends.chart_frames import caption
from trends.exports.charts import public_measures
from trends.exports.pack_pictures import picture_svg
from trends.exports.sources import LICENSE_NAME, LICENSE_URL, source_words
from trends.exports.tables import table_schema, write_csv
from trends.handout import handout
from trends.measures import BY_KEY, INDEX
from trends.method_standing import Standings, short_sentences, versions_behind
from trends.outcomes import Outcome
from trends.reading import place_outcome, station_outcomes
from trends.sparklines import static_chart_svg
from trends.twins import SERIES_COLUMNS, series_rows

# In the order of the site's pages; the sheet for print applies to paper alone.
STYLES = ("site.css", "work.css", "charts.css", "print.css", "handout.css")
STYLE_MARK = '<meta name="style-goes-here">'
# A rule of the site's sheet that names a file, which an archive does not have.
_WAVE = 'background: url("../img/waterline.svg") repeat-x left center;'


def pack_bytes(watershed: Watershed) -> bytes:
    """The archive as bytes, for a download."""
    target = io.BytesIO()
    _write(target, watershed)
    return target.getvalue()


def write_pack(path: Path, watershed: Watershed) -> int:
    """Write the archive; it appears under its name only when it is complete. The number of files."""
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("wb") as target:
            count = _write(target, watershed)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return count


def _write(target: Any, watershed: Watershed) -> int:
    charts_ = _charts(watershed)
    pages: dict[str, tuple[str, dict[str, Any]]] = {
        "index.html": ("trends/pack_index.html", {"handout": handout(watershed)}),
        "charts.html": ("trends/pack_charts.html", {"charts": [c for c in charts_ if not c["station"]]}),
        "stations.html": ("trends/pack_charts.html", {"charts": [c for c in charts_ if c["station"]]}),
    }
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, (template, context) in pages.items():
            archive.writestr(name, _page(template, name, watershed, context))
        outcomes = [c["outcome"] for c in charts_]
        archive.writestr("data/years.csv", _years_csv(outcomes))
        dictionary = json.dumps(table_schema(SERIES_COLUMNS), ensure_ascii=False, indent=2)
        archive.writestr("data/years.schema.json", f"{dictionary}\n")
        for one in charts_:
            archive.writestr(f"pictures/{one['file']}.svg", one["picture"])
            archive.writestr(f"data/{one['file']}.csv", _years_csv([one["outcome"]]))
        archive.writestr("README.txt", _readme(watershed))
        return len(archive.namelist())


def _charts(watershed: Watershed) -> list[dict[str, Any]]:
    """Every chart that the public may have: the creek's measures, then the index at each station."""
    made: list[tuple[Station | None, Outcome | None]] = [
        (None, place_outcome(watershed, None, measure.key)) for measure in public_measures(watershed)
    ]
    stations = list(Station.objects.filter(watershed=watershed).order_by("river_km", "code"))
    outcomes = station_outcomes(stations, INDEX.key)
    made += [(station, outcomes.get(station.pk)) for station in stations]
    return [_chart(station, outcome) for station, outcome in made if outcome and outcome.latest_year]


def _chart(station: Station | None, outcome: Outcome) -> dict[str, Any]:
    figure = charts.trajectory(outcome)
    title, subtitle = figure["layout"]["title"]["text"], figure["layout"]["title"]["subtitle"]["text"]
    words = figure["layout"]["meta"]["text"]
    caption_ = caption(figure, source_words(), timezone.localdate())
    if standing := short_sentences(versions_behind([outcome])):
        caption_ = f"{caption_} {standing}"
    return {
        "file": slugify(f"{station.code if station else ''} {outcome.measure}"),
        # The description holds the whole sentence; the caption, which is broken into lines, the few words.
        "picture": picture_svg(
            outcome,
            title=title,
            subtitle=subtitle,
            words=f"{words} {standing} {Standings().behind(outcome)}".strip(),
            caption=caption_,
        ),
        "station": station,
        "outcome": outcome,
        "id": f"{outcome.scope}-{station.pk if station else outcome.measure}",
        "title": title,
        "subtitle": subtitle,
        "text": words,
        "still": static_chart_svg(outcome),
        "table": figure.table,
        "formula": BY_KEY[outcome.measure].formula,
    }


def _page(template: str, name: str, watershed: Watershed, context: dict[str, Any]) -> str:
    html = render_to_string(
        template,
        {
            "watershed": watershed,
            "name": name,
            "county_name": settings.COUNTY_NAME,
            "contact": settings.CONTACT,
            "packed_on": timezone.localdate(),
            "withheld": told(STATEMENT),
            **context,
        },
    )
    return html.replace(STYLE_MARK, f"<style>\n{_styles()}\n</style>")


def _styles() -> str:
    folder = settings.BASE_DIR / "static" / "css"
    sheets = []
    for name in STYLES:
        text = (folder / name).read_text(encoding="utf-8")
        sheets.append(f"@media print {{\n{text}\n}}" if name == "print.css" else text)
    return "\n".join(sheets).replace(_WAVE, "border-bottom: 2px solid var(--water);")


def _years_csv(outcomes: list[Outcome]) -> str:
    text = io.StringIO(newline="")
    write_csv(text, SERIES_COLUMNS, [row for one in outcomes for row in series_rows(one)])
    return text.getvalue()


def _readme(watershed: Watershed) -> str:
    lines = [
        worded(
            "{creek}: pack for a meeting, made on {day}",
            creek=watershed.name,
            day=day_words(timezone.localdate()),
        ),
        "",
        worded("Open index.html in any browser. No network is needed."),
        "",
        "index.html      "
        + worded("the handout: state, trend, fish, land, what helps, questions and answers"),
        "charts.html     " + worded("every measure of the creek, with the numbers as tables"),
        "stations.html   " + worded("the fish index at each station"),
        "data/years.csv  "
        + worded("the numbers of all charts; years.schema.json says what the columns mean (in English)"),
        "pictures/       " + worded("each chart as a picture of its own (SVG), for slides and paper"),
        "data/           "
        + worded("the numbers of each chart in a file of its own (CSV), named as its picture"),
        "",
        worded(
            "Source: {source}. License: {license}, {address}",
            source=source_words(),
            license=LICENSE_NAME,
            address=LICENSE_URL,
        ),
        told(STATEMENT),
    ]
    return "\r\n".join(lines) + "\r\n"
