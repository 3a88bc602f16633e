"""Words in the reader's language. Everything that a person reads passes through one of these functions.

``worded`` and ``worded_n`` make words at the moment they are shown. ``said`` makes words that are stored with a
result: these stay in English, as they were computed, and ``told`` says them again in the language of the
reader, by the pattern that made them. So no result has to be computed once more for another language.

Patterns name their gaps, ``"{n} years"``, so that a translation may put them in another order; a sentence
is one pattern, never put together from pieces, because the order of pieces is the order of one language.

A gap whose name begins with ``column`` or ``written`` holds what stands in a file: the heading of a column, a
code, what people typed. It is the same in every language. The label by which a page names a column, in curly
quotes, is said in the reader's.
"""

import calendar
import datetime
import gettext as catalogues
import re
import struct
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils.dates import MONTHS
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.translation import get_language, gettext, ngettext

from surveys.said import marked, said

__all__ = ["day_words", "marked", "noun", "other_language", "own_words", "said", "told", "worded", "worded_n"]

# The months of stored words; their names in other languages come with the date formats.
_MONTHS = {name: number for number, name in enumerate(calendar.month_name) if name}
_GAP = re.compile(r"\{(\w+)(?::[^}]*)?\}")
# A pattern with fewer letters of its own than this fits too much to be recognised by.
LEAST_LETTERS = 2
# With fewer than this it could be what people wrote; then only codes, numbers and known words may fill its gaps.
SURE_LETTERS = 6
_START = 4
_IN_A_FILE = ("column", "written")
_LABEL = re.compile("“([^“”]+)”")
_SENTENCE_END = re.compile(r"(?<=[.?!]) (?=[A-Z])")


def worded(pattern: str, /, **values: Any) -> str:
    """The words of a pattern in the reader's language; ``values`` fill its gaps.

    A gap that carries a format, as in ``{share:.0%}``, is filled as the format says.
    """
    words = gettext(pattern)
    return words.format(**values) if values else words


def worded_n(one: str, many: str, n: int, /, **values: Any) -> str:
    """``worded`` for a number of things: ``worded_n("{n} year", "{n} years", 3)``."""
    return ngettext(one, many, n).format(n=n, **values)


def noun(one: str, many: str, n: int) -> str:
    """The word for so many things, without their number."""
    return ngettext(one, many, n)


def day_words(day: datetime.date) -> str:
    """A day with its month in letters: "25 November 2026", "25 de noviembre de 2026"."""
    return date_format(day, "DATE_FORMAT")


def other_language() -> str:
    """The code of the reader's language where it is not English, else an empty text."""
    code = (get_language() or "en").split("-")[0]
    return "" if code == "en" else code


def told(words: Any) -> str:
    """Stored words in the reader's language; words that no pattern made stand as they are.

    Names, remarks and other words that people wrote come back unchanged.
    """
    text = str(words) if words is not None else ""
    code = other_language()
    return _told(code, text) if code and text else text


def own_words(words: Any, *, sentence: bool = False) -> str:
    """What a method, a list or a source says: translated where it is known, else marked as the English it is."""
    text = told(words)
    known = text != str(words) or _recognised(other_language() or "en", text) is not None
    text = text[:1].upper() + text[1:] if sentence else text
    if not text or not other_language() or known or not any(c.isalpha() for c in text):
        return text
    return format_html('<span lang="en">{}</span>', text)


@lru_cache(maxsize=20_000)
def _told(code: str, text: str) -> str:
    parts = _SENTENCE_END.split(text)
    # Sentences that were put side by side are said one by one, where all of them are known. The shortest come
    # first, else the last gap of the first sentence would take in all that follows it.
    known = text in _catalogue(code)[0]
    whole = _recognised(code, text) if known else _side_by_side(code, parts)
    if whole is not None:
        return whole
    for joint in ("; ", " "):
        pieces = text.split(joint) if joint == "; " else parts
        if len(pieces) > 1:
            return joint.join(_told(code, piece) for piece in pieces)
    # A row of words, each of them known.
    words = [_recognised(code, piece) for piece in text.split(", ")]
    if None not in words:
        return ", ".join(word or "" for word in words)
    # A reason that stands behind the name it speaks of, if it is one.
    name, colon, reason = text.partition(": ")
    say = _told(code, reason) if colon else reason
    return f"{_told(code, name)}: {say}" if say != reason else text


def _side_by_side(code: str, parts: list[str]) -> str | None:
    """Sentences in a row, where patterns know them all; a pattern may hold more than one of them."""
    from_here: list[str | None] = [None] * len(parts) + [""]
    for start in reversed(range(len(parts))):
        for end in range(start + 1, len(parts) + 1):
            rest = from_here[end]
            first = None if rest is None else _recognised(code, " ".join(parts[start:end]))
            if first is not None:
                from_here[start] = f"{first} {rest}".rstrip()
                break
    return from_here[0]


def _recognised(code: str, text: str) -> str | None:
    """A text in the other language, by itself or by the pattern that made it; None for one that is not known."""
    exact, patterns = _catalogue(code)
    if text in exact:
        return exact[text]
    if text in _MONTHS:
        return str(MONTHS[_MONTHS[text]])
    fits = []
    for own, shape, words in (*patterns.get(text[:_START], ()), *patterns.get("", ())):
        found = shape.fullmatch(text)
        if found and (own >= SURE_LETTERS or all(_is_code(code, *v) for v in found.groupdict().items())):
            fits.append((own, words, found.groupdict()))
    if not fits:
        return None
    _, words, values = max(fits, key=lambda one: one[0])
    return words.format(**{name: _filled(code, name, value) for name, value in values.items()})


def _filled(code: str, name: str, value: str) -> str:
    if not name.startswith(_IN_A_FILE):
        return _told(code, value)
    label = _LABEL.fullmatch(value)
    return f"“{_told(code, label[1])}”" if label else value


def _is_code(code: str, name: str, value: str) -> bool:
    known = name.startswith(_IN_A_FILE) or not re.search(r"[a-z]", value)
    return known or _recognised(code, value) is not None


_Pattern = tuple[int, "re.Pattern[str]", str]


@lru_cache(maxsize=8)
def _catalogue(code: str) -> tuple[dict[str, str], dict[str, list[_Pattern]]]:
    """Whole texts, and patterns by their first letters, of one language's catalogue."""
    exact: dict[str, str] = {}
    patterns: dict[str, list[_Pattern]] = {}
    for folder in settings.LOCALE_PATHS:
        try:
            found = catalogues.translation("django", folder, [code])
        except OSError:
            continue
        several = _forms_for_several(Path(catalogues.find("django", folder, [code]) or ""))
        # The class keeps no public list of what it holds.
        for key, words in vars(found)["_catalog"].items():
            english, form = key if isinstance(key, tuple) else (key, None)
            english = several.get(english, english) if form else english
            if not english or not words or "%(" in english:
                continue
            gaps = _GAP.findall(english)
            if not gaps:
                exact[english] = words
                continue
            own = sum(c.isalpha() for c in _GAP.sub("", english))
            if own >= LEAST_LETTERS:
                start = english[:_START]
                place = start if "{" not in start and len(start) == _START else ""
                known = patterns.setdefault(place, [])
                # A form for one or for several knows better than a pattern of the same letters for any.
                at = len(known) if form is None else 0
                known.insert(at, (own, _shape(english, form), _GAP.sub(r"{\1}", words)))
    return exact, patterns


def _forms_for_several(path: Path) -> dict[str, str]:
    """The English for several by the English for one: the catalogue's class drops it when it reads the file.

    The layout is that of the GNU gettext manual, "The Format of GNU MO Files".
    """
    content = path.read_bytes()
    order = "<" if content[:4] == b"\xde\x12\x04\x95" else ">"
    number, at = struct.unpack_from(f"{order}2I", content, 8)
    found = {}
    for place in range(number):
        length, start = struct.unpack_from(f"{order}2I", content, at + 8 * place)
        one, zero, many = content[start : start + length].decode().partition("\0")
        if zero:
            found[one] = many
    return found


def _shape(pattern: str, form: int | None = None) -> re.Pattern[str]:
    """A pattern as an expression whose groups are its gaps; a gap named twice holds the same twice.

    ``form`` is the place of a pattern among the forms for one and for several: ``n`` is then that number, and one
    word in any pattern, else "{n} returned" would take "1 awaiting review; 1 returned" for its own.
    """
    number = {None: r"\S+", 0: "1"}.get(form, r"(?!1\b)\d+")
    made, seen, at = "", set(), 0
    for gap in _GAP.finditer(pattern):
        made += re.escape(pattern[at : gap.start()])
        name = gap[1]
        made += f"(?P={name})" if name in seen else f"(?P<{name}>{number if name == 'n' else '.+?'})"
        seen.add(name)
        at = gap.end()
    return re.compile(made + re.escape(pattern[at:]), re.DOTALL)
