"""Changing the words of a handout: what cannot stand there, what is hard to read, and what stood there before."""

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db import transaction
from django.utils import timezone
from django.utils.translation import get_language

from surveys.language import told
from surveys.models import Watershed
from surveys.said import marked, said
from trends.handout import NAME_IN_BRACES, texts_of
from trends.handout_parts import BANNED, BY_KEY, NAMES, Part
from trends.models import HandoutText


def faults(part: Part, text: str) -> list[str]:
    """Why these words, in the present language, cannot be kept; empty when they can.

    Said in English, for the reader may have another language than the words: ``told`` says it to them.
    """
    found = []
    used = [name.strip() for name in NAME_IN_BRACES.findall(text)]
    for name in used:
        if name not in NAMES:
            found.append(
                said("{name} is no name this page knows. The names are listed below.", name=f"{{{name}}}")
            )
    if "{" in NAME_IN_BRACES.sub("", text) or "}" in NAME_IN_BRACES.sub("", text):
        found.append(
            said(
                "A brace stands alone. A number's name has one on each side, as in {example}.",
                example="{kinds}",
            )
        )
    found += [
        said("Keep {name}: it holds what was computed.", name=f"{{{name}}}")
        for name in part.needs
        if name not in used
    ]
    plain = NAME_IN_BRACES.sub("", text)
    if not part.figures_allowed and re.search(r"\d", plain):
        found.append(
            marked(
                "Numbers here come from the record. Write the name in braces instead, so that it stays right."
            )
        )
    for pattern, why in BANNED.get(get_language() or "en", {}).items():
        for word in re.findall(pattern, plain, re.IGNORECASE):
            found.append(said("“{word}” cannot stand here.", word=word) + f" {why}")
    return list(dict.fromkeys(found))


@transaction.atomic
def save_texts(
    watershed: Watershed, texts: Mapping[str, str], *, by: AbstractBaseUser | AnonymousUser
) -> list[str]:
    """Keep the words of each part that changed, in the present language; a part with its draft's words has
    none of its own.

    Returns the keys that changed. Raises ValueError for words that ``faults`` refuses.
    """
    language = get_language() or "en"
    stored = {one.part: one for one in texts_of(watershed).select_for_update()}
    changed = []
    for key, raw in texts.items():
        part = BY_KEY[key]
        draft = told(part.draft)
        text = "\n".join(line.rstrip() for line in raw.strip().splitlines()) or draft
        kept = stored.get(key)
        if text == (kept.text if kept else draft):
            continue
        if found := faults(part, text):
            raise ValueError(f"{part.heading}: {found[0]}")
        if text == draft and kept:
            kept.delete()
        elif kept:
            kept.text, kept.written_by = text, by  # type: ignore[assignment]
            kept.save()
        else:
            HandoutText.objects.create(  # type: ignore[misc]
                watershed=watershed, part=key, language=language, text=text, written_by=by
            )
        changed.append(key)
    return changed


def version(watershed: Watershed) -> str:
    """What the words were when a form was opened, to notice that somebody else changed them meanwhile."""
    stored = texts_of(watershed).order_by("part").values_list("part", "written_at")
    return ";".join(f"{part}:{at.isoformat()}" for part, at in stored)


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierWords:
    heading: str
    text: str
    replaced_at: datetime.datetime
    by: str


def earlier_words(watershed: Watershed, most: int = 30) -> list[EarlierWords]:
    """Words that were replaced or taken back, latest first; ``by`` is who had written them."""
    events = HandoutText.pgh_event_model.objects.filter(  # type: ignore[attr-defined]
        watershed=watershed, language=get_language() or "en"
    ).select_related("written_by")
    return [
        EarlierWords(
            heading=BY_KEY[one.part].heading if one.part in BY_KEY else one.part,
            text=one.text,
            replaced_at=timezone.localtime(one.pgh_created_at),
            by=one.written_by.get_username() if one.written_by else "",
        )
        for one in events.order_by("-pgh_created_at", "-pgh_id")[:most]
    ]
