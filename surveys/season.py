"""Closing a season and opening it again. A closed season is locked: nothing of its visits is changed.

Whoever changes a visit asks ``refuse_closed`` inside the transaction; a lock of the database keeps a season
from being signed while a change is on its way.
"""

import datetime
from collections.abc import Iterable
from typing import Any

from django.db import connection, transaction
from django.utils import timezone

from surveys.models import SeasonClose, Visit, VisitStatus
from surveys.models.locked import SEASON_LOCK
from surveys.said import marked, said, said_n
from surveys.season_report import report_of

UNDECIDED = (VisitStatus.DRAFT, VisitStatus.SUBMITTED, VisitStatus.RETURNED)


class SeasonLocked(Exception):  # noqa: N818 - an answer to the person
    """Something of a closed season that is not changed; the message says how to go on."""


class NotClosed(Exception):  # noqa: N818 - an answer to the person
    """A season that cannot be closed or opened as things stand."""


def closed_years() -> frozenset[int]:
    """Years whose season is signed off and locked."""
    return frozenset(SeasonClose.objects.filter(reopened_at=None).values_list("year", flat=True))


def locked_sentence(year: int) -> str:
    return said(
        "The season {year} is closed and locked. A reviewer can open it again on the season page, with a reason.",
        year=year,
    )


def closed_among(days: Iterable[datetime.date | int]) -> list[int]:
    """Years of these days whose season is closed and locked, the earliest first."""
    return sorted({day if isinstance(day, int) else day.year for day in days} & closed_years())


def locked_words(years: list[int]) -> str:
    """What is closed, and how to go on, where one step reaches into several seasons; empty for none."""
    if len(years) < 2:
        return "".join(locked_sentence(year) for year in years)
    return said(
        "The seasons {years} and {last} are closed and locked. A reviewer can open each again on its season page, "
        "with a reason.",
        years=", ".join(str(year) for year in years[:-1]),
        last=years[-1],
    )


def hold_open() -> None:
    """Keep every season from being closed until the transaction ends."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock_shared(%s)", [SEASON_LOCK])


def refuse_closed(days: Iterable[datetime.date | int]) -> None:
    """Refuse a change to visits on these days, or in these years, if one lies in a closed season.

    Raises
    ------
    SeasonLocked
    """
    hold_open()
    if locked := closed_among(days):
        raise SeasonLocked(locked_words(locked))


def next_version(year: int) -> str:
    """The name a close of this year would get: ``2025``, then ``2025.2``, ``2025.3``."""
    number = SeasonClose.objects.filter(year=year).count() + 1
    return str(year) if number == 1 else f"{year}.{number}"


def close_season(year: int, *, by: Any, remark: str = "") -> SeasonClose:
    """Sign a season off: its report is kept as it stands and its visits are locked.

    Raises
    ------
    NotClosed : closed already, nothing to close, or visits that nobody has decided on
    """
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [SEASON_LOCK])
        if year in closed_years():
            raise NotClosed(said("The season {year} is closed already.", year=year))
        waiting = Visit.objects.filter(visit_date__year=year, status__in=UNDECIDED).count()
        if waiting:
            raise NotClosed(
                said_n(
                    "{n} visit is not decided on yet. Accept, or withdraw with a reason, what is still a draft, "
                    "waits or was returned; then close the season.",
                    "{n} visits are not decided on yet. Accept, or withdraw with a reason, what is still a draft, "
                    "waits or was returned; then close the season.",
                    waiting,
                )
            )
        report = report_of(year)
        if not report["rows"]:
            raise NotClosed(
                said("Nothing was planned or done in {year}, so there is no season to close.", year=year)
            )
        return SeasonClose.objects.create(
            year=year, version=next_version(year), signed_by=by, remark=remark.strip(), report=report
        )


def reopen_season(year: int, *, by: Any, reason: str) -> SeasonClose:
    """Unlock a closed season. The report that was signed stays, with who opened it and why.

    Raises
    ------
    NotClosed : it is not closed, or no reason is given
    """
    reason = reason.strip()
    if not reason:
        raise NotClosed(said("Say why the season is opened again; the reason is kept with its report."))
    with transaction.atomic():
        close = SeasonClose.objects.select_for_update().filter(year=year, reopened_at=None).first()
        if close is None:
            raise NotClosed(said("The season {year} is not closed.", year=year))
        close.reopened_by, close.reopened_at, close.reopened_why = by, timezone.now(), reason
        close.save(update_fields=["reopened_by", "reopened_at", "reopened_why"])
    return close


def changes_since(close: SeasonClose, report: dict[str, Any]) -> list[str]:
    """What differs between a report that was signed and one made now or signed later, in words."""
    old = {(v["station"], v["date"]): v for v in close.report.get("visits", [])}
    new = {(v["station"], v["date"]): v for v in report.get("visits", [])}
    found = []
    for key in sorted(old.keys() | new.keys()):
        place = {"station": key[0], "day": key[1]}
        if key not in new:
            found.append(said("{station} on {day}: no longer counted", **place))
        elif key not in old:
            found.append(said("{station} on {day}: added", **place))
        elif old[key]["revision"] != new[key]["revision"]:
            before, now = old[key], new[key]
            pattern = (
                marked("{station} on {day}: corrected (revision {old} to {new})")
                if before["fish"] == now["fish"]
                else marked(
                    "{station} on {day}: corrected (revision {old} to {new}, {fish} fish before, {fish_now} now)"
                )
            )
            values = {"fish": before["fish"], "fish_now": now["fish"]}
            found.append(said(pattern, old=before["revision"], new=now["revision"], **place, **values))
    return found
