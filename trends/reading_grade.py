"""How hard a text is to read, by the textstat library: a school grade for English, an ease for Spanish.

Kincaid, J.P., R.P. Fishburne, R.L. Rogers and B.S. Chissom. 1975. Derivation of new readability
formulas for Navy enlisted personnel. Research Branch Report 8-75, Naval Technical Training Command.

Fernández Huerta, J. 1959. Medidas sencillas de lecturabilidad. Consigna 214: 29-32.
"""

import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from surveys.said import said
from trends.number_words import sentence

# Targets of this programme for public text: a proposal of its own, after public plain-language guidance.
MOST_GRADE = 8.0
MOST_WORDS = 20
# On Fernández Huerta's scale of 0 to 100 this is the lower end of plain prose (from memory).
LEAST_EASE = 60.0

_SENTENCE_END = re.compile(r"(?<=[.!?:])[\"”’»)]*\s+|\n+")
_WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*|\d[\d.,]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """``grade`` is a year of schooling in the United States, for English; ``ease`` runs from 0, hard, to 100,
    easy, for Spanish. None for another language, and for a text without words."""

    grade: float | None
    ease: float | None
    longest: str

    @property
    def longest_words(self) -> int:
        return len(_WORD.findall(self.longest))


@cache
def _measures(language: str) -> Any:
    # Read only when words are checked: its dictionary takes more than half a second.
    from textstat.textstat import textstatistics

    measures = textstatistics()
    measures.set_lang(language)
    return measures


def sentences(text: str) -> list[str]:
    """Sentences and lines with at least one word; a colon ends one, as a list's opening line does."""
    return [s.strip() for s in _SENTENCE_END.split(text) if s and _WORD.search(s)]


def reading(text: str, language: str = "en") -> Reading:
    found = sentences(text)
    # The library parts sentences at full stops alone.
    prose = " ".join(f"{s.rstrip('.!?:')}." for s in found)
    return Reading(
        grade=float(_measures("en").flesch_kincaid_grade(prose)) if found and language == "en" else None,
        ease=float(_measures("es").fernandez_huerta(prose)) if found and language == "es" else None,
        longest=max(found, key=lambda s: len(_WORD.findall(s)), default=""),
    )


def remarks(words: str, language: str = "en") -> list[str]:
    """What makes the words hard to read; they may be kept all the same."""
    found = reading(words, language)
    hard = []
    if found.grade is not None and found.grade > MOST_GRADE:
        hard.append(
            said(
                "Reading grade {grade}; aim for {most} or less. Use shorter words.",
                grade=f"{found.grade:.1f}",
                most=f"{MOST_GRADE:.0f}",
            )
        )
    if found.ease is not None and found.ease < LEAST_EASE:
        hard.append(
            said(
                "Reading ease {ease}; aim for {least} or more. Use shorter words.",
                ease=f"{found.ease:.0f}",
                least=f"{LEAST_EASE:.0f}",
            )
        )
    if found.longest_words > MOST_WORDS:
        hard.append(
            said(
                "A sentence has {number} words; aim for {most} or fewer: {sentence}",
                number=found.longest_words,
                most=MOST_WORDS,
                sentence=sentence(found.longest[:60].rstrip()),
            )
        )
    return hard
