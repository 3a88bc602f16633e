"""Checks of a season file against what was done and caught at the same station before. Pure code.

The limits are those in force: see ``surveys.rules``.
"""

import datetime
import statistics
from collections.abc import Sequence

import numpy as np

from surveys.rules import Rules
from surveys.said import marked, said
from surveys.uploads.findings import ERROR, NOTE, WARNING, Finding
from surveys.uploads.grouping import Grouped
from surveys.uploads.known import DEFAULT_REACH_M, Known, KnownStation
from surveys.uploads.values import fold


def check_against_earlier(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    """Season, usual day, reach, width and method of each visit; taxa and counts of each row."""
    methods = rows.visit_values("method")
    reaches = rows.visit_values("reach_length_m")
    widths = rows.visit_values("mean_width_m")
    for visit in range(rows.visit_count):
        station = known.stations.get(fold(rows.station(visit)))
        if station is None:
            continue
        line = rows.line(int(rows.first_row_of_visit[visit]))
        _season(rows, visit, line, station, known, methods[visit], findings)
        _differs(line, "reach_length_m", reaches[visit], station.reach_length_m, known.rules, findings)
        if reaches[visit] is None and station.reach_length_m is None:
            findings.append(_reach_assumed(line, station))
        _differs(line, "mean_width_m", widths[visit], station.mean_width_m, known.rules, findings)
    _taxa(rows, known, findings)


def _reach_assumed(line: int, station: KnownStation) -> Finding:
    return Finding(
        level=NOTE,
        code="reach_assumed",
        row=line,
        column="reach_length_m",
        message=said(
            "Neither the file nor {written} gives a reach length; {length} m is taken.",
            written=station.code,
            length=f"{DEFAULT_REACH_M:g}",
        ),
        remedy=marked("Give the length that was fished, if it was another."),
    )


def usual_day(dates: Sequence[datetime.date], rules: Rules | None = None) -> int | None:
    """The middle day of the year of earlier visits, or None: too few, or spread over the year.

    Stations visited in several seasons have no usual day.
    """
    rules = rules or Rules()
    days = sorted(day.timetuple().tm_yday for day in dates)
    if len(days) < rules.limit("unusual_day", "visits"):
        return None
    low, _, high = statistics.quantiles(days, n=4, method="inclusive")
    return round(statistics.median(days)) if high - low <= rules.limit("unusual_day", "spread") else None


def _season(
    rows: Grouped,
    visit: int,
    line: int,
    station: KnownStation,
    known: Known,
    code: str | None,
    findings: list[Finding],
) -> None:
    day = rows.date(visit)
    method = known.method_for(station, code)
    if method is None:
        findings.append(
            Finding(
                level=ERROR,
                code="no_method",
                row=line,
                column="method",
                message=said(
                    "Neither the file nor {written} names a sampling method; there is no default.",
                    written=station.code,
                ),
                remedy=marked("Name a method in the column method, or have one made the default."),
            )
        )
    elif not method.in_season(day):
        findings.append(
            Finding(
                level=WARNING,
                code="out_of_season",
                row=line,
                column="visit_date",
                value=str(day),
                message=said(
                    "{day} is outside the season of {written} ({first} to {last}); the visit will not stand for "
                    "its year.",
                    day=day,
                    written=method.code,
                    first=method.season_starts,
                    last=method.season_ends,
                ),
                remedy=marked(
                    "Check the date and the method; keep it if the visit was made in another season."
                ),
            )
        )
    earlier = [other for other in station.earlier_dates if other != day]
    usual = usual_day(earlier, known.rules)
    if usual is not None:
        apart = abs(day.timetuple().tm_yday - usual)
        apart = min(apart, 365 - apart)
        if apart > known.rules.limit("unusual_day", "days"):
            around = datetime.date(2001, 1, 1) + datetime.timedelta(days=usual - 1)
            findings.append(
                Finding(
                    level=WARNING,
                    code="unusual_day",
                    row=line,
                    column="visit_date",
                    value=str(day),
                    message=said(
                        "{written} is usually visited near {day} {month}, {number} days off.",
                        written=station.code,
                        day=f"{around:%d}",
                        month=f"{around:%B}",
                        number=apart,
                    ),
                    remedy=marked("Check day and month; keep it if the visit was early or late."),
                )
            )
    if code and station.last_method and code != station.last_method:
        findings.append(
            Finding(
                level=WARNING,
                code="method_differs",
                row=line,
                column="method",
                value=code,
                message=said(
                    "{written} was last visited by {written_2}, now by {written_3}.",
                    written=station.code,
                    written_2=station.last_method,
                    written_3=code,
                ),
                remedy=marked(
                    "Years sampled by different methods are not joined in one trend. Check the code."
                ),
            )
        )


def _differs(
    line: int, name: str, given: float | None, usual: float | None, rules: Rules, findings: list[Finding]
) -> None:
    percent = rules.limit(f"{name}_differs", "percent")
    if given is None or not usual or abs(given - usual) <= percent / 100 * usual + 1e-9:
        return
    findings.append(
        Finding(
            level=WARNING,
            code=f"{name}_differs",
            row=line,
            column=name,
            value=f"{given:g}",
            message=said(
                "{column} is {given}, the station's is {usual}: more than {percent}% apart.",
                column=name,
                given=f"{given:g}",
                usual=f"{usual:g}",
                percent=f"{percent:g}",
            ),
            remedy=marked("Check the measurement; keep it if that is what was fished."),
        )
    )


def _taxa(rows: Grouped, known: Known, findings: list[Finding]) -> None:
    """Taxa new to a station that has been visited before, and counts far above any earlier one."""
    station, taxon = rows.cells["station"], rows.cells["taxon"]
    times = known.rules.limit("unusual_count", "times")
    count = rows.cells["count"].numbers()
    width = max(len(taxon.values), 1)
    caught = np.flatnonzero(station.filled & taxon.filled & (count > 0))
    pairs = station.codes[caught] * width + taxon.codes[caught]
    distinct, first, inverse = np.unique(pairs, return_index=True, return_inverse=True)
    most_here = np.zeros(len(distinct))
    np.maximum.at(most_here, inverse, count[caught])
    for number, pair in enumerate(distinct):
        place = known.stations.get(fold(station.values[pair // width]))
        key = taxon.values[pair % width]
        # An unknown name has its own remark; whether it is new here can only be said once it is settled.
        unsettled = key[0] == "new" and not known.create_taxa
        if place is None or not place.earlier_dates or key[0] == "nobody" or unsettled:
            continue
        row = int(caught[first[number]])
        most = place.most.get(key[1]) if key[0] == "known" else None
        if most is None:
            name = known.taxon_names[key[1]] if key[0] == "known" else key[1]
            findings.append(
                Finding(
                    level=NOTE,
                    code="taxon_new_to_station",
                    row=rows.line(row),
                    column="taxon",
                    value=str(name),
                    message=said(
                        "{written} has not been caught at {written_2} before.",
                        written=name,
                        written_2=place.code,
                    ),
                    remedy=marked("Check the name against its look-alikes."),
                )
            )
        elif most_here[number] > times * most:
            for at in caught[(inverse == number) & (count[caught] > times * most)]:
                findings.append(
                    Finding(
                        level=WARNING,
                        code="unusual_count",
                        row=rows.line(int(at)),
                        column="count",
                        value=f"{count[at]:g}",
                        message=said(
                            "{count} is more than {times} times the largest count of {written} in a pass at "
                            "{written_2} so far ({most}).",
                            count=f"{count[at]:g}",
                            times=f"{times:g}",
                            written=known.taxon_names[key[1]],
                            written_2=place.code,
                            most=most,
                        ),
                        remedy=marked("Check the count against the field sheet."),
                    )
                )
