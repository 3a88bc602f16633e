"""Vouchers of a visit: added once, confirmed by somebody, and, where the name was another, the catch put right.

Confirming never touches the catch. Putting the catch right is a step of its own, by a person, after which the
visit waits for the reviewer; the earlier state with the earlier name stays in its history.
"""

import datetime
import uuid
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import pghistory
from django.db import connection, transaction
from django.utils import translation

from surveys.models import Catch, Taxon, Visit, VisitStatus, VisitStep, Voucher, VoucherKind
from surveys.pictures import PHOTO_TYPE, plain_picture
from surveys.said import said
from surveys.season import SeasonLocked, refuse_closed
from surveys.signals import visits_changed

MOST_PER_VISIT = 200
# What is added up where a pass holds both names; what is not known of one part is not known of the sum.
_ADDED = (
    "young_of_year",
    "anomalies",
    "biomass_g",
    "released",
    "died",
    "kept",
    "in_main",
    "in_eel_well",
    "in_other",
)


class VoucherRefused(Exception):  # noqa: N818 - an answer to the person
    """What cannot be done with a voucher as things stand; the message says how to go on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewVoucher:
    """A voucher as a person describes it. ``photo``: the file as it came, or nothing."""

    taxon: Taxon
    number: str = ""
    kind: str = VoucherKind.PHOTOGRAPH
    remark: str = ""
    photo: bytes | None = None


def add_voucher(
    visit: Visit, given: NewVoucher, *, by: Any, device_key: uuid.UUID | None = None
) -> tuple[Voucher, bool]:
    """Keep a voucher, and say whether it is new: under the key of a device it is kept once, however often sent.

    Raises
    ------
    NotAPicture : the photograph is none, or too large
    VoucherRefused : the season is closed, it was taken out at the desk, or the visit holds more vouchers than
        anybody looks through
    """
    # Done before anything is locked: it takes the longest.
    photo = plain_picture(given.photo) if given.photo else None
    with transaction.atomic(), pghistory.context(entry="device" if device_key else "desk"):
        if device_key is not None:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [device_key.int % 2**63])
            held = Voucher.objects.defer("photo").filter(device_key=device_key).first()
            if held is not None:
                return held, False
            _refuse_taken_out(device_key)
        _refuse_closed(visit)
        if Voucher.objects.filter(visit=visit).count() >= MOST_PER_VISIT:
            raise VoucherRefused(
                said("This visit has {n} vouchers already; no more are kept.", n=MOST_PER_VISIT)
            )
        voucher = Voucher.objects.create(
            visit=visit,
            taxon=given.taxon,
            number=given.number,
            kind=given.kind,
            remark=given.remark,
            photo=photo,
            photo_type=PHOTO_TYPE if photo else "",
            device_key=device_key,
            added_by=by,
        )
    return voucher, True


def confirm_voucher(voucher_id: int, taxon: Taxon, *, who: str, on: datetime.date | None) -> Voucher:
    """Write down who looked at a voucher, when, and as what it was confirmed. The catch is left as it is."""
    who = who.strip()
    if not who:
        raise VoucherRefused(said("Say who confirmed the name."))
    with transaction.atomic(), pghistory.context(entry="voucher"):
        voucher = (
            Voucher.objects.select_for_update(of=("self",))
            .defer("photo")
            .select_related("visit__station", "taxon")
            .get(pk=voucher_id)
        )
        voucher.confirmed_as, voucher.confirmed_by, voucher.confirmed_on = taxon, who, on
        voucher.save(update_fields=["confirmed_as", "confirmed_by", "confirmed_on"])
    return voucher


def remove_voucher(voucher_id: int, *, reason: str) -> str:
    """Take out a voucher that was added by mistake; it stays in the history with the reason. Gives its name.

    Raises
    ------
    VoucherRefused : no reason, or the season is closed
    """
    reason = reason.strip()
    if not reason:
        raise VoucherRefused(said("Say why the voucher is taken out."))
    with transaction.atomic(), pghistory.context(entry="voucher", reason=reason):
        voucher = (
            Voucher.objects.select_for_update(of=("self",))
            .defer("photo")
            .select_related("visit__station")
            .get(pk=voucher_id)
        )
        _refuse_closed(voucher.visit)
        name = str(voucher)
        voucher.delete()
    return name


def catch_under_old_name(voucher: Voucher) -> list[Catch]:
    """The lines of the visit that still bear the name the voucher was not confirmed as."""
    if voucher.confirmed_as_id is None or voucher.confirmed_as_id == voucher.taxon_id:
        return []
    lines = Catch.objects.filter(removal_pass__visit=voucher.visit_id, taxon=voucher.taxon_id)
    return list(lines.select_related("removal_pass").order_by("removal_pass__pass_number"))


def correct_catch(voucher_id: int, passes: Collection[int], *, revision: int, by: Any) -> Visit:
    """Give the fish of whole lines the name the voucher was confirmed as. The visit waits for the reviewer.

    Parameters
    ----------
    passes : numbers of the passes whose line is meant, all fish of it
    revision : the revision of the visit the person looked at
    by : the person, who then counts as the one who entered it, so that another one accepts it

    Raises
    ------
    VoucherRefused : nothing to put right, another revision by now, a withdrawn visit or a closed season
    """
    with transaction.atomic(), pghistory.context(entry="voucher"):
        voucher = Voucher.objects.defer("photo").select_related("taxon", "confirmed_as").get(pk=voucher_id)
        visit = (
            Visit.objects.select_for_update(of=("self",)).select_related("station").get(pk=voucher.visit_id)
        )
        lines = [one for one in catch_under_old_name(voucher) if one.removal_pass.pass_number in passes]
        right = voucher.confirmed_as
        if right is None or not lines:
            raise VoucherRefused(said("Choose at least one pass that still has fish under the old name."))
        if visit.revision != revision:
            raise VoucherRefused(said("The visit was changed meanwhile. Look at it again."))
        if visit.status == VisitStatus.WITHDRAWN:
            raise VoucherRefused(
                said("{visit} is withdrawn. Take it back to draft on the review page first.", visit=visit)
            )
        _refuse_closed(visit)
        for line in lines:
            _rename(line, right)
        counted = visit.is_accepted
        again = visit.status in (VisitStatus.ACCEPTED, VisitStatus.SUBMITTED)
        visit.status = VisitStatus.SUBMITTED if again else visit.status
        visit.entered_by = by if again else visit.entered_by
        visit.revision += 1
        visit.save()
        VisitStep.objects.create(visit=visit, status=visit.status, by=by, remark=_words(voucher, lines))
        if counted:
            visits_changed.send(sender=Visit, station_ids={visit.station_id})
    return visit


def _words(voucher: Voucher, lines: list[Catch]) -> str:
    # Kept with the visit, so in English whoever put the catch right in which language.
    with translation.override("en"):
        name = str(voucher)
    return said(
        "{old} became {new} in pass {passes}, after voucher {voucher} was confirmed by {person}.",
        old=voucher.taxon.scientific_name,
        new=voucher.confirmed_as.scientific_name,  # type: ignore[union-attr]
        passes=", ".join(str(one.removal_pass.pass_number) for one in lines),
        voucher=name,
        person=voucher.confirmed_by,
    )


def _rename(line: Catch, right: Taxon) -> None:
    other = Catch.objects.filter(removal_pass=line.removal_pass_id, taxon=right).first()
    if other is None:
        Catch.objects.filter(pk=line.pk).update(taxon=right)
        return
    if line.weighed is not None or other.weighed is not None:
        # Where only one was weighed in part, all fish of the other stand in its weight.
        other.weighed = (other.weighed or other.count) + (line.weighed or line.count)
    other.count += line.count
    for name in _ADDED:
        one, two = getattr(other, name), getattr(line, name)
        setattr(other, name, None if one is None or two is None else one + two)
    # Two weighings are no single one: their sum is the batch weight, and the parts stay in the history.
    other.gross_g = other.tare_g = None
    other.weighed = None if other.biomass_g is None else other.weighed
    other.estimated |= line.estimated
    other.unsure |= line.unsure
    line.delete()
    other.save()


def _refuse_taken_out(device_key: uuid.UUID) -> None:
    """A device that never heard that its voucher was taken sends it again; by then it may be gone for a reason."""
    of_voucher: Any = Voucher
    if (
        of_voucher.pgh_event_models["before_delete"]
        .objects.filter(pgh_label="before_delete", device_key=device_key)
        .exists()
    ):
        raise VoucherRefused(said("This voucher was taken out at the desk meanwhile; its history tells why."))


def _refuse_closed(visit: Visit) -> None:
    try:
        refuse_closed([visit.visit_date])
    except SeasonLocked as refused:
        raise VoucherRefused(str(refused)) from refused
