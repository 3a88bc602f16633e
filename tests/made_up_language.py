"""A made-up language in which the words of every catalogue entry stand in brackets, and what reads pages in it.

Letters outside the brackets are words that were never given out for translation, unless they are data: names,
codes and remarks that people wrote, which no catalogue can know.
"""

import json
import re
from collections.abc import Iterable, Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import allauth
import django.contrib.auth
import polib
import pytest
from django.conf import settings as project
from django.contrib.auth import get_user_model
from django.db import transaction
from django.http import HttpResponse
from django.utils.translation import trans_real

from surveys import language
from surveys.access import ROLES
from surveys.models import (
    CrewMember,
    NotSampled,
    Permit,
    PlannedVisit,
    SamplingMethod,
    Station,
    Taxon,
    Upload,
    Visit,
    Watershed,
)
from tests.copies import MadeOnce
from tests.emptying import Emptying
from tests.factories import make_user
from trends import demo
from trends.index.catalogue import all_methods
from trends.models import LandUseNote
from trends.reference_models import TraitList

CATALOGUE = Path(project.BASE_DIR) / "locale" / "es" / "LC_MESSAGES" / "django.po"
# What a translation leaves as it is: gaps, markup, and a citation's or a unit's own signs.
KEPT = re.compile(r"\n|\{\w+(?::[^}]*)?\}|%\(\w+\)s|%%|<[^>]+>|&\w+;")
SPOKEN_ATTRIBUTES = frozenset({"title", "alt", "aria-label", "placeholder", "content"})
SPOKEN_KEYS = frozenset({"text", "title", "caption", "hovertext", "subtitle", "ticktext", "hovertemplate"})
# Names and signs that are the same in every language.
SAME = re.compile(
    r"https?://\S+|"
    r"\b(Rillmark|English|Español|CSV|JSON|YAML|PDF|PNG|SVG|API|ITIS|TSN|EPA|USGS|CC BY 4\.0|"
    # The month and its small words come from the framework's own Spanish.
    r"(?:\d+ )?(?:de )?(?:enero|febrero|marzo|abril|mayo|junio|julio|agosto|septiembre|octubre|noviembre|diciembre)"
    r"(?: de \d{4})?|\d+ (?:Ene|Feb|Mar|Abr|May|Jun|Jul|Ago|Sep|Oct|Nov|Dic) \d{4}|"
    r"Creative Commons Attribution 4\.0|"
    r"Sen|Mann|Kendall|Bray|Curtis|WGS 84|km²|"
    # A version of the data is the beginning of its hash.
    r"km|cm|mm|mg|ms|NTU|pH|Hz|width=device-width, initial-scale=1)\b|%\{\w+\}|C\d\d\b|\b[0-9a-f]{12}\b"
)
WORD = re.compile(r"[A-Za-zÀ-ÿ]{2,}")
VOID = frozenset(
    {"meta", "link", "input", "br", "img", "hr", "path", "line", "circle", "rect", "polyline", "polygon"}
)


def bracketed(words: str) -> str:
    """The words of a pattern in brackets, its gaps left open, so that what fills them is seen by itself."""
    parts, at = [], 0
    for kept in KEPT.finditer(words):
        parts += [words[at : kept.start()], kept[0]]
        at = kept.end()
    parts.append(words[at:])
    return "".join(
        f"⟦{part}⟧" if i % 2 == 0 and any(c.isalpha() for c in part) else part for i, part in enumerate(parts)
    )


@pytest.fixture(scope="module")
def made_up_language(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The Spanish catalogue with every English text bracketed in the place of its translation."""
    folder = tmp_path_factory.mktemp("locale")
    target = folder / "es" / "LC_MESSAGES"
    target.mkdir(parents=True)
    for path in (CATALOGUE, CATALOGUE.with_name("djangojs.po")):
        catalogue = polib.pofile(str(path), wrapwidth=0)
        for entry in catalogue:
            if entry.msgid_plural:
                entry.msgstr_plural = {0: bracketed(entry.msgid), 1: bracketed(entry.msgid_plural)}
            else:
                entry.msgstr = bracketed(entry.msgid)
        catalogue.save_as_mofile(str(target / f"{path.stem}.mo"))
    before = project.LOCALE_PATHS
    project.LOCALE_PATHS = [folder]
    _forget()
    yield
    project.LOCALE_PATHS = before
    _forget()


def _forget() -> None:
    trans_real._translations.clear()  # type: ignore[attr-defined]
    language._told.cache_clear()
    language._catalogue.cache_clear()


def load_county() -> None:
    demo.claim_database()
    for role in ROLES:  # without passwords, which take longest
        make_user(role, role)
    assert demo.load_lists()
    assert demo.load_seasons()
    demo.bring_results_up_to_date()


@pytest.fixture(scope="module")
def county(django_db_setup: Emptying, django_db_blocker: Any, made_once: MadeOnce) -> Iterator[None]:
    """The demo's county for this file, rolled back after it; loaded for the first of such files alone."""
    with django_db_blocker.unblock(), transaction.atomic():
        made_once(load_county)
        yield
        transaction.set_rollback(True)


def data_words() -> re.Pattern[str]:
    """Everything that people wrote into the records, longest first."""
    words: set[str] = set()
    for model, fields in (
        (Watershed, ("name", "description")),
        (Station, ("code", "name", "stream", "stratum")),
        (Taxon, ("scientific_name", "authorship", "common_name", "family", "traits_source", "note")),
        (SamplingMethod, ("code", "name", "gear", "description", "reference")),
        (LandUseNote, ("title", "text", "source")),
        (TraitList, ("name",)),
        (PlannedVisit, ("crew", "note")),
        (NotSampled, ("reason",)),
        (Permit, ("number", "body", "waters", "limits")),
        (CrewMember, ("initials", "course")),
        (Upload, ("file_name",)),
        (Visit, ("weather", "meters", "crew_lead", "identifier", "checks_by", "notes")),
        (get_user_model(), ("username", "first_name", "last_name")),
    ):
        names = [f for f in fields if any(f == one.name for one in model._meta.get_fields())]
        for row in model._default_manager.values_list(*names):
            # A chart cuts a long title short.
            words |= {part for v in row if v for part in (v, v.lower(), f"{v[:43].rstrip()}…")}
    words |= {
        path.stem.replace("_", " ") for path in Path(project.BASE_DIR).glob("trends/index/methods/*.yaml")
    }
    # Fish that a method names and this county has not met.
    words |= {"Ictalurus punctatus"}
    words |= {method.title for method in all_methods()}
    words |= {metric.replace("_", " ") for method in all_methods() for metric in method.waiting_for}
    words |= {project.COUNTY_NAME, demo.COUNTY, project.CONTACT} - {""}
    return re.compile("|".join(re.escape(w) for w in sorted(words, key=len, reverse=True)))


class Words(HTMLParser):
    """The texts of a page that a person reads or hears, with the language they are marked as."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[tuple[str, str]] = []
        self.texts: list[str] = []
        self.data: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        kind = "json" if tag == "script" and given.get("type") == "application/json" else tag
        own = "no" if given.get("translate") == "no" else given.get("lang") or ""
        if tag != "html" and own not in ("la", "en", "no"):
            self.texts += [v for k, v in attrs if k in SPOKEN_ATTRIBUTES and v and not self.elsewhere]
        if tag not in VOID:
            self.open.append((kind, "" if tag == "html" else own))

    def handle_endtag(self, tag: str) -> None:
        while self.open:
            kind, _ = self.open.pop()
            if kind == tag or (kind == "json" and tag == "script"):
                break

    @property
    def elsewhere(self) -> bool:
        return any(own in ("la", "en", "no") for _, own in self.open)

    def handle_data(self, data: str) -> None:
        kind = self.open[-1][0] if self.open else ""
        if kind == "json":
            self.data.append(data)
        elif kind not in ("script", "style", "code") and not self.elsewhere:
            self.texts.append(data)


def spoken(value: Any, key: str = "") -> Iterator[str]:
    """The words of a chart: its titles, labels, captions and what stands beside the pointer."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from spoken(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from spoken(inner, key)
    elif isinstance(value, str) and key in SPOKEN_KEYS:
        yield value


@cache
def framework_sentences() -> re.Pattern[str]:
    """What the frameworks say in Spanish by themselves: errors of a field, help for a password."""
    said = []
    for package in (django, django.contrib.auth, allauth):
        for place in ("conf/locale", "locale"):
            path = Path(package.__path__[0]) / place / "es" / "LC_MESSAGES" / "django.mo"
            for entry in polib.mofile(str(path)) if path.exists() else ():
                said += [one for one in (entry.msgstr, *entry.msgstr_plural.values()) if one.endswith(".")]
    gap = re.compile(r"%\\\((?:\w+)\\\)[sd]|%[sd]")
    return re.compile(
        "|".join(gap.sub(".{1,60}?", re.escape(one)) for one in sorted(said, key=len, reverse=True))
    )


def left_over(text: str, data: re.Pattern[str]) -> str:
    """What of a text stands outside the brackets and is neither data nor the same in every language."""
    text = re.sub(r"<[^>]+>", " ", text)
    while "⟦" in text and (shorter := re.sub(r"⟦[^⟦⟧]*⟧", " ", text)) != text:
        text = shorter
    # The long patterns are asked only where something is left.
    if WORD.search(text):
        text = SAME.sub(" ", data.sub(" ", framework_sentences().sub(" ", text)))
    return " ".join(text.split()) if WORD.search(text) else ""


def not_given_out(response: HttpResponse, data: re.Pattern[str]) -> Iterable[str]:
    """Words of a page, or of its charts, that no catalogue knows."""
    words = Words()
    words.feed(response.content.decode())
    texts = [*words.texts, *(t for d in words.data for t in spoken(json.loads(d)))]
    return (rest[:160] for t in texts if (rest := left_over(t, data)))
