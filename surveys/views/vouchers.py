"""Vouchers of a visit, for the staff: adding, looking at the photograph, confirming the name."""

import json
import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from surveys import access
from surveys.forms.vouchers import ConfirmForm, CorrectForm, VoucherForm
from surveys.language import told, worded
from surveys.models import EntryReceipt, Taxon, Visit, Voucher, VoucherKind
from surveys.pictures import LARGEST_FILE, NotAPicture
from surveys.views.entry_device import refusal
from surveys.vouchers import (
    NewVoucher,
    VoucherRefused,
    add_voucher,
    catch_under_old_name,
    confirm_voucher,
    correct_catch,
    remove_voucher,
)


@access.allowed(access.SEE_UNACCEPTED)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_vouchers(request: HttpRequest, pk: int) -> HttpResponse:
    """What the names of a visit rest on; those who enter add a voucher here."""
    visit = get_object_or_404(Visit.objects.with_places(), pk=pk)
    may_add = access.may(request.user, access.ENTER)
    form = VoucherForm(request.POST or None, request.FILES or None)
    if request.method == "POST":
        if not may_add:
            messages.error(request, worded("This account may look at vouchers and not add one."))
            return redirect("surveys:visit_vouchers", pk)
        if form.is_valid():
            try:
                voucher, _ = add_voucher(visit, NewVoucher(**form.cleaned_data), by=request.user)
            except NotAPicture as problem:
                form.add_error("photo", str(problem))
            except VoucherRefused as problem:
                form.add_error(None, str(problem))
            else:
                words = worded("Voucher {voucher} is kept with the visit.", voucher=voucher)
                messages.success(request, words)
                return redirect("surveys:visit_vouchers", pk)
    return _page(request, visit, form=form)


@access.allowed(access.SEE_UNACCEPTED)
@require_POST
def voucher_confirm(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Who confirmed the name, when, and as what. The catch is not touched."""
    voucher = _voucher(pk, number)
    if refused := _may_change(request, pk):
        return refused
    form = ConfirmForm(request.POST, prefix=f"v{number}")
    if not form.is_valid():
        return _page(request, voucher.visit, confirming={number: form})
    given = form.cleaned_data
    confirmed = confirm_voucher(
        number, given["confirmed_as"], who=given["confirmed_by"], on=given["confirmed_on"]
    )
    name = given["confirmed_as"].scientific_name
    words = worded("Voucher {voucher}: confirmed as {name}.", voucher=voucher, name=name)
    if catch_under_old_name(confirmed):
        still = worded("The catch still bears the earlier name; whether it is put right is asked below.")
        words = f"{words} {still}"
    messages.success(request, words)
    return redirect("surveys:visit_vouchers", pk)


@access.allowed(access.SEE_UNACCEPTED)
@require_POST
def voucher_correct(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Give the fish of chosen passes the confirmed name; the visit waits for the reviewer."""
    _voucher(pk, number)
    if refused := _may_change(request, pk):
        return refused
    form = CorrectForm(request.POST)
    if not form.is_valid():
        messages.error(request, worded("Choose at least one pass to put right."))
        return redirect("surveys:visit_vouchers", pk)
    given = form.cleaned_data
    try:
        visit = correct_catch(number, given["passes"], revision=given["revision"], by=request.user)
    except VoucherRefused as problem:
        messages.error(request, str(problem))
    else:
        messages.success(
            request,
            worded(
                "The catch of {visit} is put right; the visit is {status} as revision {revision}. What stood "
                "before is in its history.",
                visit=visit,
                status=visit.get_status_display(),
                revision=visit.revision,
            ),
        )
    return redirect("surveys:visit_vouchers", pk)


@access.allowed(access.ENTER)
@require_POST
def voucher_remove(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Take out a voucher that was added by mistake. The catch is not touched."""
    _voucher(pk, number)
    try:
        name = remove_voucher(number, reason=request.POST.get("reason", "")[:300])
    except VoucherRefused as problem:
        messages.error(request, str(problem))
    else:
        words = worded("Voucher {voucher} is taken out. What it was stays in the history.", voucher=name)
        messages.success(request, words)
    return redirect("surveys:visit_vouchers", pk)


@access.allowed(access.SEE_UNACCEPTED)
@never_cache
@require_safe
def voucher_photo(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The photograph itself, for the staff; no copy of it stays with anything on the way."""
    voucher = get_object_or_404(Voucher.objects.only("photo", "photo_type"), pk=number, visit=pk)
    if not voucher.photo:
        raise Http404
    answer = HttpResponse(bytes(voucher.photo), content_type=voucher.photo_type)
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Cache-Control"] = "private, no-store"
    answer["Content-Disposition"] = f'inline; filename="voucher-{number}.jpg"'
    return answer


@never_cache
@require_POST
def voucher_from_device(request: HttpRequest) -> HttpResponse:
    """One voucher a device sends, exactly once; where its visit has not come yet, the device sends it later."""
    if refused := refusal(request):
        return refused
    if int(request.META.get("CONTENT_LENGTH") or 0) > LARGEST_FILE + 64 * 1024:
        return JsonResponse({"message": worded("The photograph is too large.")}, status=413)
    try:
        said: Any = json.loads(request.POST.get("voucher", ""))
        key, of_visit = uuid.UUID(str(said["key"])), uuid.UUID(str(said["visit"]))
        taxon = int(said["taxon"])
        words = {name: str(said.get(name, "")).strip() for name in ("number", "kind", "remark")}
    except (ValueError, KeyError, TypeError, AttributeError):
        return JsonResponse({"message": worded("The message is not a voucher.")}, status=400)
    receipt = EntryReceipt.objects.filter(pk=of_visit).select_related("visit__station").first()
    if receipt is None:
        return JsonResponse(
            {"message": worded("The visit of this voucher has not been sent yet.")}, status=409
        )
    named = Taxon.objects.filter(pk=taxon).first() if 0 < taxon < 2**31 else None
    if named is None or words["kind"] not in VoucherKind.values:
        return JsonResponse({"message": worded("Its name or its kind is not known here.")}, status=422)
    sent = request.FILES.get("photo")
    given = NewVoucher(
        taxon=named,
        number=words["number"][:60],
        kind=words["kind"],
        remark=words["remark"][:300],
        photo=sent.read() if sent else None,  # type: ignore[union-attr]
    )
    try:
        voucher, made = add_voucher(receipt.visit, given, by=request.user, device_key=key)
    except (NotAPicture, VoucherRefused) as problem:
        return JsonResponse({"message": told(problem)}, status=422)
    return JsonResponse({"voucher": voucher.pk}, status=201 if made else 200)


def _voucher(pk: int, number: int) -> Voucher:
    found = Voucher.objects.defer("photo").select_related("visit__station", "taxon")
    return get_object_or_404(found, pk=number, visit=pk)


def _may_change(request: HttpRequest, pk: int) -> HttpResponse | None:
    if access.may(request.user, access.ENTER) or access.may(request.user, access.REVIEW):
        return None
    messages.error(request, worded("This account may look at vouchers and not confirm one."))
    return redirect("surveys:visit_vouchers", pk)


def _page(
    request: HttpRequest,
    visit: Visit,
    *,
    form: VoucherForm | None = None,
    confirming: dict[int, ConfirmForm] | None = None,
) -> HttpResponse:
    confirming = confirming or {}
    vouchers = visit.vouchers.select_related("taxon", "confirmed_as", "added_by").defer("photo")
    person = request.user.get_full_name() or request.user.get_username()  # type: ignore[union-attr]
    rows = []
    for one in vouchers:
        named = one.confirmed_as or one.taxon
        first: dict[str, Any] = {
            "confirmed_as": f"{named.common_name or named.scientific_name} ({named.scientific_name})"
        }
        first["confirmed_by"] = one.confirmed_by or person
        first["confirmed_on"] = one.confirmed_on or timezone.localdate()
        confirm = confirming.get(one.pk) or ConfirmForm(prefix=f"v{one.pk}", initial=first)
        rows.append({"voucher": one, "confirm": confirm, "lines": catch_under_old_name(one)})
    wrong = bool(confirming) or bool(form and form.errors)
    context = {
        "visit": visit,
        "rows": rows,
        "form": form or VoucherForm(),
        "taxa": Taxon.objects.order_by("common_name", "scientific_name"),
        "may_add": access.may(request.user, access.ENTER),
        "may_confirm": access.may(request.user, access.ENTER) or access.may(request.user, access.REVIEW),
    }
    return render(request, "surveys/vouchers.html", context, status=422 if wrong else 200)
