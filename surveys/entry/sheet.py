"""A visit as it is typed: texts under the names of their fields, exactly as a form or a device sends them.

A name is ``water_temp_c`` for the visit, ``effort_s-2`` for its second pass and ``count-2-17`` for the
taxon with key 17 in that pass. An empty text means not recorded, never zero. Lists are written with
semicolons, a mark as 1. Pure code.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from surveys.said import marked, said, said_n
from surveys.uploads.column import PASS, ROW, VISIT
from surveys.uploads.field_columns import FIELD_COLUMNS
from surveys.uploads.values import cell_text, is_number


def _of(scope: str) -> tuple[str, ...]:
    return tuple(column.name for column in FIELD_COLUMNS if column.scope == scope)


# What the field sheet says beyond the catch. A page or a device may not know these fields yet.
FIELD_RECORD: Final = frozenset(column.name for column in FIELD_COLUMNS)
VISIT_FIELDS: Final = (
    "visit_date",
    "method",
    "reach_length_m",
    "mean_width_m",
    "stop_nets",
    "water_temp_c",
    "conductivity_us_cm",
    "dissolved_oxygen_mg_l",
    "ph",
    "turbidity_ntu",
    "discharge_m3_s",
    "crew_lead",
    "notes",
    *_of(VISIT),
)
PASS_FIELDS: Final = ("no_fish", "effort_s", "pass_biomass_g", *_of(PASS))
CELL_FIELDS: Final = ("count", "young_of_year", "anomalies", "biomass_g", *_of(ROW))
MOST_PASSES: Final = 10
# What is said of each pass; the page says the same while one types.
NO_PASS_YET: Final = marked("No pass is counted yet.")
DEPLETION: Final = {
    "first": marked("Pass {number}: {fish}."),
    "fell": marked("Pass {number}: {fish} after {before}; the catch fell."),
    "none_again": marked("Pass {number}: no fish again."),
    "did_not_fall": marked(
        "Pass {number}: {fish} after {before}; the catch did not fall. The fish left in the reach may not be "
        "estimable from these passes. Whether another pass is made is the crew leader’s decision."
    ),
}

_CELL = re.compile(rf"({'|'.join(CELL_FIELDS)})-([1-9][0-9]?)-([0-9]{{1,18}})")
_PASS = re.compile(rf"({'|'.join(PASS_FIELDS)})-([1-9][0-9]?)")


@dataclass(slots=True)
class Sheet:
    """Texts by name; ``taxa`` are the rows in their order, ``passes`` the number of columns shown.

    ``given`` are all names that came along, those without a text too.
    """

    texts: dict[str, str] = field(default_factory=dict)
    taxa: list[int] = field(default_factory=list)
    passes: int = 1
    given: set[str] = field(default_factory=set)

    def text(self, *parts: Any) -> str:
        return self.texts.get("-".join(map(str, parts)), "")

    def row_is_blank(self, number: int, taxon: int) -> bool:
        return not any(self.text(name, number, taxon) for name in CELL_FIELDS)

    def taxa_in_pass(self, number: int) -> list[int]:
        """Taxa for which anything is typed in a pass."""
        return [taxon for taxon in self.taxa if not self.row_is_blank(number, taxon)]

    def pass_is_blank(self, number: int) -> bool:
        """Nothing at all is typed: the pass was not made."""
        return not self.taxa_in_pass(number) and not any(self.text(name, number) for name in PASS_FIELDS)

    def add_taxon(self, taxon: int) -> None:
        if taxon not in self.taxa:
            self.taxa.append(taxon)


def sheet_from(given: Mapping[str, Any], *, taxa: Iterable[int] = (), passes: int = 1) -> Sheet:
    """A sheet from names and texts; names that are no field of a sheet are left out."""
    sheet = Sheet(taxa=list(dict.fromkeys(taxa)), passes=max(1, min(passes, MOST_PASSES)))
    for name, value in given.items():
        text = str(value).strip() if value is not None else ""
        cell = _CELL.fullmatch(name)
        one_pass = _PASS.fullmatch(name)
        number = int((cell or one_pass)[2]) if cell or one_pass else 0  # type: ignore[index]
        if number > MOST_PASSES or not (cell or one_pass or name in VISIT_FIELDS):
            continue
        sheet.given.add(name)
        if not text:
            continue
        sheet.texts[name] = text.replace("\r\n", "\n")
        sheet.passes = max(sheet.passes, number)
        if cell:
            sheet.add_taxon(int(cell[3]))
    return sheet


def same_text(one: str, other: str) -> bool:
    """Whether two texts say the same: 18.50 is 18.5."""
    if one.strip() == other.strip():
        return True
    try:
        return float(one) == float(other)
    except ValueError:
        return False


def written(value: Any) -> str:
    """A stored value as it would be typed; nothing for what is not recorded."""
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, list | tuple):
        return "; ".join(map(written, value))
    return cell_text(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One place where two sheets differ. ``untouched``: mine is what it was when I began."""

    name: str
    mine: str
    stored: str
    untouched: bool


def differences(mine: Sheet, stored: Sheet, base: Mapping[str, str] | None = None) -> list[Difference]:
    """Where two sheets differ, in the order of the visit, its passes and their taxa."""
    names = sorted({*mine.texts, *stored.texts}, key=_place)
    return [
        Difference(
            name=name,
            mine=mine.text(name),
            stored=stored.text(name),
            untouched=base is not None and same_text(mine.text(name), base.get(name, "")),
        )
        for name in names
        if not same_text(mine.text(name), stored.text(name))
    ]


def says_the_same(mine: Sheet, stored: Sheet) -> bool:
    """Whether a sheet holds what is stored; a taxon typed with 0 was not caught, and has no row."""
    return all(
        parts_of(one.name)[0] == "count" and not one.stored and is_number(one.mine) and int(one.mine) == 0
        for one in differences(mine, stored)
    )


def parts_of(name: str) -> tuple[str, int | None, int | None]:
    """``count-2-17`` -> ("count", 2, 17)."""
    word, *numbers = name.split("-")
    return word, int(numbers[0]) if numbers else None, int(numbers[1]) if len(numbers) > 1 else None


def _place(name: str) -> tuple[int, int, int]:
    word, number, taxon = parts_of(name)
    return (number or 0, taxon or 0, [*VISIT_FIELDS, *PASS_FIELDS, *CELL_FIELDS].index(word))


def take_stored(mine: Sheet, stored: Sheet, names: Iterable[str]) -> None:
    """Put the stored text in the place of mine, for these names."""
    for name in names:
        if text := stored.text(name):
            mine.texts[name] = text
            if (taxon := parts_of(name)[2]) is not None:
                mine.add_taxon(taxon)
        else:
            mine.texts.pop(name, None)
    mine.passes = max(mine.passes, stored.passes)


def keep_unasked(mine: Sheet, stored: Sheet) -> None:
    """Keep what is stored of the field record where it did not come along at all, not even empty: the page
    or the device that sent the sheet does not show it. What hangs on a pass or a line goes with it."""
    for name, text in stored.texts.items():
        word, number, taxon = parts_of(name)
        if word not in FIELD_RECORD or name in mine.given:
            continue
        if number is not None and mine.pass_is_blank(number):
            continue
        if number is not None and taxon is not None and mine.row_is_blank(number, taxon):
            continue
        mine.texts.setdefault(name, text)


def pass_counts(sheet: Sheet) -> list[int | None]:
    """Fish of each pass, None where nothing is typed or a count cannot be read."""
    totals: list[int | None] = []
    for number in range(1, sheet.passes + 1):
        texts = [sheet.text("count", number, taxon) for taxon in sheet.taxa]
        known = [text for text in texts if text]
        if any(not is_number(text) for text in known) or not (known or sheet.text("no_fish", number)):
            totals.append(None)
        else:
            totals.append(sum(int(text) for text in known))
    return totals


def depletion_words(totals: list[int | None]) -> list[str]:
    """Pass by pass, whether the catch fell; what it means for an estimate, and who decides on another."""
    words: list[str] = []
    for number, total in enumerate(totals, start=1):
        if total is None:
            break
        before = totals[number - 2] if number > 1 else None
        if before is None:
            key = "first"
        elif total < before:
            key = "fell"
        else:
            key = "none_again" if total == 0 else "did_not_fall"
        fish = said_n("{n} fish", "{n} fish", total)
        words.append(said(DEPLETION[key], number=number, fish=fish, before=before))
    return words
