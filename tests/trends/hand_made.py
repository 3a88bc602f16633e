"""Outcomes made by hand, one of each kind, for the tests of words and pictures. All numbers invented."""

from dataclasses import replace
from typing import Any

from trends.outcomes import Caution, Outcome, Period, StationSeries, YearValue

RATINGS = (("very poor", 1.0, 2.0), ("poor", 2.0, 3.0), ("fair", 3.0, 4.0), ("good", 4.0, 5.0))
YEARS = tuple(range(2006, 2018))


def period(**changes: Any) -> Period:
    base = Period(
        method="EF2",
        method_name="Two-pass removal",
        first_year=2006,
        last_year=2017,
        n=11,
        n_values=22,
        stations=("ALD-01", "ALD-02"),
        certainty="very_likely",
        direction="up",
        good=True,
        test="Regional Kendall, corrected for correlation between stations",
        s=61.0,
        z=2.9,
        p_value=0.0037,
        direction_confidence=0.998,
        slope=0.04,
        intercept=-77.5,
        lower=0.01,
        upper=0.07,
        limits="interpolated",
        years_needed=18,
        years_needed_for=0.5,
    )
    return replace(base, **changes)


def series(station: str, values: dict[int, float | None], *, method_from: int | None = None) -> StationSeries:
    """Years without a value stay in the series, with a reason."""
    rows = []
    for year in YEARS:
        value = values.get(year)
        method = "EF1" if method_from is not None and year < method_from else "EF2"
        if value is None:
            rows.append(YearValue(year=year, value=None, reason="high water all summer"))
        else:
            rows.append(YearValue(year=year, value=value, visits=(year,), method=method))
    return StationSeries(station=station, name=f"Station {station}", years=tuple(rows))


def rising(start: float) -> dict[int, float | None]:
    return {year: round(start + 0.04 * i, 2) for i, year in enumerate(YEARS) if year != 2012}


def outcome(*periods: Period, **changes: Any) -> Outcome:
    """A watershed of two stations, 2006 to 2017, nobody out in 2012."""
    method_from = changes.get("breaks", (None,))[0]
    rows = (
        series("ALD-01", rising(2.5), method_from=method_from),
        series("ALD-02", rising(3.1), method_from=method_from),
    )
    middle = series("middle", rising(2.8), method_from=method_from).years
    base = Outcome(
        measure="index_score",
        scope="watershed",
        place="alder-run",
        place_name="Alder Run",
        series=rows,
        middle=middle,
        periods=periods,
        cautions=(
            Caution(code="C08", level="warn", staff="Reach longer.", public="A longer stretch in 2009."),
            Caution(code="C15", level="note", staff="One visit unscored.", public="One visit has no score."),
            Caution(code="C06", level="stop", staff="Method changed.", public="The way of sampling changed."),
        ),
        latest_year=2017,
        latest_value=3.24,
        latest_rating="fair",
        latest_stations=2,
        index_method="maryland_fish_2005",
        scale=(1.0, 5.0),
        ratings=RATINGS,
        gaps=((2012, "high water all summer"),),
    )
    return replace(base, **changes)


NONE = {"direction": "none", "good": None}

KINDS: dict[str, Outcome] = {
    "very likely better": outcome(period()),
    "likely worse": outcome(
        period(certainty="likely", direction="down", good=False, slope=-0.04, lower=-0.09, upper=0.01)
    ),
    "leaning": outcome(period(certainty="leaning", direction_confidence=0.78)),
    "unclear": outcome(period(certainty="unclear", **NONE, smallest_change_per_decade=0.33)),
    "steady": outcome(period(certainty="steady", **NONE, slope=0.0, lower=-0.01, upper=0.01)),
    "disagree": outcome(
        period(certainty="disagree", **NONE, stations_up=("ALD-01",), stations_down=("ALD-02", "ALD-03"))
    ),
    "too few": outcome(
        period(
            certainty="not_assessed",
            **NONE,
            n=3,
            last_year=2008,
            slope=None,
            lower=None,
            upper=None,
            p_value=None,
            reason="3 comparable years; at least 5 are needed before a direction is named",
        )
    ),
    "split by method": outcome(
        period(method="EF1", method_name="Single pass", certainty="unclear", **NONE, last_year=2011, n=6),
        period(first_year=2013, n=5, certainty="likely", direction="down", good=False, slope=-0.06,
               lower=-0.1, upper=-0.01, intercept=123.8),
        breaks=(2013,),
    ),
    "no limits": outcome(period(lower=None, upper=None)),
    "nothing": outcome(series=(), middle=(), gaps=(), latest_year=None, latest_value=None, latest_rating=""),
    "neutral rising": outcome(
        period(good=None, slope=3.0, lower=1.0, upper=5.5, intercept=-5990.0),
        measure="total_catch", scale=None, ratings=(), latest_rating="", latest_value=61.5,
    ),
    "share that should fall": outcome(
        period(direction="down", good=True, slope=-0.5, lower=-0.9, upper=-0.1, intercept=1012.0),
        measure="tolerant_share_pct", scale=(0.0, 100.0), ratings=(), latest_rating="", latest_value=41.25,
    ),
}  # fmt: skip
