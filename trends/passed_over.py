"""What an address asks for that a page cannot give, said in a sentence each.

A page that quietly shows something else than it was asked for misleads whoever was sent the address: the
number under a link is then another number. So nothing is passed over without a word.
"""

from collections.abc import Iterable, Mapping

from surveys.language import worded
from trends.measures import Measure

# More than this of one kind is no mistake of a hand; the first few say what is wrong.
MOST_NAMED = 3
# What people typed is repeated so far that they know it again.
LONGEST = 40

Lists = Mapping[str, list[str]]


def measure_passed_over(asked: Lists, offered: Iterable[Measure], shown: Measure) -> list[str]:
    """A measure that is not on record here, or not told to this reader: both are answered alike."""
    keys = {m.key for m in offered}
    return [
        worded(
            "“{asked}” is no number that this page shows. Shown instead: {shown}.",
            asked=one,
            shown=shown.name,
        )
        for one in _unknown(asked, "measure", keys)
    ]


def names_passed_over(asked: Lists, name: str, known: Iterable[str]) -> list[str]:
    """Stations, creeks or other choices of a list that are not in it."""
    return [
        worded("“{asked}” is not on the list that this page chooses from, and was passed over.", asked=one)
        for one in _unknown(asked, name, set(known))
    ]


def years_passed_over(asked: Lists, years: range) -> list[str]:
    """Years that are none, years in the wrong order, and years of which there is no record."""
    words, read = [], {}
    for name in ("from", "to"):
        text = (asked.get(name) or [""])[-1].strip()
        if text.isdecimal() and len(text) == 4:
            read[name] = int(text)
        elif text:
            words.append(worded("“{asked}” is not a year, and was passed over.", asked=_short(text)))
    first, last = read.get("from"), read.get("to")
    if first is not None and last is not None and first > last:
        first, last = last, first
        words.append(
            worded(
                "The first year asked for comes after the last. Read as {first} to {last}.",
                first=first,
                last=last,
            )
        )
    if years and ((first is not None and first > years[-1]) or (last is not None and last < years[0])):
        words.append(
            worded(
                "The years asked for lie outside the record, which runs from {first} to {last}.",
                first=years[0],
                last=years[-1],
            )
        )
    return words


def _unknown(asked: Lists, name: str, known: set[str]) -> list[str]:
    given = dict.fromkeys(text.strip() for text in asked.get(name, []))
    return [_short(text) for text in given if text and text not in known][:MOST_NAMED]


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[:LONGEST]}…"
