"""The handout of a watershed: computed facts, and words that staff may change (``handout_editing``).

Numbers are never typed: the words carry names in braces, which are filled in from the record each time
the handout is shown. All of it is for the public: accepted data, and no place of a sensitive taxon.
"""

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass

from django.conf import settings
from django.db.models import Max, QuerySet
from django.utils.translation import get_language

from surveys.language import told, worded
from surveys.models import Watershed
from trends import creek_fish, wording
from trends.cautions import for_reader
from trends.creek_fish import CreekFish
from trends.handout_parts import EVERY, NAMES, PARTS, QUESTIONS, Part
from trends.measures import INDEX
from trends.models import HandoutText, TrendResult
from trends.number_words import listed
from trends.outcomes import Outcome
from trends.reading import NumberedNote, cover_line, numbered_notes, place_outcome
from trends.reading_grade import remarks

NAME_IN_BRACES = re.compile(r"\{([^{}]*)\}")
# A handout is one side of paper.
MOST_NOTES = 5
MOST_LIMITS = 4
LONGEST_LIMIT = 30  # words
MOST_FISH_TOLD = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Everything computed that a handout says; nothing in it can be edited."""

    watershed: Watershed
    outcome: Outcome | None
    fish: CreekFish
    fish_lines: tuple[tuple[str, str], ...]
    notes: tuple[NumberedNote, ...]
    notes_left_out: int
    cover: str
    limits: tuple[str, ...]
    values: Mapping[str, str]
    computed_at: datetime.datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One part as it is shown: the words with their numbers, and whose they are."""

    part: Part
    words: str
    lines: tuple[str, ...]
    text: str
    edited: HandoutText | None

    @property
    def remarks(self) -> list[str]:
        """What makes the words hard to read; they may be kept all the same."""
        return remarks(self.words, get_language() or "en")


@dataclass(frozen=True, slots=True, kw_only=True)
class Handout:
    facts: Facts
    sections: Mapping[str, Section]
    questions: tuple[Section, ...]
    edited_at: datetime.datetime | None

    @property
    def numbers_are_newer(self) -> bool:
        """Whether the record moved on after somebody last wrote words."""
        made = self.facts.computed_at
        return self.edited_at is not None and made is not None and made > self.edited_at


# --- computed ----------------------------------------------------------------------------------------


def facts_of(watershed: Watershed) -> Facts:
    outcome = place_outcome(watershed, None, INDEX.key)
    fish = creek_fish.creek_fish(watershed)
    notes = numbered_notes(watershed, staff=False)
    # The list is in order of time; the paper has room for the latest.
    shown = notes[-MOST_NOTES:]
    limits: list[str] = []
    if outcome is not None:
        # Dated notes have their own list.
        grave = [
            told(c.public)
            for c in for_reader(outcome.cautions, staff=False, today=datetime.date.today())
            if c.level != "note" and not c.public.startswith("Also in these years")
        ]
        sentences = [*grave[:2], *wording.cannot_say(outcome)]
        # A reason full of terms belongs on the creek's page.
        limits = [one for one in sentences if len(one.split()) <= LONGEST_LIMIT][:MOST_LIMITS]
        if any(c.code == "C34" for c in outcome.cautions):
            left_out = worded("Fish whose places we do not tell are not counted in the fish index.")
            limits = [*limits[: MOST_LIMITS - 1], left_out]
    made = TrendResult.objects.filter(watershed=watershed, station__isnull=True).aggregate(
        at=Max("computed_at")
    )
    return Facts(
        watershed=watershed,
        outcome=outcome,
        fish=fish,
        fish_lines=tuple(_fish_lines(fish)),
        notes=tuple(shown),
        notes_left_out=len(notes) - len(shown),
        cover=_cover_words(cover_line(watershed)),
        limits=tuple(limits),
        values=_values(watershed, outcome, fish),
        computed_at=made["at"],
    )


def _values(watershed: Watershed, outcome: Outcome | None, fish: CreekFish) -> dict[str, str]:
    not_known = worded("not known")
    values = dict.fromkeys(NAMES, not_known)
    values |= {
        "creek": watershed.name,
        "state": worded("There is no fish index for {creek} yet.", creek=watershed.name),
        "trend": worded("There are not enough years to name a direction."),
        "verdict": wording.verdict_word(None, staff=False),
        "kinds": str(fish.kinds),
        "visits": str(fish.visits),
        "stations": str(fish.stations),
        "first_year": str(fish.years[0]) if fish.years else not_known,
        "last_year": str(fish.years[-1]) if fish.years else not_known,
        "contact": settings.CONTACT or worded("the parks office"),
    }
    if outcome is None or outcome.latest_value is None:
        return values
    value = wording.format_value(INDEX, outcome.latest_value, unit=False)
    state = (
        worded(
            "In {year} the fish index was {value} on a scale from {low} to {high}.",
            year=outcome.latest_year,
            value=value,
            low=f"{outcome.scale[0]:g}",
            high=f"{outcome.scale[1]:g}",
        )
        if outcome.scale
        else worded("In {year} the fish index was {value}.", year=outcome.latest_year, value=value)
    )
    rating = told(outcome.latest_rating)
    if rating:
        state += " " + worded("That is called {rating}.", rating=rating)
    return values | {
        "state": state,
        "trend": " ".join(wording.trend_sentences(outcome, staff=False)),
        "verdict": wording.outcome_verdict(outcome, staff=False),
        "latest_year": str(outcome.latest_year),
        "latest_value": value,
        "rating": rating or worded("not rated"),
    }


def _fish_lines(fish: CreekFish) -> list[tuple[str, str]]:
    """What is common, special, not seen and back: a word and the names, in the order of the page."""
    lines = []
    if fish.common:
        common = creek_fish.names(fish.common)
        more = len(fish.common) - len(common)
        if more:
            common.append(worded("{number} more", number=more))
        lines.append((worded("Common"), listed(common)))
    special = [*creek_fish.names(fish.special), *creek_fish.names(fish.withheld)]
    if special:
        names = listed(special)
        if fish.withheld:
            names = worded("{names}; for some of them we do not say where", names=names)
        lines.append((worded("Special"), names))
    if fish.lost:
        lost = [
            worded(
                "{fish}, not seen since {year} in {visits} visits",
                fish=creek_fish.names([one])[0],
                year=one.last_year,
                visits=one.since,
            )
            for one in fish.lost[:MOST_FISH_TOLD]
        ]
        lines.append((worded("Not seen lately"), "; ".join(lost)))
    if fish.returned:
        back = [
            worded(
                "{fish}, not met from {first} to {last}, met in {year}",
                fish=creek_fish.names([one])[0],
                first=one.away[0],
                last=one.away[1],
                year=one.last_year,
            )
            for one in fish.returned[:MOST_FISH_TOLD]
            if one.away
        ]
        lines.append((worded("Back again"), "; ".join(back)))
    return lines


def _cover_words(cover: list[tuple[int, float]]) -> str:
    """Roofs and roads in one sentence, from the maps there are."""
    if not cover:
        return ""
    (first, before), (last, now) = cover[0], cover[-1]
    if first == last:
        return worded(
            "Roofs, roads and other hard ground covered {now} % of the land in {last}.",
            now=f"{now:.0f}",
            last=last,
        )
    if f"{before:.0f}" == f"{now:.0f}":
        return worded(
            "Roofs, roads and other hard ground covered {now} % of the land in both {first} and {last}.",
            now=f"{now:.0f}",
            first=first,
            last=last,
        )
    return worded(
        "Roofs, roads and other hard ground went from {before} % of the land in {first} to {now} % in {last}.",
        before=f"{before:.0f}",
        first=first,
        now=f"{now:.0f}",
        last=last,
    )


# --- shown ---------------------------------------------------------------------------------------------


def handout(watershed: Watershed, *, texts: Mapping[str, str] | None = None) -> Handout:
    """The handout as it stands, in the language of the reader, each of which has words of its own.

    ``texts`` shows unsaved words in the place of the stored ones.
    """
    facts = facts_of(watershed)
    stored = {one.part: one for one in texts_of(watershed).select_related("written_by")}
    sections = {}
    for part in EVERY:
        kept = stored.get(part.key)
        text = (texts or {}).get(part.key) or (kept.text if kept else told(part.draft))
        words = filled(text, facts.values)
        sections[part.key] = Section(
            part=part,
            words=words,
            lines=tuple(line.strip() for line in words.splitlines() if line.strip()),
            text=text,
            edited=kept,
        )
    return Handout(
        facts=facts,
        sections={p.key: sections[p.key] for p in PARTS},
        questions=tuple(sections[p.key] for p in QUESTIONS),
        edited_at=max((one.written_at for one in stored.values()), default=None),
    )


def texts_of(watershed: Watershed) -> QuerySet[HandoutText]:
    """The words that people wrote for this handout in the reader's language."""
    return watershed.handout_texts.filter(language=get_language() or "en")


def filled(text: str, values: Mapping[str, str]) -> str:
    """Words with the names in braces replaced; a name that is not known stays as it was written."""
    return NAME_IN_BRACES.sub(lambda found: values.get(found[1].strip(), found[0]), text)
