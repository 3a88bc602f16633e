"""What a device sends from the creek: taken exactly once under the device's own key, or laid beside what is
held already. Nothing that was sent is thrown away."""

import datetime
import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import connection, transaction

from surveys.entry.checking import Remark, check_sheet, place_words
from surveys.entry.saving import OPEN, NotSaved, save_sheet, start_visit, stored_sheet
from surveys.entry.sheet import Sheet, differences, sheet_from
from surveys.models import EntryReceipt, RemovalPass, SamplingMethod, Station, Taxon, Visit, VisitStatus
from surveys.said import marked, said
from surveys.uploads.findings import ERROR

TAKEN, SAME, CLASH = "taken", "same", "clash"
MOST_TEXTS = 5_000


class NotUnderstood(Exception):  # noqa: N818 - an answer to the device
    """A message that is not of the agreed shape."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """What became of a message. ``differs``: place, sent text, stored text, for a clash."""

    state: str
    visit: Visit
    receipt: EntryReceipt
    differs: tuple[tuple[str, str, str], ...] = ()


def receive(message: Mapping[str, Any], *, by: Any) -> Received:
    """Take one visit a device sent, whole or not at all.

    Parameters
    ----------
    message : ``key`` (made by the device), ``station``, ``visit_date``, ``method`` and ``texts`` (a sheet)

    Raises
    ------
    NotUnderstood : the message has another shape
    NotSaved : a hard rule is broken; the device keeps the visit for correction
    """
    key, texts = _read(message)
    sheet = sheet_from(texts)
    digest = hashlib.sha256(json.dumps(texts, sort_keys=True).encode()).hexdigest()
    with transaction.atomic():
        with connection.cursor() as cursor:
            # The same message may come twice at once; the second waits and finds the receipt.
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [key.int % 2**63])
        receipt = (
            EntryReceipt.objects.filter(pk=key).select_related("visit__station", "visit__method").first()
        )
        if receipt and receipt.digest == digest:
            return _answer(receipt, sheet, SAME)
        visit = receipt.visit if receipt else _visit(texts, sheet, by)
        receipt = receipt or EntryReceipt(key=key, visit=visit)
        takes = _may_take(receipt, visit)
        receipt.sent, receipt.digest, receipt.by = {"texts": texts, "station": texts["station"]}, digest, by
        if takes:
            saved = save_sheet(visit.pk, sheet, revision=visit.revision, by=by, origin="device")
            receipt.revision, receipt.waiting = saved.visit.revision, False
        else:
            receipt.waiting = bool(differences(sheet, stored_sheet(visit)))
        receipt.save()
    return _answer(receipt, sheet, TAKEN if takes else SAME)


def _read(message: Mapping[str, Any]) -> tuple[uuid.UUID, dict[str, str]]:
    try:
        key = uuid.UUID(str(message["key"]))
        texts = {str(name): str(text) for name, text in message["texts"].items()}
        texts |= {name: str(message[name]) for name in ("station", "visit_date", "method")}
    except (KeyError, ValueError, AttributeError, TypeError):
        raise NotUnderstood(marked("The message is not a visit.")) from None
    if len(texts) > MOST_TEXTS:
        raise NotUnderstood(marked("The message is too long for one visit."))
    return key, texts


def _visit(texts: dict[str, str], sheet: Sheet, by: Any) -> Visit:
    """The visit for the station and the day: held, or begun now if the sheet may be stored."""
    station = Station.objects.select_related("method").filter(code=texts["station"]).first()
    if station is None:
        raise NotSaved(
            [_refusal("station", said("There is no station {station} here.", station=texts["station"]))]
        )
    method = SamplingMethod.objects.filter(code=texts["method"]).first()
    if method is None:
        raise NotSaved(
            [_refusal("method", said("There is no method {method} here.", method=texts["method"]))]
        )
    try:
        day = datetime.date.fromisoformat(texts["visit_date"])
    except ValueError:
        raise NotSaved([_refusal("visit_date", marked("The day of the visit is not a date."))]) from None
    # Checked before the visit is begun, so that a future day is refused with the rest.
    checked = check_sheet(Visit(station=station, visit_date=day, method=method), sheet)
    if checked.errors:
        raise NotSaved(checked.remarks)
    visit, _ = start_visit(station, day, method, by=by)
    return visit


def _refusal(field: str, message: str) -> Remark:
    return Remark(
        level=ERROR,
        code=f"unknown_{field}",
        message=message,
        remedy=marked("Choose another on the device and send again."),
        field=field,
        place="",
    )


def _may_take(receipt: EntryReceipt, visit: Visit) -> bool:
    """Whether the sheet may be stored: nobody has typed anything for the visit but this device."""
    if visit.status not in OPEN or receipt.waiting:
        return False
    if receipt.revision is not None:
        return visit.revision == receipt.revision
    untouched = visit.revision == 1 and visit.status == VisitStatus.DRAFT and visit.upload_id is None
    return untouched and not RemovalPass.objects.filter(visit=visit).exists()


def _answer(receipt: EntryReceipt, sheet: Sheet, state: str) -> Received:
    if not receipt.waiting:
        return Received(state=state, visit=receipt.visit, receipt=receipt)
    stored = stored_sheet(receipt.visit)
    taxa = Taxon.objects.in_bulk([*sheet.taxa, *stored.taxa])
    return Received(
        state=CLASH,
        visit=receipt.visit,
        receipt=receipt,
        differs=tuple(
            (place_words(one.name, taxa), one.mine, one.stored) for one in differences(sheet, stored)
        ),
    )
