"""What a person fills in to send files of another layout and to say what their headings mean."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from surveys.language import told, worded
from surveys.uploads.columns import SEASON_FILE
from surveys.uploads.mapped import MOST_FILES
from surveys.uploads.mapping import unique_headings
from surveys.uploads.mapping_spec import (
    DATE_ORDERS,
    OF_PASS,
    PASS_VALUES,
    SPECIES,
    VISIT_KEY,
    FileMapping,
    Role,
    SheetMapping,
)
from surveys.uploads.reader import RawSheet
from surveys.uploads.values import fold

MOST_PASSES = 6
_KNOWN = {
    "",
    *(column.name for column in SEASON_FILE),
    SPECIES,
    *(f"{OF_PASS}:{holds}" for holds in PASS_VALUES),
    VISIT_KEY,
}
Choices = list[tuple[str, list[tuple[str, str]]]]


def role_choices() -> Choices:
    """What a heading can mean, in groups, in the reader's language. Columns keep the names they have in a file."""
    return [
        ("", [("", worded("passed over"))]),
        (
            worded("A column of its own"),
            [(column.name, f"{column.name}: {told(column.meaning)}") for column in SEASON_FILE],
        ),
        (
            worded("A column per species"),
            [(SPECIES, worded("the heading is a taxon, its cells are fish"))],
        ),
        (
            worded("A column per pass"),
            [
                (f"{OF_PASS}:{holds}", worded("{column} of the pass named beside it", column=holds))
                for holds in PASS_VALUES
            ],
        ),
        (
            worded("Between sheets"),
            [(VISIT_KEY, worded("number or code of the visit, the same on every sheet"))],
        ),
    ]


def _date_orders() -> list[tuple[str, str]]:
    return [(order, told(words)) for order, words in DATE_ORDERS.items()]


class ManyFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files at once, each under the limits of a single one."""

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        files = data if isinstance(data, (list, tuple)) else [data]
        if len(files) > MOST_FILES:
            raise forms.ValidationError(
                worded("These are {n} files; send at most {most} at once.", n=len(files), most=MOST_FILES)
            )
        single = super().clean
        return [single(file, initial) for file in files]


class FilesForm(forms.Form):
    files = FilesField(  # type: ignore[assignment]
        label=_("Files"),
        help_text=_("One or many: .xlsx workbooks with any number of sheets, or .csv (UTF-8)."),
        max_length=255,
        allow_empty_file=True,
        widget=ManyFiles(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )


class MappingForm(forms.Form):
    """What is said of the file as a whole; what each heading means is read by ``mapping_from_post``."""

    name = forms.CharField(
        label=_("Name of this mapping"),
        max_length=100,
        help_text=_("Proposed for files with the same headings from then on."),
    )
    date_order = forms.ChoiceField(label=_("Days are written as"), choices=_date_orders, required=False)
    decimal_comma = forms.BooleanField(label=_("Numbers are written with a decimal comma"), required=False)
    constant_pass = forms.CharField(
        label=_("Pass, where no column says it"), max_length=2, required=False, widget=forms.TextInput()
    )
    constant_method = forms.CharField(
        label=_("Sampling method, where no column says it"), max_length=60, required=False
    )
    stations = forms.CharField(
        label=_("Other names of stations"),
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("One to a line: name in the file = station code."),
    )

    def clean_stations(self) -> dict[str, str]:
        names = {}
        for line in self.cleaned_data["stations"].splitlines():
            if not line.strip():
                continue
            other, sign, code = line.rpartition("=")
            if not sign or not other.strip() or not code.strip():
                raise forms.ValidationError(
                    worded("{line} is not written as: name in the file = code.", line=repr(line.strip()))
                )
            names[fold(other)] = code.strip()
        return names


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadingField:
    """One heading with its first cells, and the names and values of its three inputs."""

    field: str
    heading: str
    examples: tuple[str, ...]
    value: str
    taxon: str
    number: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFields:
    field: str
    name: str
    heading_line: int
    lines: int
    headings: tuple[HeadingField, ...]


def sheet_fields(sheets: Sequence[RawSheet], mapping: FileMapping) -> list[SheetFields]:
    """The inputs of every sheet, filled in as a mapping says."""
    by_name = {fold(one.sheet): one for one in mapping.sheets}
    if len(sheets) == len(mapping.sheets) == 1:
        by_name = {fold(sheets[0].name): mapping.sheets[0]}
    found = []
    for number, sheet in enumerate(sheets):
        one = by_name.get(fold(sheet.name))
        line = one.heading_line if one else sheet.first_line
        table = sheet.table(line)
        roles = {fold(heading): role for heading, role in one.roles.items()} if one else {}
        fields = []
        for place, heading in enumerate(unique_headings(table.headings)):
            role = roles.get(fold(heading), Role())
            fields.append(
                HeadingField(
                    field=f"role-{number}-{place}",
                    heading=heading,
                    examples=tuple(text for text in table.columns[place] if text.strip())[:3],
                    value=f"{OF_PASS}:{role.holds}" if role.role == OF_PASS else role.role,
                    taxon=role.taxon,
                    number=role.number,
                )
            )
        found.append(
            SheetFields(
                field=f"line-{number}",
                name=sheet.name,
                heading_line=line,
                lines=len(sheet.rows),
                headings=tuple(fields),
            )
        )
    return found


def mapping_from_post(sheets: Sequence[RawSheet], post: QueryDict, given: dict[str, Any]) -> FileMapping:
    """The mapping as it was filled in; inputs of another kind are passed over."""
    mapped = []
    for number, sheet in enumerate(sheets):
        text = post.get(f"line-{number}", "")
        line = min(int(text), len(sheet.rows)) if re.fullmatch(r"[1-9][0-9]{0,5}", text) else sheet.first_line
        roles = {}
        for place, heading in enumerate(unique_headings(sheet.table(line).headings)):
            value = post.get(f"role-{number}-{place}", "")
            if value not in _KNOWN or not value:
                continue
            role, _, holds = value.partition(":")
            of = post.get(f"number-{number}-{place}", "").strip()
            roles[heading] = Role(
                role=role,
                taxon=post.get(f"taxon-{number}-{place}", "").strip()[:200],
                number=of if re.fullmatch(r"[1-9][0-9]?", of) else "",
                holds=holds or "count",
            )
        mapped.append(SheetMapping(sheet=sheet.name, heading_line=line, roles=roles))
    constants = {name: given.get(f"constant_{name}", "") for name in ("pass", "method")}
    stations = given.get("stations")
    return FileMapping(
        sheets=tuple(mapped),
        constants={name: text for name, text in constants.items() if text},
        stations=stations if isinstance(stations, dict) else {},
        date_order=given.get("date_order", ""),
        decimal_comma=bool(given.get("decimal_comma")),
    )


def initial_of(mapping: FileMapping, name: str) -> dict[str, Any]:
    return {
        "name": name,
        "date_order": mapping.date_order,
        "decimal_comma": mapping.decimal_comma,
        "constant_pass": mapping.constants.get("pass", ""),
        "constant_method": mapping.constants.get("method", ""),
        "stations": "\n".join(f"{other} = {code}" for other, code in mapping.stations.items()),
    }
