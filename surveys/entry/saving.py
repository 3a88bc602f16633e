"""Starting a visit by hand, saving its sheet, handing it in. One transaction each, all of it or none."""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pghistory
from django.db import transaction

from surveys.entry.checking import CheckedSheet, Remark, check_sheet, closed_season
from surveys.entry.sheet import CELL_FIELDS, Sheet, keep_unasked, parts_of, sheet_from, written
from surveys.models import (
    Catch,
    RemovalPass,
    SamplingMethod,
    Station,
    Visit,
    VisitQuestion,
    VisitStatus,
    VisitStep,
)
from surveys.review import StepRefused, submit_visit, withdraw_visit
from surveys.said import marked, said
from surveys.season import SeasonLocked, refuse_closed
from surveys.uploads.column import PASS, ROW, VISIT
from surveys.uploads.field_columns import FIELD_COLUMNS
from surveys.uploads.findings import ERROR

# While a visit waits for the reviewer, or counts, it is not changed by hand: it has to come back first.
OPEN = (VisitStatus.DRAFT, VisitStatus.RETURNED)

_MEASURED = (
    "reach_length_m",
    "mean_width_m",
    "water_temp_c",
    "conductivity_us_cm",
    "dissolved_oxygen_mg_l",
    "ph",
    "turbidity_ntu",
    "discharge_m3_s",
)
_WORDS = ("stop_nets", "crew_lead", "notes")
_OF = {scope: [one for one in FIELD_COLUMNS if one.scope == scope] for scope in (VISIT, PASS, ROW)}
_BLANK_CELLS = dict.fromkeys(CELL_FIELDS) | {one.name: one.blank for one in _OF[ROW]}


class NotSaved(Exception):  # noqa: N818 - an answer to the person
    """A sheet that was not stored; carries the remarks that say why."""

    def __init__(self, remarks: Sequence[Remark]) -> None:
        super().__init__("; ".join(remark.message for remark in remarks))
        self.remarks = tuple(remarks)


class Clash(Exception):  # noqa: N818 - an answer to the person
    """Somebody else saved the visit meanwhile; nothing was stored."""

    def __init__(self, visit: Visit) -> None:
        super().__init__(said("{visit} was saved by somebody else meanwhile.", visit=visit))
        self.visit = visit


class NotOpen(Exception):  # noqa: N818 - an answer to the person
    """The visit is not a draft and was not returned, so it is not changed by hand."""

    def __init__(self, visit: Visit) -> None:
        super().__init__(
            said(
                "{visit} is {status} and cannot be changed here. Ask the reviewer to return it first.",
                visit=visit,
                status=visit.status,
            )
        )
        self.visit = visit


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    visit: Visit
    checked: CheckedSheet
    changed: bool


def start_visit(
    station: Station, day: datetime.date, method: SamplingMethod, *, by: Any
) -> tuple[Visit, bool]:
    """The draft for a station and a day, and whether it is new. The station's fixed reach comes along.

    Raises
    ------
    NotSaved : the season of that day is closed
    """
    with transaction.atomic(), pghistory.context(entry="begun"):
        _refuse_closed(day)
        visit, made = Visit.objects.get_or_create(
            station=station,
            visit_date=day,
            defaults={"method": method, "reach_length_m": station.reach_length_m, "entered_by": by},
        )
        if made:
            VisitStep.objects.create(
                visit=visit, status=VisitStatus.DRAFT, by=by, remark=marked("begun by hand")
            )
    return visit, made


def stored_sheet(visit: Visit) -> Sheet:
    """What is stored, as it would be typed. Two queries."""
    given: dict[str, str] = {name: written(getattr(visit, name)) for name in (*_MEASURED, *_WORDS)}
    given |= {one.name: written(getattr(visit, one.stored_as)) for one in _OF[VISIT]}
    given["visit_date"] = str(visit.visit_date)
    given["method"] = visit.method.code
    passes = list(RemovalPass.objects.filter(visit=visit).order_by("pass_number"))
    numbers = {one.pk: one.pass_number for one in passes}
    catches = list(Catch.objects.filter(removal_pass__in=numbers).select_related("taxon"))
    with_fish = {one.removal_pass_id for one in catches}
    for one in passes:
        given[f"effort_s-{one.pass_number}"] = written(one.effort_s)
        given[f"pass_biomass_g-{one.pass_number}"] = written(one.biomass_g)
        given |= {
            f"{word.name}-{one.pass_number}": written(getattr(one, word.stored_as)) for word in _OF[PASS]
        }
        if one.pk not in with_fish:
            given[f"no_fish-{one.pass_number}"] = "1"
    for caught in sorted(catches, key=lambda c: c.taxon.scientific_name):
        place = f"{numbers[caught.removal_pass_id]}-{caught.taxon_id}"
        given |= {f"{name}-{place}": written(getattr(caught, name)) for name in CELL_FIELDS}
    return sheet_from(given, passes=max([1, *numbers.values()]))


def save_sheet(
    visit_id: int,
    sheet: Sheet,
    *,
    revision: int,
    by: Any,
    origin: str = "desk",
    approve: Callable[[CheckedSheet], None] | None = None,
) -> Saved:
    """Bring a visit to what the sheet says, touching only the rows that differ.

    Parameters
    ----------
    revision : the revision the person began from
    origin : where the sheet was typed, for the history
    approve : looks at the checked sheet before anything is written, and may raise NotSaved

    Raises
    ------
    NotOpen : the visit waits for the reviewer, counts, or was withdrawn
    Clash : another revision is stored by now
    NotSaved : a hard rule is broken
    """
    with transaction.atomic(), pghistory.context(entry=origin):
        visit = (
            Visit.objects.select_for_update(of=("self",)).select_related("station", "method").get(pk=visit_id)
        )
        _refuse_closed(visit.visit_date)
        if visit.status not in OPEN:
            raise NotOpen(visit)
        if visit.revision != revision:
            raise Clash(visit)
        keep_unasked(sheet, stored_sheet(visit))
        checked = check_sheet(visit, sheet)
        if checked.errors:
            raise NotSaved(checked.remarks)
        if approve:
            approve(checked)
        changed = _write_visit(visit, checked.values)
        changed |= _write_passes(visit, sheet, checked.values)
        if changed:
            visit.revision += 1
            visit.save()
    return Saved(visit=visit, checked=checked, changed=changed)


def hand_in(
    visit_id: int,
    sheet: Sheet,
    *,
    revision: int,
    by: Any,
    looked: str = "",
    remark: str = "",
    answers: Mapping[str, str] | None = None,
) -> Saved:
    """Save a sheet and hand the visit to the reviewer, with what was odd and the answer to it.

    Parameters
    ----------
    looked : the mark of the questions the person has looked at and lets stand
    remark : why they stand, or anything the reviewer should know
    answers : what was answered to single questions, by their keys; the others are answered by the remark

    Raises
    ------
    NotSaved : also where no pass is written down, or where questions are not answered
    """

    def approve(checked: CheckedSheet) -> None:
        if all(sheet.pass_is_blank(number) for number in range(1, sheet.passes + 1)):
            raise NotSaved([_no_pass(), *checked.remarks])
        if checked.questions and checked.mark != looked:
            raise NotSaved(checked.remarks)

    with transaction.atomic():
        saved = save_sheet(visit_id, sheet, revision=revision, by=by, approve=approve)
        VisitQuestion.objects.filter(visit=visit_id).delete()
        VisitQuestion.objects.bulk_create(
            VisitQuestion(
                visit_id=visit_id,
                code=question.rule,
                place=question.place,
                message=question.message,
                answer=(answers or {}).get(question.key) or remark,
                by=by,
            )
            for question in saved.checked.questions
        )
        submit_visit(visit_id, by=by, remark=remark or marked("entered by hand"))
    return saved


def may_withdraw(visit: Visit, by: Any) -> bool:
    """Whether this is a draft that this person began. Any other visit is withdrawn by a reviewer."""
    return (
        visit.status == VisitStatus.DRAFT and visit.entered_by_id is not None and visit.entered_by_id == by.pk
    )


def withdraw_draft(visit_id: int, *, revision: int, by: Any, remark: str) -> Visit:
    """Take back a draft by the person who began it. The record stays, with the reason.

    Raises
    ------
    NotOpen : it is no draft any more
    Clash : somebody saved it meanwhile
    StepRefused : somebody else began it, or no reason is given
    """
    with transaction.atomic():
        visit = Visit.objects.select_for_update(of=("self",)).select_related("station").get(pk=visit_id)
        if visit.status != VisitStatus.DRAFT:
            raise NotOpen(visit)
        if not may_withdraw(visit, by):
            raise StepRefused(
                marked("Somebody else began this draft. Who began it, or a reviewer, can withdraw it.")
            )
        if visit.revision != revision:
            raise Clash(visit)
        return withdraw_visit(visit_id, by=by, remark=remark)


def _no_pass() -> Remark:
    return Remark(
        level=ERROR,
        code="no_pass",
        message=marked("No pass is written down yet."),
        remedy=marked("Type the catch of pass 1, or tick “no fish” if it caught nothing."),
        field="no_fish-1",
        place=said("Pass {number}", number=1),
    )


def _write_visit(visit: Visit, values: dict[str, Any]) -> bool:
    wanted: dict[str, Any] = {name: values.get(name) for name in _MEASURED}
    wanted |= {name: values.get(name, "") for name in _WORDS}
    for column in _OF[VISIT]:
        value = values.get(column.name, column.blank)
        wanted[column.stored_as] = list(value) if isinstance(value, tuple) else value
    wanted["visit_date"] = values["visit_date"]
    wanted["method_id"] = SamplingMethod.objects.get(code__iexact=values["method"]).pk
    changed = [name for name, value in wanted.items() if getattr(visit, name) != value]
    if "visit_date" in changed:
        _refuse_closed(wanted["visit_date"])
        _free_day(visit, wanted["visit_date"])
    for name in changed:
        setattr(visit, name, wanted[name])
    return bool(changed)


def _refuse_closed(day: datetime.date) -> None:
    try:
        refuse_closed([day])
    except SeasonLocked as refused:
        raise NotSaved(closed_season([day])) from refused


def _free_day(visit: Visit, day: datetime.date) -> None:
    if Visit.objects.filter(station=visit.station_id, visit_date=day).exclude(pk=visit.pk).exists():
        raise NotSaved(
            [
                Remark(
                    level=ERROR,
                    code="visit_held",
                    message=said(
                        "{station} already has a visit on {day}.", station=visit.station.code, day=day
                    ),
                    remedy=marked("Check the day; go on with the other visit if it is the same one."),
                    field="visit_date",
                    place=marked("Day of the visit"),
                )
            ]
        )


def _write_passes(visit: Visit, sheet: Sheet, values: dict[str, Any]) -> bool:
    stored = {one.pass_number: one for one in RemovalPass.objects.filter(visit=visit)}
    made = [n for n in range(1, sheet.passes + 1) if not sheet.pass_is_blank(n)]
    gone = [one.pk for number, one in stored.items() if number not in made]
    changed = bool(gone)
    RemovalPass.objects.filter(pk__in=gone).delete()
    for number in made:
        fields = {
            "effort_s": values.get(f"effort_s-{number}"),
            "biomass_g": values.get(f"pass_biomass_g-{number}"),
            **{one.stored_as: values.get(f"{one.name}-{number}", one.blank) for one in _OF[PASS]},
        }
        one = stored.get(number)
        if one is None:
            one = RemovalPass.objects.create(visit=visit, pass_number=number, **fields)
            changed = True
        elif any(getattr(one, name) != value for name, value in fields.items()):
            RemovalPass.objects.filter(pk=one.pk).update(**fields)
            changed = True
        changed |= _write_catches(one, number, values)
    return changed


def _write_catches(one_pass: RemovalPass, number: int, values: dict[str, Any]) -> bool:
    """The catches of a pass. A taxon typed with 0 was not caught, and has no row."""
    wanted: dict[int, dict[str, Any]] = {}
    for name, value in values.items():
        word, of_pass, taxon = parts_of(name)
        if taxon is not None and of_pass == number and word in CELL_FIELDS:
            wanted.setdefault(taxon, dict(_BLANK_CELLS))[word] = value
    wanted = {taxon: fields for taxon, fields in wanted.items() if fields["count"]}
    stored = {one.taxon_id: one for one in Catch.objects.filter(removal_pass=one_pass)}
    gone = [one.pk for taxon, one in stored.items() if taxon not in wanted]
    Catch.objects.filter(pk__in=gone).delete()
    changed = bool(gone)
    for taxon, fields in wanted.items():
        one = stored.get(taxon)
        if one is None:
            Catch.objects.create(removal_pass=one_pass, taxon_id=taxon, **fields)
            changed = True
        elif any(getattr(one, name) != value for name, value in fields.items()):
            Catch.objects.filter(pk=one.pk).update(**fields)
            changed = True
    return changed
