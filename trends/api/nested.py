"""What stands inside the lists that some records hold, for the description of the interface."""

from typing import Any

from trends.exports.tables import Column
from trends.exports.trends import COLUMNS as TREND_COLUMNS


def _column(key: str, kind: Any, text: str, *, required: bool = False) -> Column:
    return Column(key=key, kind=kind, text=text, required=required)


def _period_columns() -> tuple[Column, ...]:
    """A further period is told in the same words as the latest: from its certainty to its sampling method."""
    keys = [column.key for column in TREND_COLUMNS]
    return TREND_COLUMNS[keys.index("certainty") : keys.index("sampling_method") + 1]


# By the column that holds the list; a list that is not here holds text.
ENTRIES: dict[str, tuple[Column, ...]] = {
    "withheld_species": (
        _column("scientific_name", "string", "Scientific name", required=True),
        _column("common_name", "string", "Common name", required=True),
    ),
    "metrics": (
        _column("metric", "string", "Key of the metric", required=True),
        _column("name", "string", "Name", required=True),
        _column("value", "number", "Value; null where none could be made"),
        _column("unit", "string", "Unit of the value", required=True),
        _column("points", "number", "Points earned; null where there are none"),
        _column("remark", "string", "Why there is no value or there are no points"),
    ),
    "years": (
        _column("year", "integer", "Calendar year", required=True),
        _column("value", "number", "Value of the year in the unit of the record; null where there is none"),
        _column("reason", "string", "Why there is no value"),
    ),
    "other_periods": _period_columns(),
}
