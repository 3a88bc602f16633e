"""One row for each trend result: place, measure, certainty, years, slope with limits, test, method."""

import datetime
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from trends.cautions import told_to_public
from trends.exports.tables import Column
from trends.exports.visits import STANDING, whole
from trends.measures import BY_KEY, INDEX, INDEX_ALL_FISH
from trends.method_standing import Standings
from trends.models import TrendResult
from trends.outcomes import Outcome, Period, from_plain
from trends.public_figures import KEPT_BACK, guarded_watersheds
from trends.wording import verdict_word

CERTAINTY_WORDS = (
    "very_likely: confidence in the direction 0.95 or more; likely: 0.85 to 0.95; leaning: 0.70 to 0.85; "
    "unclear: less; steady: the whole interval of the slope lies inside a band fixed beforehand; disagree: "
    "the stations move in different directions; not_assessed: too few comparable years; withheld: not told, by "
    "rule, where a species lives whose places are withheld"
)

# Each row has the measure's own unit in its `unit` column.
PER_YEAR, AS_MEASURE = "as the unit column says, per year", "as the unit column says"

COLUMNS = (
    Column(key="scope", kind="string", text="station, or watershed for all its stations", required=True),
    Column(key="watershed", kind="string", text="Watershed, as in its address", required=True),
    Column(key="watershed_name", kind="string", text="Watershed name"),
    Column(key="station", kind="string", text="Station code; empty for a watershed"),
    Column(key="station_name", kind="string", text="Station name"),
    Column(key="measure", kind="string", text="What is followed over the years", required=True),
    Column(key="measure_name", kind="string", text="The measure in words"),
    Column(key="unit", kind="string", text="Unit of the values; slopes are in this unit per year"),
    Column(key="certainty", kind="string", text=CERTAINTY_WORDS, required=True),
    Column(key="direction", kind="string", text="up, down, or none"),
    Column(key="verdict", kind="string", text="The verdict in words"),
    Column(key="reason", kind="string", text="Why there is no verdict"),
    Column(key="first_year", kind="integer", text="First comparable year used"),
    Column(key="last_year", kind="integer", text="Last comparable year used"),
    Column(key="n_years", kind="integer", text="Different years with a value"),
    Column(key="n_values", kind="integer", text="Station-years that went in"),
    Column(key="n_stations", kind="integer", text="Stations that went in"),
    Column(
        key="slope_per_year",
        kind="number",
        text="Median change per year (Sen)",
        unit=PER_YEAR,
    ),
    Column(
        key="slope_lower_per_year",
        kind="number",
        text="Lower limit of the slope; empty where it is infinite",
        unit=PER_YEAR,
    ),
    Column(
        key="slope_upper_per_year",
        kind="number",
        text="Upper limit of the slope; empty where it is infinite",
        unit=PER_YEAR,
    ),
    Column(key="confidence", kind="number", text="Confidence of the limits", unit="part of 1"),
    Column(key="limits_method", kind="string", text="How the limits were made"),
    Column(key="intercept", kind="number", text="Value of the line at year 0, by medians", unit=AS_MEASURE),
    Column(key="s", kind="number", text="Kendall's S", unit="1"),
    Column(key="z", kind="number", text="Normal score of S with continuity correction", unit="1"),
    Column(key="tau", kind="number", text="Kendall's tau-b", unit="1"),
    Column(key="p_value", kind="number", text="Two-sided p", unit="1"),
    Column(key="direction_confidence", kind="number", text="1 - p/2", unit="1"),
    Column(key="heterogeneity_p", kind="number", text="p of the test whether stations agree", unit="1"),
    Column(key="test", kind="string", text="The test that was made"),
    Column(key="sampling_method", kind="string", text="Code of the sampling method of these years"),
    Column(key="index_method", kind="string", text="Code of the index method, for the index score"),
    Column(key="index_version", kind="string", text="Version of the index method"),
    Column(key="index_standing", kind="string", text=STANDING),
    Column(key="latest_year", kind="integer", text="Latest year with a value"),
    Column(key="latest_value", kind="number", text="Value of the latest year", unit=AS_MEASURE),
    Column(key="cautions", kind="string", text="Codes of the cautions that go with the result"),
    Column(key="code_version", kind="string", text="Version of the calculations"),
    Column(key="computed_at", kind="datetime", text="When the numbers were made"),
    Column(key="made_from", kind="string", text="SHA-256 of everything that went in"),
)
# Lists that only JSON can hold.
NESTED_COLUMNS = (
    Column(key="years", kind="array", text="Value of each year, or why there is none"),
    Column(
        key="other_periods",
        kind="array",
        text="Periods of other sampling methods, earlier or beside this one",
    ),
    Column(key="caution_texts", kind="array", text="The cautions in words"),
)


# What stands in the place of a result that is kept back. Even the hash of it is left out: it could be tried
# with each number that might be hidden.
WITHHELD = "withheld"
KEPT_BACK_CELLS = {
    "certainty": WITHHELD,
    "direction": "none",
    "verdict": "not published",
    "reason": KEPT_BACK,
}


def trend_results(*, public: bool) -> Any:
    """All results with their places, watersheds before their stations; the index of all fish is not public."""
    results = TrendResult.objects.select_related("watershed", "station")
    if public:
        results = results.exclude(measure=INDEX_ALL_FISH.key)
    return results.order_by("watershed__slug", "station__code", "measure")


def trend_rows(
    results: Iterable[TrendResult] | None = None,
    *,
    public: bool = False,
    guarded: frozenset[int] | None = None,
) -> Iterator[dict[str, Any]]:
    """Rows of results, nested lists included.

    With ``public`` words and numbers are those of the public pages: a mere leaning counts as unclear,
    and in guarded watersheds nothing is told of counts but that it is kept back. A slope or an S made from
    all fish, laid beside the fish that are listed, would point to the station.
    """
    if public and guarded is None:
        guarded = guarded_watersheds()
    standings = Standings()
    source = trend_results(public=public).iterator(chunk_size=500) if results is None else results
    for result in source:
        kept_back = public and result.watershed_id in (guarded or ()) and result.measure != INDEX.key
        row = _row(result, public=public, kept_back=kept_back)
        yield row | {"index_standing": standings.behind(_short(result.outcome))}


def _short(outcome: dict[str, Any]) -> Outcome:
    """The outcome without its long lists."""
    made: Outcome = from_plain(Outcome, {**outcome, "series": [], "middle": [], "cautions": []})
    return made


def _row(result: TrendResult, *, public: bool, kept_back: bool) -> dict[str, Any]:
    """A row out of the stored outcome; its long lists are copied as they are, which is much quicker."""
    measure = BY_KEY[result.measure]
    outcome = result.outcome
    today = datetime.date.today()
    cautions = [
        c for c in outcome["cautions"] if not public or told_to_public(c["code"], c["numbers"], today)
    ]
    short = _short(outcome)
    period = short.current
    station = result.station
    row: dict[str, Any] = {
        "scope": outcome["scope"],
        "watershed": result.watershed.slug,
        "watershed_name": result.watershed.name,
        "station": station.code if station else None,
        "station_name": station.name if station else None,
        "measure": measure.key,
        "measure_name": measure.name,
        "unit": measure.unit,
        "index_method": outcome["index_method"],
        "index_version": outcome["index_version"],
        "code_version": result.code_version,
    }
    if not kept_back:
        # A result is made anew where it changed, so its hour would tell where the fish that is not listed is met.
        row |= {
            "computed_at": result.computed_at,
            "latest_year": outcome["latest_year"],
            "latest_value": whole(outcome["latest_value"], measure.decimals),
            "cautions": "; ".join(c["code"] for c in cautions),
            "made_from": result.made_from,
        }
    row |= KEPT_BACK_CELLS if kept_back else _period_cells(period, public=public)
    # Of a visited year not even the reason is told: it could be that of the one fish that is not listed.
    visited = {y["year"] for s in outcome["series"] for y in s["years"] if y["visits"]} if kept_back else ()
    row["years"] = [
        {
            "year": one["year"],
            "value": None if kept_back else one["value"],
            "reason": KEPT_BACK if one["year"] in visited else one["reason"],
        }
        for one in outcome["middle"]
    ]
    others = [p for p in short.periods if p is not period and not kept_back]
    row["other_periods"] = [_period_cells(p, public=public) for p in others]
    row["caution_texts"] = [c["public" if public else "staff"] for c in cautions if not kept_back]
    return row


def _period_cells(period: Period | None, *, public: bool) -> dict[str, Any]:
    if period is None:
        return {
            "certainty": "not_assessed",
            "direction": "none",
            "verdict": verdict_word(None, staff=not public),
            "reason": "no comparable year with a value",
            "n_years": 0,
            "n_values": 0,
            "n_stations": 0,
        }
    leaning = public and period.certainty == "leaning"
    tested = period.slope is not None
    return {
        "certainty": "unclear" if leaning else period.certainty,
        "direction": "none" if leaning else period.direction,
        "verdict": verdict_word(period, staff=not public),
        "reason": period.reason,
        "first_year": period.first_year,
        "last_year": period.last_year,
        "n_years": period.n,
        "n_values": period.n_values,
        "n_stations": len(period.stations),
        "slope_per_year": period.slope,
        "slope_lower_per_year": period.lower,
        "slope_upper_per_year": period.upper,
        "confidence": period.confidence if tested else None,
        "limits_method": period.limits,
        "intercept": period.intercept,
        "s": period.s,
        "z": period.z,
        "tau": period.tau,
        "p_value": period.p_value,
        "direction_confidence": period.direction_confidence,
        "heterogeneity_p": period.heterogeneity_p,
        "test": period.test,
        "sampling_method": period.method,
    }


def plain_value(value: Any) -> Any:
    """Dates as ISO 8601 text; everything else as JSON knows it."""
    return value.isoformat() if hasattr(value, "isoformat") else value


def write_trends_json(path: Path, rows: Iterable[dict[str, Any]]) -> int:
    """Write all results as one JSON document with the meaning and unit of each field."""
    columns = [*COLUMNS, *NESTED_COLUMNS]
    trends = [{c.key: plain_value(row.get(c.key)) for c in columns} for row in rows]
    document = {"fields": [c.table_field() for c in columns], "trends": trends}
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("w", encoding="utf-8") as target:
            json.dump(document, target, ensure_ascii=False, indent=1, allow_nan=False)
            target.write("\n")
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return len(trends)
