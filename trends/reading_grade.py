"""How hard a text is to read: sentences, words, and the Flesch-Kincaid grade. Pure functions, English.

Kincaid, J.P., R.P. Fishburne, R.L. Rogers and B.S. Chissom. 1975. Derivation of new readability
formulas for Navy enlisted personnel. Research Branch Report 8-75, Naval Technical Training Command:

    grade = 0.39 * words per sentence + 11.8 * syllables per word - 15.59
"""

import re
from dataclasses import dataclass

# Targets of this programme for public text: a proposal of its own, after public plain-language guidance.
MOST_GRADE = 8.0
MOST_WORDS = 20

_SENTENCE_END = re.compile(r"(?<=[.!?:])[\"”’)]*\s+|\n+")
_WORD = re.compile(r"[A-Za-z]+(?:['’-][A-Za-z]+)*|\d[\d.,]*")
_SILENT_END = re.compile(r"(?:[^laeiouy]e|[^aeiouydt]ed|[^aeioucghsxz]es)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """``grade`` is a year of schooling in the United States; None for a text without words."""

    grade: float | None
    sentences: int
    words: int
    syllables: int
    longest: str

    @property
    def longest_words(self) -> int:
        return len(_WORD.findall(self.longest))


def grade(*, words: int, sentences: int, syllables: int) -> float:
    """The formula itself, from counts."""
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def syllables(word: str) -> int:
    """Syllables of an English word, counted by its groups of vowels: right for most words, not for all.

    A figure counts as one, as it is read at a glance.
    """
    if word[:1].isdigit():
        return 1
    total = 0
    for part in re.split(r"[-'’]", word.lower()):
        if not part:
            continue
        # "ia" and "io" are mostly two sounds; those of "tion" and "cial" are one.
        spread = re.sub(r"(?:[cst]i)(?=[aeo])", "x", part)
        spread = re.sub(r"i(?=[ao])", "i-", spread)
        groups = len(re.findall(r"[aeiouy]+", spread))
        if groups > 1 and _SILENT_END.search(part) and not part.endswith("le"):
            groups -= 1
        total += max(groups, 1 if len(part) > 1 or part in "aio" else 0)
    return max(total, 1)


def sentences(text: str) -> list[str]:
    """Sentences and lines with at least one word; a colon ends one, as a list's opening line does."""
    return [s.strip() for s in _SENTENCE_END.split(text) if s and _WORD.search(s)]


def reading(text: str) -> Reading:
    found = sentences(text)
    words = [w for s in found for w in _WORD.findall(s)]
    total = sum(syllables(w) for w in words)
    return Reading(
        grade=grade(words=len(words), sentences=len(found), syllables=total) if words else None,
        sentences=len(found),
        words=len(words),
        syllables=total,
        longest=max(found, key=lambda s: len(_WORD.findall(s)), default=""),
    )
