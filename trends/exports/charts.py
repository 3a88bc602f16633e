"""Charts of a watershed as files, drawn by an installed Chromium with the figures of the pages.

One browser stays open for the whole batch, cut off from any network, and each picture has a hard time
limit. Words and figures are the public's. Names of files tell creek, station and measure, never a taxon.
"""

import asyncio
import os
import shutil
import time
from collections.abc import Callable, Coroutine, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import kaleido
from django.contrib.auth.models import AnonymousUser
from django.utils import timezone
from django.utils.text import slugify
from kaleido.errors import BrowserClosedError, BrowserFailedError, JavascriptError, KaleidoError

from surveys.models import Station, Watershed
from trends import charts
from trends.chart_frames import caption, framed, frames
from trends.chart_style import Figure
from trends.exports.sources import source_words
from trends.measures import INDEX, Measure
from trends.method_standing import short_sentences, versions_behind
from trends.outcomes import Outcome
from trends.public_figures import measures_for
from trends.reading import (
    computed_measures,
    cover_line,
    note_marks,
    numbered_notes,
    place_outcome,
    station_outcomes,
)

Format = Literal["png", "svg", "pdf"]
FORMATS: tuple[Format, ...] = ("png", "svg", "pdf")
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
# Seconds: a picture takes a fraction of one, a cold start of the browser on a busy machine several.
PICTURE_LIMIT_S = 30
START_LIMIT_S = 60
# Nothing listens there, so that the browser reaches no network; the pictures need none.
NOWHERE = "http://127.0.0.1:9"


class NoBrowserError(RuntimeError):
    """No Chromium is installed, or the one that was named is not there."""


class NotDrawnError(RuntimeError):
    """The browser did not draw a picture in time, or could not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A figure with the name of its file, without an ending."""

    name: str
    figure: Figure
    outcome: Outcome
    standing: str = ""  # how far the cut points of its index may be trusted; asked for before drawing begins


def public_measures(watershed: Watershed) -> list[Measure]:
    """The measures that may be drawn with their stations for everybody."""
    return measures_for(AnonymousUser(), computed_measures(watershed), watershed.pk)


def watershed_pictures(watershed: Watershed) -> list[Picture]:
    """The trajectory of each measure followed here, and of the index at each station; public words.

    In a guarded watershed (see ``trends.public_figures``) the index alone is drawn.
    """
    notes = note_marks(numbered_notes(watershed, staff=False))
    cover = cover_line(watershed)
    pictures = []
    for measure in public_measures(watershed):
        outcome = place_outcome(watershed, None, measure.key)
        if outcome is None:
            continue
        figure = charts.trajectory(outcome, notes=notes, cover=cover)
        name = f"{watershed.slug}-{measure.key.replace('_', '-')}"
        pictures.append(Picture(name=name, figure=figure, outcome=outcome, standing=_standing(outcome)))
    stations = list(Station.objects.filter(watershed=watershed).order_by("river_km", "code"))
    outcomes = station_outcomes(stations, INDEX.key)
    for station in stations:
        found = outcomes.get(station.pk)
        if found is None or found.latest_year is None:
            continue
        own = note_marks(numbered_notes(watershed, staff=False, station=station))
        figure = charts.trajectory(found, notes=own, cover=cover)
        name = f"{watershed.slug}-station-{slugify(station.code)}-{INDEX.key.replace('_', '-')}"
        pictures.append(Picture(name=name, figure=figure, outcome=found, standing=_standing(found)))
    return pictures


def _standing(outcome: Outcome) -> str:
    return short_sentences(versions_behind([outcome]))


def browser_path() -> str:
    """The Chromium to draw with: BROWSER_PATH where it is set, else the first that is installed."""
    named = os.environ.get("BROWSER_PATH")
    if named:
        if not Path(named).is_file():
            raise NoBrowserError(f"BROWSER_PATH names {named}, and there is no such file.")
        return named
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        raise NoBrowserError(
            "No Chromium is installed, and pictures are drawn by one. Install it (Debian: apt-get install "
            "chromium), or name yours in BROWSER_PATH."
        )
    return found


def in_size(picture: Picture, size: str) -> dict[str, Any]:
    """The frame of a picture with its caption; a figure too tall for a slide stands as on a screen."""
    words = caption(picture.figure, source_words(), timezone.localdate())
    if picture.standing:
        words = f"{words} {picture.standing}"
    offered = frames(picture.figure, words)
    return offered.get(size) or offered["screen"]


def write_pictures(
    pictures: Sequence[Picture],
    folder: Path,
    kind: Format,
    *,
    size: str = "screen",
    limit_s: float = PICTURE_LIMIT_S,
    say: Callable[[str], None] = lambda text: None,
) -> list[Path]:
    """Draw the pictures into a folder; a file appears under its name only when it is complete."""
    path = browser_path()
    if not pictures:
        return []
    folder.mkdir(parents=True, exist_ok=True)
    whole = START_LIMIT_S + limit_s * len(pictures)
    # Made beforehand: captions read the database, which the drawing loop must not wait for.
    sheets = [(picture, in_size(picture, size)) for picture in pictures]
    try:
        return run_in_a_loop(lambda: asyncio.wait_for(_draw(sheets, folder, kind, limit_s, say, path), whole))
    except TimeoutError:
        raise NotDrawnError(
            f"The browser did not finish within {whole:.0f} seconds and was stopped."
        ) from None
    except BrowserFailedError as error:
        raise NotDrawnError(f"The browser did not start: {error}") from error


def run_in_a_loop(drawing: Callable[[], Coroutine[Any, Any, list[Path]]]) -> list[Path]:
    """Run it in a loop of its own: in this thread, or beside it where another loop runs in this one already."""
    try:
        asyncio.get_running_loop()
    except RuntimeError:
        return asyncio.run(drawing())
    with ThreadPoolExecutor(max_workers=1) as beside:
        return beside.submit(lambda: asyncio.run(drawing())).result()


async def _draw(
    sheets: Sequence[tuple[Picture, dict[str, Any]]],
    folder: Path,
    kind: Format,
    limit_s: float,
    say: Callable[[str], None],
    path: str,
) -> list[Path]:
    written: list[Path] = []
    async with kaleido.Kaleido(
        n=1, timeout=limit_s, mathjax=False, path=path, proxy_server=NOWHERE, enable_extensions=False
    ) as browser:
        for picture, frame in sheets:
            scale = frame["scale"] if kind == "png" else 1
            options = {"format": kind, "width": frame["width"], "height": frame["height"], "scale": scale}
            began = time.monotonic()
            try:
                drawn = await browser.calc_fig(framed(picture.figure, frame), opts=options)
            except (OSError, KaleidoError, JavascriptError, BrowserClosedError) as error:
                # Where the time is up while the browser is being told what to draw, the line to it is what breaks.
                if isinstance(error, TimeoutError) or time.monotonic() - began >= limit_s:
                    raise NotDrawnError(
                        f"{picture.name} was not drawn within {limit_s:g} seconds; "
                        f"{len(written)} of {len(sheets)} pictures are written."
                    ) from None
                raise NotDrawnError(f"{picture.name} could not be drawn: {error}") from error
            target = folder / f"{picture.name}.{kind}"
            part = folder / f".{target.name}.part"
            try:
                part.write_bytes(drawn)
                part.replace(target)
            finally:
                part.unlink(missing_ok=True)
            written.append(target)
            say(f"{target.name}")
    return written
