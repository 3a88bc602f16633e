"""The planner's brief: one creek, one question, what the record says, how surely, and what it cannot say.

The content is plain data, ready for JSON: the page, the PDF and the brief as issued are drawn from it
and from nothing else, so they cannot differ. All of it is made from accepted visits and public notes.
"""

import datetime
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings

from surveys.language import other_language, told
from surveys.models import Station, Visit, Watershed
from trends import brief_parts, wording
from trends.brief_monitoring import monitoring
from trends.brief_proposals import BY_KEY as PROPOSALS
from trends.brief_proposals import Proposal
from trends.chart_brief import brief_trajectory
from trends.chart_profile import profile
from trends.chart_words import text_alternative
from trends.choice import Choice, chosen_outcome, read_choice, record_years
from trends.measures import BY_KEY, INDEX, leading
from trends.models import LandUseNote
from trends.outcomes import Outcome, to_plain
from trends.public_figures import guarded_watersheds
from trends.reading import computed_measures, numbered_notes
from trends.recompute import CODE_VERSION
from trends.record import Record, read_record

# Raise with a change of what a brief holds, so that an old one is still read for what it is.
CONTENT_VERSION = 1
MOST_MEASURES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a brief is asked for; it stands in the address."""

    choice: Choice
    proposal: Proposal
    measures: tuple[str, ...]

    def query(self) -> str:
        more = self.choice.query(proposal=self.proposal.key)
        return "&".join([more, *(f"measure={key}" for key in self.measures)])


def read_asked(asked: dict[str, list[str]], watershed: Watershed, choice: Choice, *, sees_all: bool) -> Asked:
    """The question of an address; measures without a value here are passed over.

    Where places of a species are withheld, only the index is told to those who may not see them.
    """
    proposal = PROPOSALS.get((asked.get("proposal") or ["general"])[-1], PROPOSALS["general"])
    offered = offered_measures(watershed, sees_all=sees_all)
    wanted = [key for key in asked.get("measure", []) if key in offered]
    # Whoever may see all places reads the index of all fish, where there is such a one.
    index = leading([BY_KEY[key] for key in offered]).key
    proposed = [index if key == INDEX.key else key for key in proposal.measures]
    chosen = wanted or [key for key in proposed if key in offered] or offered[:1]
    return Asked(choice=choice, proposal=proposal, measures=tuple(dict.fromkeys(chosen))[:MOST_MEASURES])


def offered_measures(watershed: Watershed, *, sees_all: bool) -> list[str]:
    """The measures that may be shown here, in the order they are offered."""
    keys = [m.key for m in computed_measures(watershed)]
    if sees_all or not guarded_watersheds([watershed.pk]):
        return keys
    return [key for key in keys if key == INDEX.key]


def data_version(watershed: Watershed) -> str:
    """Twelve digits that change with any accepted visit, public note or version of the calculation."""
    visits = Visit.objects.accepted().in_watershed(watershed).order_by("pk").values_list("pk", "revision")
    notes = (
        LandUseNote.objects.public()
        .filter(watershed=watershed)
        .order_by("pk")
        .values_list("pk", "station", "category", "starts_on", "ends_on", "title", "text")
    )
    made = json.dumps([CODE_VERSION, [list(v) for v in visits], [list(n) for n in notes]], default=str)
    return hashlib.sha256(made.encode()).hexdigest()[:12]


def content_hash(content: dict[str, Any]) -> str:
    """SHA-256 of everything a brief shows but the day it was printed."""
    lasting = {key: value for key, value in content.items() if key != "printed_on"}
    return hashlib.sha256(json.dumps(lasting, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def build(
    watershed: Watershed, asked: Asked, *, staff: bool = True, today: datetime.date | None = None
) -> dict[str, Any] | None:
    """Everything the brief says, in its order; None where no accepted visit can be shown.

    ``staff`` False leaves out what hints at visits that nobody has accepted, and gives a verdict in the words
    of the public pages, which name no direction that is no more than leaning.
    """
    record = read_record(watershed)
    outcomes = {key: chosen_outcome(watershed, asked.choice, key, record) for key in asked.measures}
    main_key = next((key for key in asked.measures if (o := outcomes[key]) and o.latest_year), None)
    if main_key is None:
        return None
    main = outcomes[main_key]
    assert main is not None
    stations = [s for s in record.stations if s.code in {x.station for x in main.series}]
    notes = numbered_notes(watershed, staff=False)
    seen = [n for n in notes if n.note.station is None or n.note.station in stations]
    drawn = profile(main, stations, seen)
    content = {
        "version": CONTENT_VERSION,
        "printed_on": (today or datetime.date.today()).isoformat(),
        "data_version": data_version(watershed),
        "county": settings.COUNTY_NAME,
        "contact": settings.CONTACT,
        "creek": {"slug": watershed.slug, "name": watershed.name},
        "address": asked.query(),
        "where": _where(watershed, record, main, stations),
        "proposal": {
            "key": asked.proposal.key,
            "name": asked.proposal.name,
            "asked": asked.proposal.asked,
            "can_say": asked.proposal.can_say,
            "cannot_say": asked.proposal.cannot_say,
        },
        "answer": wording.headline(main, staff=staff),
        "certainty": {"word": wording.outcome_verdict(main, staff=staff), "mark": wording.mark(main.current)},
        "facts": brief_parts.facts(main, staff=staff),
        "chart": {
            "title": wording.short_title(main, staff=staff),
            "svg": str(brief_trajectory(main, seen, staff=staff)),
            "text": text_alternative(main, public=not staff),
        },
        "profile": {"title": drawn.title, "svg": str(drawn.svg), "text": drawn.words},
        "cautions": [
            {
                "code": c.code,
                "level": c.level,
                "word": told(wording.CAUTION_LEVELS[c.level]),
                "staff": told(c.staff),
                "public": told(c.public),
                "numbers": c.numbers,
            }
            for c in brief_parts.every_caution([o for o in outcomes.values() if o], main, seen, staff=staff)
        ],
        "limits": wording.cannot_say(main, staff=staff),
        "measures": brief_parts.measure_rows([outcomes[k] for k in asked.measures], staff=staff),
        "stations": brief_parts.station_rows(record, main, asked.choice, staff=staff),
        "compared": brief_parts.compared(watershed, main_key, asked.choice, stations, staff=staff),
        "notes": [brief_parts.note_line(n) for n in seen],
        "monitoring": monitoring(main, asked.proposal, record),
        "species": brief_parts.species_box(watershed, stations, asked.choice),
        "footnote": [wording.footnote(p, BY_KEY[main.measure]) for p in main.periods],
        "sources": brief_parts.sources(main, record, [o for o in outcomes.values() if o]),
        "outcomes": {key: to_plain(o) for key, o in outcomes.items() if o},
    }
    if any(key != INDEX.key for key in asked.measures) and guarded_watersheds([watershed.pk]):
        # Those who see all places may choose counts here; the paper then says whom it is for.
        content["not_for_publication"] = True
    if code := other_language():
        # Kept with the words, so that a brief is read again in the language that it was issued in.
        content["language"] = code
    return json.loads(json.dumps(content, default=float))


def _where(
    watershed: Watershed, record: Record, main: Outcome, stations: Sequence[Station]
) -> dict[str, Any]:
    chosen = {s.pk for s in stations}
    used = [y for y in wording.line_years(main) if y.value is not None]
    days = [
        v.date for pk in chosen for v in record.visits.get(pk, ()) if used and v.date.year <= used[-1].year
    ]
    first, last = (used[0].year, used[-1].year) if used else (None, None)
    return {
        "place": main.place_name or watershed.name,
        "stations": [str(s) for s in stations],
        "of_stations": len(record.stations),
        "first": first,
        "last": last,
        "years": len(used),
        "last_visit": max(days).isoformat() if days else None,
    }


def for_creek(
    watershed: Watershed,
    params: dict[str, list[str]] | None = None,
    *,
    sees_all: bool = True,
    staff: bool = True,
    today: datetime.date | None = None,
) -> tuple[dict[str, Any] | None, Asked]:
    """The brief for the lists of an address: the one way in for pages and commands alike."""
    given = params or {}
    codes = list(watershed.stations.order_by("river_km", "code").values_list("code", flat=True))
    asked = read_asked(
        given, watershed, read_choice(given, codes, record_years(watershed)), sees_all=sees_all
    )
    return build(watershed, asked, staff=staff, today=today), asked
