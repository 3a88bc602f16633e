"""What a person types to begin a visit, and the sheet of a visit as the page shows it."""

import datetime
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils import timezone

from surveys.entry.checking import WORDS, Remark
from surveys.entry.expected import Expected
from surveys.entry.sheet import VISIT_FIELDS, Difference, Sheet, pass_counts, sheet_from
from surveys.models import SamplingMethod, Station, StopNets, Taxon, Visit
from surveys.season import closed_years, locked_sentence
from surveys.uploads.values import fold

CELL_HEADS = {"count": "fish", "young_of_year": "of the year", "anomalies": "anomalies", "biomass_g": "g"}
CELL_MODES = {"count": "numeric", "young_of_year": "numeric", "anomalies": "numeric", "biomass_g": "decimal"}
UNITS = {
    "reach_length_m": "m",
    "mean_width_m": "m",
    "water_temp_c": "°C",
    "conductivity_us_cm": "µS/cm",
    "dissolved_oxygen_mg_l": "mg/L",
    "turbidity_ntu": "NTU",
    "discharge_m3_s": "m³/s",
}


class StartForm(forms.Form):
    station = forms.CharField(
        label="Station",
        max_length=200,
        help_text="Type a part of the code, the stream or the name, and choose.",
        widget=forms.TextInput(attrs={"list": "stations", "autocomplete": "off"}),
    )
    visit_date = forms.DateField(
        label="Day of the visit", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    method = forms.ModelChoiceField(
        SamplingMethod.objects.all(),
        label="Method",
        required=False,
        empty_label="the station’s own",
        help_text="Years sampled by different methods are never joined in one trend.",
    )

    def clean_station(self) -> Station:
        text = self.cleaned_data["station"].strip()
        code = text.split(" ")[0]
        station = Station.objects.with_places().filter(code__iexact=code).first()
        if station is None:
            raise forms.ValidationError(f"There is no station {text}. Choose one from the list.")
        return station

    def clean_visit_date(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["visit_date"]
        if day > timezone.localdate():
            raise forms.ValidationError("This day is in the future.")
        if day.year in closed_years():
            raise forms.ValidationError(locked_sentence(day.year))
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        station = cleaned.get("station")
        if station and not cleaned.get("method"):
            default = SamplingMethod.objects.filter(is_default=True).first()
            cleaned["method"] = station.method or default
            if cleaned["method"] is None:
                self.add_error("method", "Neither the station nor the site has a usual method. Choose one.")
        return cleaned


def sheet_from_post(post: QueryDict) -> Sheet:
    """The sheet as it was typed, with its rows and columns as they were shown."""
    rows = [int(text) for text in post.getlist("row") if text.isdigit() and len(text) < 19]
    shown = post.get("passes", "1")
    return sheet_from(
        {name: post.get(name, "") for name in post},
        taxa=rows,
        passes=int(shown) if shown.isdigit() and len(shown) < 3 else 1,
    )


def base_from_post(post: QueryDict) -> dict[str, str] | None:
    """The sheet as it was when the person began; None where it did not come along."""
    try:
        base = json.loads(post.get("base", ""))
    except ValueError:
        return None
    if not isinstance(base, dict):
        return None
    return {str(name): str(text) for name, text in base.items()}


def find_taxon(text: str) -> Taxon | None:
    """The taxon meant by a common or scientific name, a code, another name, or a choice from the list."""
    from surveys.uploads.store import read_known

    known = read_known([]).taxa
    folded = fold(text)
    keys = known.get(folded, ())
    if len(keys) != 1 and folded.endswith(")") and "(" in folded:
        keys = known.get(folded[folded.rindex("(") + 1 : -1], ())
    return Taxon.objects.filter(pk=keys[0]).first() if len(keys) == 1 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class GridField:
    """One input of the sheet."""

    name: str
    text: str
    label: str
    mode: str = ""
    unit: str = ""
    remarks: tuple[Remark, ...] = ()

    @property
    def wrong(self) -> bool:
        return any(remark.level == "error" for remark in self.remarks)


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRow:
    taxon: Taxon
    met: str  # how often it was met here before
    cells: tuple[tuple[GridField, ...], ...]  # pass by pass
    total: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GridPass:
    number: int
    no_fish: GridField
    effort: GridField
    weight: GridField
    total: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    rows: tuple[GridRow, ...]
    passes: tuple[GridPass, ...]
    fields: dict[str, GridField]
    total: int | None

    @property
    def heads(self) -> Iterable[str]:
        return CELL_HEADS.values()

    @property
    def stop_nets(self) -> list[tuple[str, str]]:
        return [("", "not recorded"), *((one.value, str(one.label)) for one in StopNets)]


def lay_out(
    sheet: Sheet,
    taxa: Mapping[int, Taxon],
    expected: Iterable[Expected],
    remarks: Iterable[Remark] = (),
) -> Grid:
    """The sheet as rows and columns of inputs, each with what was remarked on it."""
    about: dict[str, list[Remark]] = {}
    for remark in remarks:
        about.setdefault(remark.field, []).append(remark)
    met = {one.taxon.pk: f"at {one.visits} of {one.of_visits} earlier visits" for one in expected}

    def one(name: str, label: str, mode: str = "", unit: str = "") -> GridField:
        return GridField(
            name=name,
            text=sheet.text(name),
            label=label,
            mode=mode,
            unit=unit,
            remarks=tuple(about.get(name, ())),
        )

    numbers = range(1, sheet.passes + 1)
    rows = []
    for key in sheet.taxa:
        if key not in taxa:
            continue
        short = taxa[key].common_name or taxa[key].scientific_name
        cells = tuple(
            tuple(
                one(f"{word}-{n}-{key}", f"{short}, pass {n}, {WORDS[word]}", CELL_MODES[word])
                for word in CELL_HEADS
            )
            for n in numbers
        )
        counts = [text for n in numbers if (text := sheet.text("count", n, key))]
        readable = counts and all(text.isdigit() for text in counts)
        rows.append(
            GridRow(
                taxon=taxa[key],
                met=met.get(key, "not met here before"),
                cells=cells,
                total=sum(map(int, counts)) if readable else None,
            )
        )
    totals = pass_counts(sheet)
    passes = tuple(
        GridPass(
            number=n,
            no_fish=one(f"no_fish-{n}", f"Pass {n} caught no fish"),
            effort=one(f"effort_s-{n}", f"Pass {n}, current-on time in seconds", "numeric", "s"),
            weight=one(f"pass_biomass_g-{n}", f"Pass {n}, total weight in grams", "decimal", "g"),
            total=totals[n - 1],
        )
        for n in numbers
    )
    fields = {
        name: one(name, words, "decimal" if name in UNITS or name == "ph" else "", UNITS.get(name, ""))
        for name, words in WORDS.items()
        if name in VISIT_FIELDS
    }
    known = [total for total in totals if total is not None]
    return Grid(rows=tuple(rows), passes=passes, fields=fields, total=sum(known) if known else None)


def starting_sheet(visit: Visit, stored: Sheet, expected: Iterable[Expected]) -> Sheet:
    """The stored sheet with the expected taxa as blank rows, the most often met first."""
    order = [one.taxon.pk for one in expected]
    stored.taxa = [*order, *(key for key in stored.taxa if key not in order)]
    stored.passes = max(stored.passes, visit.method.planned_passes)
    return stored


__all__ = ["Difference", "Grid", "StartForm", "lay_out", "sheet_from_post", "starting_sheet"]
