"""One row for each accepted visit, with every indicator, index metric and the removal estimate."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from itertools import islice
from typing import Any

from surveys.models import RemovalPass, Visit
from surveys.queries import WATER_FIELDS
from trends.exports.tables import Column
from trends.measures import INDEX, MEASURES
from trends.method_standing import Standings
from trends.models import VisitResult
from trends.public_figures import NOT_COMPUTED, Figures, guarded_watersheds, public_figures, stored_figures
from trends.scores import loaded_method

KEY = ("station", "visit_date")
CHUNK = 1_000
UNIT_WORDS = {
    "%": "pct",
    "fish/m²": "fish_per_m2",
    "fish/0.3 km": "fish_per_0_3_km",
    "kg/0.3 km": "kg_per_0_3_km",
    "g/m²": "g_per_m2",
    "part of 1": "part_of_1",
}
WATER_UNITS = {
    "water_temp_c": "degree_Celsius",
    "conductivity_us_cm": "uS cm-1",
    "dissolved_oxygen_mg_l": "mg L-1",
    "ph": "1",
    "turbidity_ntu": "NTU",
    "discharge_m3_s": "m3 s-1",
}
REMOVAL = (
    ("n_hat", "number", "Removal estimate of all fish in the reach"),
    ("standard_error", "number", "Standard error of the removal estimate"),
    ("lower", "number", "Lower 95 % limit of the removal estimate, by profile likelihood"),
    ("upper", "number", "Upper 95 % limit of the removal estimate; empty where it is infinite"),
    ("capture_probability", "number", "Chance of capture per pass, as estimated"),
    ("method", "string", "How the removal estimate was made"),
    ("reason", "string", "Why there is no usable removal estimate"),
)

PLACE_COLUMNS = (
    Column(key="visit", kind="integer", text="Number of the visit, as in its address", required=True),
    Column(key="station", kind="string", text="Station code", required=True),
    Column(key="station_name", kind="string", text="Station name"),
    Column(key="stream", kind="string", text="Stream"),
    Column(key="watershed", kind="string", text="Watershed, as in its address", required=True),
    Column(key="watershed_name", kind="string", text="Watershed name"),
    Column(key="stratum", kind="string", text="Region or stream class that decides which index applies"),
    Column(key="visit_date", kind="date", text="Date of the visit", required=True),
    Column(key="year", kind="integer", text="Calendar year of the visit"),
    Column(key="method", kind="string", text="Code of the sampling method"),
    Column(key="in_season", kind="boolean", text="Whether the day lies in the method's season window"),
)
EFFORT_COLUMNS = (
    Column(key="passes", kind="integer", text="Number of passes"),
    Column(key="reach_length_m", kind="number", text="Reach sampled", unit="m"),
    Column(key="mean_width_m", kind="number", text="Mean wetted width", unit="m"),
    Column(key="area_m2", kind="number", text="Reach length times mean width", unit="m2"),
    Column(key="stop_nets", kind="string", text="Where the reach was closed by nets"),
    Column(
        key="effort_s",
        kind="integer",
        text="Current-on time of all passes; empty where that of one is not known",
        unit="s",
    ),
    Column(
        key="waveform",
        kind="string",
        text="Form of the current; parted by semicolons where the passes differ, empty where not recorded",
    ),
    Column(
        key="anodes",
        kind="integer",
        text="Number of anodes; empty where the passes differ or it is not recorded",
    ),
)
WATER_COLUMNS = (
    *(
        Column(key=key, kind="number", text=text, unit=WATER_UNITS[key])
        for key, text in zip(
            WATER_FIELDS,
            ("Water temperature", "Conductivity", "Dissolved oxygen", "pH", "Turbidity", "Discharge"),
            strict=True,
        )
    ),
    Column(key="air_temp_c", kind="number", text="Air temperature", unit="degree_Celsius"),
    Column(
        key="conductivity_basis",
        kind="string",
        text="ambient: conductivity at the water's own temperature; 25 C: worked out for 25 degrees C; "
        "empty where not recorded. The two kinds are not comparable",
    ),
)
MADE_FROM_COLUMNS = (
    Column(key="visit_revision", kind="integer", text="Revision of the visit that was used"),
    Column(key="code_version", kind="string", text="Version of the calculations"),
    Column(key="computed_at", kind="datetime", text="When the numbers were made"),
)


STANDING = "Who checked the cut points of the index method against the report, or that they must be checked"


def measure_columns() -> list[Column]:
    """A number and a reason for each measure, and the method behind the index score."""
    columns: list[Column] = []
    for measure in MEASURES:
        text = f"{measure.name}. {measure.formula}"
        columns.append(Column(key=measure.key, kind="number", text=text, unit=measure.unit))
        columns.append(
            Column(key=f"{measure.key}_reason", kind="string", text=f"Why {measure.key} is missing")
        )
        if measure is INDEX:
            columns.append(Column(key="index_rating", kind="string", text="Rating that the score earns"))
            columns.append(Column(key="index_method", kind="string", text="Code of the index method"))
            columns.append(Column(key="index_version", kind="string", text="Version of the index method"))
            columns.append(Column(key="index_standing", kind="string", text=STANDING))
    return columns


def metric_columns(codes: list[str]) -> list[Column]:
    """Value, points and reason of every metric of these index methods."""
    columns = []
    for code in codes:
        method = loaded_method(code)
        # A metric of the same name may stand in several strata, and with another unit in some.
        found = {
            (metric.id, metric.unit): metric
            for stratum in method.strata.values()
            for metric in stratum.metrics
        }
        scored: set[str] = set()
        for metric in found.values():
            heading = _metric_heading(code, metric.id, metric.unit)
            text = f"{metric.name}. {metric.formula}"
            columns.append(Column(key=heading, kind="number", text=text, unit=metric.unit))
            if metric.id in scored:
                continue
            scored.add(metric.id)
            start = f"{code}.{metric.id}"
            text = f"Points for {metric.name}"
            columns.append(Column(key=f"{start}.points", kind="number", text=text, unit="points"))
            text = f"Why {metric.id} has no value or no points"
            columns.append(Column(key=f"{start}.reason", kind="string", text=text))
    return columns


def _metric_heading(code: str, metric: str, unit: str) -> str:
    return f"{code}.{metric}.value_{UNIT_WORDS.get(unit, unit.replace(' ', '_'))}"


def visit_columns(*, public: bool = False) -> list[Column]:
    """The columns for the visits now stored: the metrics are those of the index methods in use."""
    accepted = VisitResult.objects.filter(visit__status="accepted").exclude(index_method="")
    codes = sorted(accepted.order_by().values_list("index_method", flat=True).distinct())
    removal = [
        Column(key=f"removal_{name}", kind=kind, text=text, unit="fish" if kind == "number" else "")  # type: ignore[arg-type]
        for name, kind, text in REMOVAL
    ]
    diversity = [
        Column(key="shannon_nats", kind="number", text="Shannon diversity of the catch", unit="nats"),
        Column(key="simpson", kind="number", text="Simpson diversity of the catch", unit="1"),
        Column(key="evenness", kind="number", text="Pielou evenness of the catch", unit="1"),
    ]
    published = Column(
        key="index_score_published",
        kind="number",
        text="The score as it is published: of the fish in the public lists; index_score is of all fish",
        unit="points",
    )
    whole_catch = [] if public else [published, *diversity, *removal]
    return [
        *PLACE_COLUMNS,
        *EFFORT_COLUMNS,
        *WATER_COLUMNS,
        *measure_columns(),
        *whole_catch,
        *metric_columns(codes),
        *MADE_FROM_COLUMNS,
    ]


def visit_rows(*, public: bool = False) -> Iterator[dict[str, Any]]:
    """The rows in order of station and date, read in blocks so that size does not matter.

    With ``public`` the numbers are those the public may have (see ``trends.public_figures``).
    """
    guarded = guarded_watersheds() if public else frozenset()
    standings = Standings()
    visits = Visit.objects.accepted().select_related("station__watershed", "method", "result")
    source = visits.order_by("station__code", "visit_date").iterator(chunk_size=CHUNK)
    while block := list(islice(source, CHUNK)):
        shown = public_figures(block, guarded) if public else {}
        gear = gear_cells([visit.pk for visit in block])
        for visit in block:
            figures = shown.get(visit.pk) or stored_figures(getattr(visit, "result", None))
            row = _row(visit, figures, public=public)
            yield (
                gear.get(visit.pk, {})
                | row
                | {"index_standing": standings.of(row["index_method"], row["index_version"])}
            )


def place_cells(visit: Visit) -> dict[str, Any]:
    """Where, when and how a visit was made."""
    station = visit.station
    return {
        "visit": visit.pk,
        "station": station.code,
        "station_name": station.name,
        "stream": station.stream,
        "watershed": station.watershed.slug,
        "watershed_name": station.watershed.name,
        "stratum": station.stratum,
        "visit_date": visit.visit_date,
        "year": visit.visit_date.year,
        "method": visit.method.code,
        "in_season": visit.method.in_season(visit.visit_date),
        "reach_length_m": visit.reach_length_m,
        "mean_width_m": visit.mean_width_m,
        "area_m2": visit.area_m2,
        "stop_nets": visit.stop_nets,
        **{field: getattr(visit, field) for field in WATER_FIELDS},
        "air_temp_c": visit.air_temp_c,
        "conductivity_basis": visit.conductivity_basis,
    }


def gear_cells(visits: Collection[int]) -> dict[int, dict[str, Any]]:
    """Number of passes, effort and gear of some visits by their keys; one query."""
    passes: dict[int, list[tuple[int | None, str, int | None]]] = defaultdict(list)
    for visit, effort, form, anodes in (
        RemovalPass.objects.filter(visit__in=visits)
        .order_by("pass_number")
        .values_list("visit_id", "effort_s", "waveform", "anodes")
    ):
        passes[visit].append((effort, form, anodes))
    found = {}
    for visit, rows in passes.items():
        efforts = [effort for effort, _, _ in rows]
        numbers = {number for _, _, number in rows}
        found[visit] = {
            "passes": len(rows),
            "effort_s": None if None in efforts else sum(e for e in efforts if e is not None),
            "waveform": "; ".join(dict.fromkeys(form for _, form, _ in rows if form)),
            "anodes": numbers.pop() if len(numbers) == 1 else None,
        }
    return found


def whole(value: float | None, decimals: int) -> float | int | None:
    """A count as a whole number, for 7 species are not 7.0; anything else as it is."""
    return int(value) if value is not None and decimals == 0 and float(value).is_integer() else value


def measure_cells(result: VisitResult | None, figures: Figures) -> dict[str, Any]:
    """The measures with their reasons, and what the index score is called."""
    missing = NOT_COMPUTED if result is None else ""
    cells: dict[str, Any] = {
        "index_rating": figures.rating,
        "index_method": result.index_method if result else "",
        "index_version": result.index_version if result else "",
        "visit_revision": result.visit_revision if result else None,
        "code_version": result.code_version if result else "",
        "computed_at": result.computed_at if result else None,
    }
    for measure in MEASURES:
        value = figures.values.get(measure.key)
        cells[measure.key] = whole(value, measure.decimals)
        cells[f"{measure.key}_reason"] = (
            "" if value is not None else figures.reasons.get(measure.key, missing)
        )
    return cells


def _row(visit: Visit, figures: Figures, *, public: bool) -> dict[str, Any]:
    result: VisitResult | None = getattr(visit, "result", None)
    row = place_cells(visit) | measure_cells(result, figures)
    if result is None:
        return row
    row["passes"] = result.detail.get("passes")
    if figures.metrics:
        row |= _metric_cells(result.index_method, figures.metrics)
    if not public:
        made = result.detail["indicators"]
        row["index_score_published"] = result.listed_score
        row |= {"shannon_nats": made["shannon"], "simpson": made["simpson"], "evenness": made["evenness"]}
        row |= {f"removal_{name}": made["removal_total"][name] for name, _, _ in REMOVAL}
    return row


def _metric_cells(code: str, metrics: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    cells: dict[str, Any] = {}
    for metric, one in metrics.items():
        cells[_metric_heading(code, metric, one["unit"])] = one["value"]
        cells[f"{code}.{metric}.points"] = one["points"]
        cells[f"{code}.{metric}.reason"] = one["reason"]
    return cells
