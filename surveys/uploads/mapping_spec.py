"""What the headings of a file of another layout mean: roles, sheets and the mapping of a whole file, as
plain data that can be kept and proposed again. Pure code."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from surveys.said import marked
from surveys.uploads.columns import SEASON_FILE, column_names

HEADINGS: Final = tuple(column_names(SEASON_FILE))
COLUMNS: Final = {column.name: column for column in SEASON_FILE}
VISIT_KEY: Final = "visit_key"  # a number or code that ties the sheets of a workbook together
SPECIES: Final = "species"  # the heading is a taxon, the cells are its counts
OF_PASS: Final = "of_pass"  # the heading belongs to one pass: ``holds`` says what its cells are
DATE_ORDERS: Final = {
    "": marked("YYYY-MM-DD"),
    "dmy": marked("day, month, year"),
    "mdy": marked("month, day, year"),
    "serial": marked("day numbers of a spreadsheet, such as 45490"),
}
# What older files have a column for in each pass.
PASS_VALUES: Final = (
    "count", "young_of_year", "biomass_g", "anomalies", "weighed", "released", "died", "kept",
    "effort_s", "pass_biomass_g", "started_at", "ended_at", "netters",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    """What a heading means: a season column, a species, or a value of one pass. Empty: passed over."""

    role: str = ""
    taxon: str = ""  # for a species: its name, where it is not the heading itself
    number: str = ""  # the pass, for OF_PASS; may be given for a species as well
    holds: str = "count"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetMapping:
    sheet: str
    heading_line: int
    roles: Mapping[str, Role]


@dataclass(frozen=True, slots=True, kw_only=True)
class FileMapping:
    """How the files of one kind are read. ``constants`` stand where a file has no such column."""

    sheets: tuple[SheetMapping, ...]
    constants: Mapping[str, str] = field(default_factory=dict)
    stations: Mapping[str, str] = field(default_factory=dict)  # other name -> station code
    date_order: str = ""
    decimal_comma: bool = False

    def as_plain(self) -> dict[str, Any]:
        return {
            "sheets": [
                {
                    "sheet": one.sheet,
                    "heading_line": one.heading_line,
                    "roles": {
                        heading: {"role": r.role, "taxon": r.taxon, "number": r.number, "holds": r.holds}
                        for heading, r in one.roles.items()
                        if r.role
                    },
                }
                for one in self.sheets
            ],
            "constants": dict(self.constants),
            "stations": dict(self.stations),
            "date_order": self.date_order,
            "decimal_comma": self.decimal_comma,
        }


def from_plain(plain: Mapping[str, Any]) -> FileMapping:
    return FileMapping(
        sheets=tuple(
            SheetMapping(
                sheet=one["sheet"],
                heading_line=int(one["heading_line"]),
                roles={heading: Role(**role) for heading, role in one["roles"].items()},
            )
            for one in plain["sheets"]
        ),
        constants=dict(plain.get("constants", {})),
        stations=dict(plain.get("stations", {})),
        date_order=plain.get("date_order", ""),
        decimal_comma=bool(plain.get("decimal_comma")),
    )
