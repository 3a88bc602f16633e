"""The sheet of a visit as the page shows it: inputs by line and pass, each with what was remarked on it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from surveys.entry.checking import COLUMNS, Remark
from surveys.entry.expected import Expected
from surveys.entry.sheet import FIELD_RECORD, Sheet, parts_of, pass_counts
from surveys.forms.entry_words import field_words, label_words
from surveys.language import told, worded
from surveys.models import BottomVisible, ConductivityBasis, SafetyCheck, StopNets, Taxon, Waveform
from surveys.said import marked
from surveys.uploads.column import ROW
from surveys.uploads.field_columns import CONTAINERS, FATES, FIELD_COLUMNS
from surveys.uploads.values import fold, is_number

CELL_HEADS: Final = {
    "count": marked("fish"),
    "young_of_year": marked("of the year"),
    "anomalies": marked("anomalies"),
    "biomass_g": "g",
}
UNITS: Final = {"deg C": "°C", "uS/cm": "µS/cm", "m3/s": "m³/s", "fish": "", "people": ""}

# Visit fields by the heading they stand under.
VISIT_GROUPS: Final = (
    (marked("The visit"), ("visit_date", "method", "crew_lead", "identifier", "crew_size")),
    (marked("The reach"), ("stop_nets", "reach_length_m", "widths_m", "mean_width_m")),
    (
        marked("Water and weather"),
        (
            "water_temp_c",
            "air_temp_c",
            "conductivity_us_cm",
            "conductivity_basis",
            "dissolved_oxygen_mg_l",
            "ph",
            "turbidity_ntu",
            "bottom_visible",
            "discharge_m3_s",
            "weather",
            "meters",
            "calibrated_on",
        ),
    ),
)
# What a line may say beyond its four cells; the last group are marks.
DETAIL_GROUPS: Final = (
    (marked("Weighed in a container"), ("gross_g", "tare_g", "weighed")),
    (marked("Held in"), CONTAINERS),
    (marked("What became of them"), FATES),
    (marked("Doubts"), ("estimated", "unsure")),
)
DETAIL_LABELS: Final = {
    "gross_g": marked("with it, g"),
    "tare_g": marked("empty, g"),
    "weighed": marked("fish, if not all"),
    "in_main": marked("main"),
    "in_eel_well": marked("eel well"),
    "in_other": marked("elsewhere"),
    "estimated": marked("number estimated"),
    "unsure": marked("named with doubt"),
}
DETAIL_FIELDS: Final = tuple(column.name for column in FIELD_COLUMNS if column.scope == ROW)
# Lines of the foot of the sheet; two values stand in one line where they belong together.
PASS_LINES: Final = (
    (marked("Began, ended (such as 14:05)"), ("started_at", "ended_at")),
    (marked("Unit"), ("gear_unit",)),
    (marked("Form of the current"), ("waveform",)),
    (marked("Anodes, netters"), ("anodes", "netters")),
    (marked("Volts, at the start and the end"), ("volts_first", "volts_last")),
    (marked("Pulses per second (Hz), start and end"), ("pulse_hz_first", "pulse_hz_last")),
    (marked("Pulse width (ms), start and end"), ("pulse_width_ms_first", "pulse_width_ms_last")),
)
_CHOICES: Final[dict[str, Any]] = {
    "stop_nets": StopNets,
    "conductivity_basis": ConductivityBasis,
    "bottom_visible": BottomVisible,
    "waveform": Waveform,
}
# A time of day is typed as 9:40: an input for times asks for parts that differ from browser to browser.
_KINDS: Final = {"date": "date", "boolean": "check"}


@dataclass(frozen=True, slots=True, kw_only=True)
class GridField:
    """One input of the sheet."""

    name: str
    text: str
    label: str
    kind: str = "text"  # text, date, check, choice
    mode: str = ""
    unit: str = ""
    limit: int = 200
    options: tuple[tuple[str, str], ...] = ()
    remarks: tuple[Remark, ...] = ()

    @property
    def wrong(self) -> bool:
        return any(remark.level == "error" for remark in self.remarks)


@dataclass(frozen=True, slots=True, kw_only=True)
class GridDetail:
    """What a line says of one pass beyond its four cells."""

    number: int
    groups: tuple[tuple[str, tuple[GridField, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRow:
    taxon: Taxon
    met: str  # how often it was met here before
    cells: tuple[tuple[GridField, ...], ...]  # pass by pass
    details: tuple[GridDetail, ...]  # empty where the page need not hold them
    holds: str  # what the details hold, in short
    is_open: bool
    remarks: tuple[Remark, ...]
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
    pass_lines: tuple[tuple[str, tuple[tuple[GridField, ...], ...]], ...]
    passes_open: bool
    pass_remarks: tuple[Remark, ...]
    groups: tuple[tuple[str, tuple[GridField, ...]], ...]
    fields: dict[str, GridField]
    checks: tuple[tuple[str, str, bool], ...]  # word, label, ticked
    blank_detail: tuple[GridDetail, ...]  # of a line with the key 0, to be copied
    total: int | None

    @property
    def heads(self) -> Iterable[str]:
        return [told(head) for head in CELL_HEADS.values()]

    @property
    def width(self) -> int:
        return 2 + len(CELL_HEADS) * len(self.passes)


class _Inputs:
    """Makes the inputs of a sheet, with the remarks on each."""

    def __init__(self, sheet: Sheet, remarks: Iterable[Remark]) -> None:
        self.sheet = sheet
        self.about: dict[str, list[Remark]] = {}
        for remark in _beside(remarks):
            self.about.setdefault(remark.field, []).append(remark)

    def one(self, name: str, label: str = "") -> GridField:
        word, *_ = parts_of(name)
        column = COLUMNS.get(word)
        kind, mode, unit = "text", "", ""
        options: tuple[tuple[Any, str], ...] = ()
        if word == "no_fish":
            kind = "check"
        elif word in _CHOICES:
            kind = "choice"
            options = (
                ("", worded("not recorded")),
                *((choice.value, str(choice.label)) for choice in _CHOICES[word]),
            )
        elif column is not None:
            kind = _KINDS.get(column.kind, "text")
            mode = {"integer": "numeric", "number": "decimal"}.get(column.kind, "")
            unit = UNITS.get(column.unit, column.unit)
        return GridField(
            name=name,
            text=self.sheet.text(name),
            label=label or label_words(word),
            kind=kind,
            mode=mode,
            unit=unit,
            limit=2_000
            if word == "notes"
            else 100
            if word in ("crew_lead", "identifier", "gear_unit")
            else 200,
            options=options,
            remarks=tuple(self.about.get(name, ())),
        )

    def detail(self, number: int, taxon: int) -> GridDetail:
        return GridDetail(
            number=number,
            groups=tuple(
                (
                    told(head),
                    tuple(
                        self.one(
                            f"{word}-{number}-{taxon}",
                            told(DETAIL_LABELS[word]) if word in DETAIL_LABELS else field_words(word),
                        )
                        for word in words
                    ),
                )
                for head, words in DETAIL_GROUPS
            ),
        )


def _beside(remarks: Iterable[Remark]) -> Iterable[Remark]:
    """Remarks that are shown beside a field. What is left empty is said at the end of the sheet only."""
    return (remark for remark in remarks if remark.field and not remark.code.endswith("_empty"))


def by_spot(remarks: Iterable[Remark]) -> dict[str, list[Remark]]:
    """Remarks by the spot of the page where they are shown: a line, the foot of the passes, a field."""
    spots: dict[str, list[Remark]] = {}
    for remark in _beside(remarks):
        word, number, taxon = parts_of(remark.field)
        spot = f"row-{taxon}" if taxon is not None else "passes" if number is not None else word
        spots.setdefault(spot, []).append(remark)
    return spots


def _holds(sheet: Sheet, taxon: int) -> str:
    """What a line says beyond its cells, in a few words: “with weights and fates”."""
    held = [
        told(word)
        for word, names in (
            (marked("weighing"), ("gross_g", "tare_g", "weighed")),
            (marked("containers"), CONTAINERS),
            (marked("fates"), FATES),
            (marked("doubts"), ("estimated", "unsure")),
        )
        if any(sheet.text(name, n, taxon) for name in names for n in range(1, sheet.passes + 1))
    ]
    return ", ".join(held)


def _row(
    inputs: _Inputs,
    taxon: Taxon,
    numbers: range,
    *,
    met: str,
    remarks: Sequence[Remark],
    rendered: bool,
    opened: bool,
) -> GridRow:
    sheet, key = inputs.sheet, taxon.pk
    short = taxon.common_name or taxon.scientific_name
    counts = [text for n in numbers if (text := sheet.text("count", n, key))]
    readable = counts and all(map(is_number, counts))
    hidden = any(parts_of(remark.field)[0] in DETAIL_FIELDS for remark in remarks)
    holds = _holds(sheet, key)
    shown = rendered or opened or hidden or bool(holds)
    return GridRow(
        taxon=taxon,
        met=met,
        cells=tuple(
            tuple(
                inputs.one(
                    f"{word}-{n}-{key}",
                    worded("{name}, pass {number}, {field}", name=short, number=n, field=field_words(word)),
                )
                for word in CELL_HEADS
            )
            for n in numbers
        ),
        details=tuple(inputs.detail(n, key) for n in numbers) if shown else (),
        holds=holds,
        is_open=opened or hidden,
        remarks=tuple(remarks),
        total=sum(map(int, counts)) if readable else None,
    )


def lay_out(
    sheet: Sheet,
    taxa: Mapping[int, Taxon],
    expected: Iterable[Expected],
    remarks: Iterable[Remark] = (),
    *,
    rendered: Collection[int] = (),
    opened: Collection[int] = (),
    open_passes: bool = False,
) -> Grid:
    """The sheet as rows and columns of inputs, each with what was remarked on it.

    Parameters
    ----------
    rendered : taxa whose details have to be on the page, though they may say nothing
    opened : taxa whose details are shown
    open_passes : whether times, gear and settings of the passes are shown; they are where any is recorded
    """
    remarks = tuple(remarks)
    inputs, spots = _Inputs(sheet, remarks), by_spot(remarks)
    met = {
        one.taxon.pk: worded("at {n} of {all} earlier visits", n=one.visits, all=one.of_visits)
        for one in expected
    }
    numbers = range(1, sheet.passes + 1)
    totals = pass_counts(sheet)
    ticked = {fold(part) for part in sheet.text("checks_made").split(";")}
    words = [name for _, names in PASS_LINES for name in names]
    names = [name for _, group in VISIT_GROUPS for name in group]
    known = [total for total in totals if total is not None]
    fields = {name: inputs.one(name) for name in (*names, "notes", "checks_by", "checks_made")}
    return Grid(
        rows=tuple(
            _row(
                inputs,
                taxa[key],
                numbers,
                met=met.get(key, worded("not met here before")),
                remarks=spots.get(f"row-{key}", ()),
                rendered=key in rendered,
                opened=key in opened,
            )
            for key in sheet.taxa
            if key in taxa
        ),
        passes=tuple(
            GridPass(
                number=n,
                no_fish=inputs.one(f"no_fish-{n}", worded("Pass {number} caught no fish", number=n)),
                effort=inputs.one(
                    f"effort_s-{n}", worded("Pass {number}, current-on time in seconds", number=n)
                ),
                weight=inputs.one(
                    f"pass_biomass_g-{n}", worded("Pass {number}, total weight in grams", number=n)
                ),
                total=totals[n - 1],
            )
            for n in numbers
        ),
        pass_lines=tuple(
            (
                told(head),
                tuple(
                    tuple(
                        inputs.one(
                            f"{word}-{n}",
                            worded("Pass {number}, {field}", number=n, field=field_words(word)),
                        )
                        for word in group
                    )
                    for n in numbers
                ),
            )
            for head, group in PASS_LINES
        ),
        passes_open=open_passes or any(sheet.text(word, n) for word in words for n in numbers),
        pass_remarks=tuple(spots.get("passes", ())),
        groups=tuple((told(head), tuple(fields[name] for name in group)) for head, group in VISIT_GROUPS),
        fields=fields,
        checks=tuple((one.value, str(one.label), fold(one.value) in ticked) for one in SafetyCheck),
        blank_detail=tuple(_Inputs(Sheet(), ()).detail(n, 0) for n in numbers),
        total=sum(known) if known else None,
    )


def with_details(*sheets: Sheet) -> set[int]:
    """Taxa of which any of these sheets says more than the four cells."""
    return {
        taxon
        for sheet in sheets
        for name in sheet.texts
        if (taxon := parts_of(name)[2]) is not None and parts_of(name)[0] in FIELD_RECORD
    }
