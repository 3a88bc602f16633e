"""Pages for entering a visit by hand: begin one, type its sheet, hand it in."""

import datetime
import json
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from surveys import access
from surveys.entry.carried import reach_words
from surveys.entry.cautions import FOR_FISH, FOR_PEOPLE, STANDING_LINE
from surveys.entry.checking import CheckedSheet, answered, check_sheet, place_words
from surveys.entry.expected import Expected, expected_taxa
from surveys.entry.lists import colleagues_drafts, own_drafts, waiting_receipts
from surveys.entry.saving import (
    OPEN,
    Clash,
    NotOpen,
    NotSaved,
    hand_in,
    may_withdraw,
    save_sheet,
    start_visit,
    stored_sheet,
    withdraw_draft,
)
from surveys.entry.sheet import (
    MOST_PASSES,
    Sheet,
    depletion_words,
    differences,
    keep_unasked,
    pass_counts,
    says_the_same,
    sheet_from,
    take_stored,
)
from surveys.forms.entry import (
    StartForm,
    answers_from_post,
    base_from_post,
    find_taxon,
    keys_from_post,
    sheet_from_post,
    starting_sheet,
    words_from_post,
)
from surveys.forms.entry_grid import by_spot, lay_out, with_details
from surveys.forms.entry_words import script_words
from surveys.language import told, worded
from surveys.models import EntryReceipt, SamplingMethod, Station, Taxon, Visit, VisitStatus
from surveys.names import near_names
from surveys.permits import permit_words
from surveys.review import StepRefused
from surveys.review_queue import returned_visits
from surveys.uploads.values import fold, is_number

_STORED = "sheet_stored"


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def entry(request: HttpRequest) -> HttpResponse:
    """Cautions, a visit to begin, and the visits to go on with."""
    form = StartForm(request.POST or None, initial={"visit_date": timezone.localdate()})
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        visit, made = start_visit(given["station"], given["visit_date"], given["method"], by=request.user)
        if made or visit.status in OPEN:
            if not made:
                messages.info(request, worded("{visit} was begun before. Go on with it here.", visit=visit))
            return redirect("surveys:entry_visit", visit.pk)
        messages.error(request, str(NotOpen(visit)))
        return redirect(visit)
    context = {
        "form": form,
        "standing_line": STANDING_LINE,
        "for_people": FOR_PEOPLE,
        "for_fish": FOR_FISH,
        "stations": Station.objects.with_places(),
        "own": own_drafts(request.user),
        "others": colleagues_drafts(request.user),
        "returned": returned_visits(),
        "receipts": waiting_receipts(),
        "stored_now": _stored_now(request),
    }
    return render(request, "surveys/entry.html", context, status=422 if form.errors else 200)


@access.allowed(access.ENTER)
@require_POST
def entry_check(request: HttpRequest, pk: int) -> JsonResponse:
    """What is odd about a sheet as it stands, by the very checks of saving. Nothing is stored."""
    visit = get_object_or_404(Visit.objects.with_places(), pk=pk)
    sheet = sheet_from_post(request.POST)
    keep_unasked(sheet, stored_sheet(visit))
    checked = check_sheet(visit, sheet)
    words = permit_words(visit.station, _day(visit, sheet))
    spots = by_spot(checked.remarks)
    checked = replace(checked, remarks=answered(checked.remarks, answers_from_post(request.POST)))
    look = {"checked": checked, "may_save": True, "looked": request.POST.get("looked", "")}
    return JsonResponse(
        {
            "spots": {
                spot: render_to_string(
                    "surveys/entry_remarks.html",
                    {"remarks": remarks, "named": spot == "passes" or spot.startswith("row-")},
                )
                for spot, remarks in spots.items()
            },
            "wrong": [remark.field for remark in checked.errors if remark.field],
            "said": [f"{told(r.place)}: {told(r.message)}" for found in spots.values() for r in found],
            "look": render_to_string("surveys/entry_look.html", look),
            "season": told(_closed_words(checked)),
            "permit": _with_advice(words),
        }
    )


def _with_advice(permit: str) -> str:
    """That no permit is known, and what to do; empty where there is one."""
    return " ".join((told(permit), worded("Look at the permits before this is handed in."))) if permit else ""


def _closed_words(checked: CheckedSheet) -> str:
    """That nothing can be saved, because the season is closed; empty where it is open."""
    said = [one for one in checked.remarks if one.code == "season_closed"]
    return " ".join(f"{one.message} {one.remedy}" for one in said)


def _day(visit: Visit, sheet: Sheet) -> datetime.date:
    """The day that is typed, or the stored one where it cannot be read."""
    try:
        return datetime.date.fromisoformat(sheet.text("visit_date"))
    except ValueError:
        return visit.visit_date


@access.allowed(access.ENTER)
@require_http_methods(["GET", "HEAD", "POST"])
def entry_visit(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet of one visit: species by pass, and what was measured."""
    visit = get_object_or_404(Visit.objects.with_places().select_related("entered_by"), pk=pk)
    expected = expected_taxa(visit.station, without=visit.pk)
    if request.method == "POST":
        return _typed(request, visit, expected)
    stored = starting_sheet(visit, stored_sheet(visit), expected)
    sent = _sent(request, visit)
    if sent is not None:
        return _clash(request, visit, expected, sent, None, status=200)
    if visit.status not in OPEN:
        messages.error(request, str(NotOpen(visit)))
        return redirect(visit)
    return _show(request, visit, expected, stored, check_sheet(visit, stored), base=stored.texts)


def _sent(request: HttpRequest, visit: Visit) -> Sheet | None:
    """The sheet a device sent that waits for a decision, where the address names one."""
    key = request.GET.get("sent", "")
    receipt = next((r for r in waiting_receipts().filter(visit=visit) if str(r.key) == key), None)
    return sheet_from(receipt.sent["texts"]) if receipt else None


def _typed(request: HttpRequest, visit: Visit, expected: list[Expected]) -> HttpResponse:
    action = request.POST.get("action", "save")
    if action == "withdraw":
        return _withdraw(request, visit, expected)
    sheet = sheet_from_post(request.POST)
    base = base_from_post(request.POST)
    taken = request.POST.getlist("take")
    if taken:
        take_stored(sheet, stored_sheet(visit), taken)
    # A near name that was chosen goes before the spelling that led to it.
    if name := words_from_post(request.POST, "meant") or words_from_post(request.POST, "add_taxon"):
        return _add_taxon(request, visit, expected, sheet, base, name)
    if "open" in request.POST:
        return _show(request, visit, expected, sheet, check_sheet(visit, sheet), base=base)
    if action == "add_pass":
        sheet.passes = min(sheet.passes + 1, MOST_PASSES)
        return _show(request, visit, expected, sheet, check_sheet(visit, sheet), base=base)
    try:
        if action == "submit":
            hand_in(
                visit.pk,
                sheet,
                revision=_revision(request),
                by=request.user,
                looked=request.POST.get("looked", ""),
                remark=words_from_post(request.POST, "remark"),
                answers=answers_from_post(request.POST),
            )
        else:
            saved = save_sheet(visit.pk, sheet, revision=_revision(request), by=request.user)
    except Clash as clash:
        if action == "save" and says_the_same(sheet, stored_sheet(clash.visit)):
            messages.info(request, worded("Everything typed here was stored already."))
            return redirect("surveys:entry_visit", visit.pk)
        return _clash(request, clash.visit, expected, sheet, base, status=409)
    except NotSaved as refused:
        checked = CheckedSheet(remarks=refused.remarks, values={})
        return _show(
            request, visit, expected, sheet, checked, base=base, asked=action == "submit", status=422
        )
    except (NotOpen, StepRefused) as refused:
        visit.refresh_from_db(fields=["status", "revision"])
        if visit.status == VisitStatus.SUBMITTED and says_the_same(sheet, stored_sheet(visit)):
            # A button that was pressed twice: the first press handed the sheet in and told so.
            return redirect("surveys:entry")
        messages.error(request, str(refused))
        return _show(request, visit, expected, sheet, check_sheet(visit, sheet), base=base, status=409)
    EntryReceipt.objects.filter(visit=visit, waiting=True, key__in=_settled(request)).update(waiting=False)
    request.session[_STORED] = visit.pk
    if action == "submit":
        messages.success(request, worded("{visit} is handed in and waits for the reviewer.", visit=visit))
        return redirect("surveys:entry")
    messages.success(
        request,
        worded("Saved as a draft.") if saved.changed else worded("Everything typed here was stored already."),
    )
    return redirect("surveys:entry_visit", visit.pk)


def _stored_now(request: HttpRequest) -> int | None:
    """The visit whose sheet was stored just now, said once: its tab need not keep what was typed any longer."""
    return request.session.pop(_STORED, None) if _STORED in request.session else None


def _revision(request: HttpRequest) -> int:
    """The revision the person began from; one that never was where it did not come along."""
    text = request.POST.get("revision", "")
    return int(text) if is_number(text, 9) else -1


def _withdraw(request: HttpRequest, visit: Visit, expected: list[Expected]) -> HttpResponse:
    why = words_from_post(request.POST, "why")
    try:
        withdraw_draft(visit.pk, revision=_revision(request), by=request.user, remark=why)
    except (Clash, NotOpen) as refused:
        messages.error(request, " ".join((told(refused), worded("Nothing was withdrawn."))))
        return redirect("surveys:entry_visit" if visit.status in OPEN else visit, visit.pk)
    except StepRefused as refused:
        sheet = starting_sheet(visit, stored_sheet(visit), expected)
        extra = {"withdraw_refused": str(refused), "why": why}
        return _show(
            request,
            visit,
            expected,
            sheet,
            check_sheet(visit, sheet),
            base=sheet.texts,
            status=422,
            extra=extra,
        )
    request.session[_STORED] = visit.pk
    messages.success(
        request, worded("{visit} is withdrawn. The record and your reason are kept.", visit=visit)
    )
    return redirect("surveys:entry")


def _settled(request: HttpRequest) -> list[str]:
    """Keys of what a device sent that this page has put side by side."""
    key = request.POST.get("sent", "")
    return [str(r.key) for r in waiting_receipts() if str(r.key) == key]


def _add_taxon(
    request: HttpRequest,
    visit: Visit,
    expected: list[Expected],
    sheet: Sheet,
    base: dict[str, str] | None,
    name: str,
) -> HttpResponse:
    taxon = find_taxon(name)
    extra: dict[str, Any] = {}
    if taxon is None:
        extra = {"not_found": name, "near": near_names([name]).get(fold(name), ())}
    else:
        sheet.add_taxon(taxon.pk)
        extra = {"added": taxon.pk}
    checked = check_sheet(visit, sheet)
    return _show(
        request, visit, expected, sheet, checked, base=base, status=200 if taxon else 422, extra=extra
    )


def _clash(
    request: HttpRequest,
    visit: Visit,
    expected: list[Expected],
    sheet: Sheet,
    base: dict[str, str] | None,
    *,
    status: int,
) -> HttpResponse:
    """Both sheets side by side. From here on the person works on what is stored now."""
    stored = stored_sheet(visit)
    found = differences(sheet, stored, base)
    taxa = Taxon.objects.in_bulk([*sheet.taxa, *stored.taxa])
    side_by_side = [(one, place_words(one.name, taxa)) for one in found]
    return _show(
        request,
        visit,
        expected,
        sheet,
        check_sheet(visit, sheet),
        base=stored.texts,
        status=status,
        extra={
            "side_by_side": side_by_side,
            "clash": True,
            "may_save": visit.status in OPEN,
            # What either holds has to be on the page, so that leaving a value out means just that.
            "rendered": with_details(sheet, stored),
        },
    )


def _show(
    request: HttpRequest,
    visit: Visit,
    expected: list[Expected],
    sheet: Sheet,
    checked: CheckedSheet,
    *,
    base: dict[str, str] | None,
    asked: bool = False,
    status: int = 200,
    extra: dict[str, Any] | None = None,
) -> HttpResponse:
    checked = replace(checked, remarks=answered(checked.remarks, answers_from_post(request.POST)))
    for one in expected:
        sheet.add_taxon(one.taxon.pk)
    sheet.passes = max(sheet.passes, visit.method.planned_passes)
    taxa = Taxon.objects.in_bulk(sheet.taxa)
    clash = bool(extra and extra.get("clash"))
    rendered = {*keys_from_post(request.POST, "detail"), *(extra or {}).get("rendered", ())}
    opening = keys_from_post(request.POST, "open")
    if request.POST.get("open") == "all":
        opening = sheet.taxa
    began_from = request.POST.get("revision") if request.method == "POST" and not clash else None
    context: dict[str, Any] = {
        "visit": visit,
        "grid": lay_out(
            sheet,
            taxa,
            expected,
            checked.remarks,
            rendered=rendered,
            opened=opening,
            open_passes=request.POST.get("open") == "passes",
        ),
        "checked": checked,
        "errors": checked.errors if status == 422 else [],
        "questions": checked.questions,
        "looked": request.POST.get("looked", ""),
        "asked": asked and not checked.errors,
        "depletion": depletion_words(pass_counts(sheet)),
        "methods": SamplingMethod.objects.all(),
        "every_taxon": Taxon.objects.order_by("common_name", "scientific_name"),
        "revision": began_from or visit.revision,
        "base": json.dumps(base) if base is not None else "",
        "sent": request.GET.get("sent") or request.POST.get("sent", ""),
        "last_remark": visit.steps.exclude(remark="").filter(status="returned").last(),
        "remark": request.POST.get("remark", ""),
        "passes": sheet.passes,
        "may_save": True,
        "may_withdraw": may_withdraw(visit, request.user),
        "carried": reach_words(visit, sheet.text("reach_length_m")),
        "closed_words": _closed_words(checked),
        "permit_words": permit_words(visit.station, _day(visit, sheet)),
        "standing_line": STANDING_LINE,
        "for_people": FOR_PEOPLE,
        "for_fish": FOR_FISH,
        "script_words": script_words(),
        "stored_now": _stored_now(request),
        **(extra or {}),
    }
    return render(request, "surveys/entry_visit.html", context, status=status)
