"""The administrator's desk for species: traits, trait lists, merging and splitting, each seen before it is done."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from surveys.access import MANAGE, allowed
from surveys.language import worded, worded_n
from surveys.models import Taxon, Visit
from trends import publishing, taxonomy, trait_lists
from trends.reference_forms import CountyListForm, MergeForm, SplitForm, StrataForm, TraitForm, TraitListForm
from trends.reference_models import TraitList
from trends.shelf import shelf, stratum_id
from trends.trait_changes import Preview, change_traits, preview, preview_traits, trait_history

GET_OR_POST = ["GET", "HEAD", "POST"]


def _made_anew(number: int) -> str:
    return worded_n(
        "Changed. Made anew: the results of {n} accepted visit.",
        "Changed. Made anew: the results of {n} accepted visits.",
        number,
    )


@allowed(MANAGE)
@require_http_methods(GET_OR_POST)
def traits(request: HttpRequest, slug: str) -> HttpResponse:
    """Change the traits of a taxon: first what it would do, then with a second click the change."""
    taxon = get_object_or_404(Taxon, slug=slug)
    form = TraitForm(request.POST or None, instance=get_object_or_404(Taxon, slug=slug))
    seen: Preview | None = None
    if request.method == "POST" and form.is_valid():
        fields = [name for name in form.changed_data if name != "reason"]
        if not fields:
            form.add_error(None, worded("Nothing is changed."))
        elif "confirm" in request.POST:
            number = change_traits(form.instance, fields, reason=form.cleaned_data["reason"])
            messages.success(request, _made_anew(number))
            return redirect(taxon)
        else:
            seen = preview_traits(form.instance)
    status = 422 if form.errors else 200
    context = {"taxon": taxon, "form": form, "preview": seen, "history": trait_history(taxon)}
    return render(request, "trends/trait_change.html", context, status=status)


# --- lists ------------------------------------------------------------------------------------------


@allowed(MANAGE)
@require_http_methods(GET_OR_POST)
def lists(request: HttpRequest) -> HttpResponse:
    """The trait lists at hand, and the form that takes a new one."""
    form = TraitListForm(request.POST or None, request.FILES or None)
    read = None
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        read = trait_lists.read_list(file.name, file.read())
        try:
            kept = trait_lists.keep_list(form.save(commit=False), read, by=request.user)
        except trait_lists.ListRefused as problem:
            form.add_error("file", str(problem))
        else:
            words = worded_n(
                "Kept with {n} taxon; it scores nothing until you have seen what it changes.",
                "Kept with {n} taxa; it scores nothing until you have seen what it changes.",
                len(read.traits),
            )
            if read.unknown:
                left_out = worded(
                    "Not on the species list, so left out: {written}.", written=", ".join(read.unknown)
                )
                words = f"{words} {left_out}"
            messages.success(request, words)
            return redirect("trends:trait_list", pk=kept.pk)
    rows = list(TraitList.objects.prefetch_related("entries"))
    for row in rows:
        row.served = trait_lists.serves(row, trait_lists.calibrated_strata(row.name))  # type: ignore[attr-defined]
    return render(
        request,
        "trends/trait_lists.html",
        {"form": form, "rows": rows, "faults": read.faults if read else []},
        status=422 if form.errors else 200,
    )


@allowed(MANAGE)
@require_http_methods(GET_OR_POST)
def county_list(request: HttpRequest) -> HttpResponse:
    """Name and date the county's own list: the traits that stand on the species list."""
    own = TraitList.objects.filter(is_county=True).first() or TraitList(is_county=True)
    form = CountyListForm(request.POST or None, instance=own)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, worded("The county's own list is named and dated."))
        return redirect("trends:trait_lists")
    return render(request, "trends/trait_county.html", {"form": form}, status=422 if form.errors else 200)


@allowed(MANAGE)
@require_http_methods(GET_OR_POST)
def one_list(request: HttpRequest, pk: int) -> HttpResponse:
    """One list: what it says, and which strata it serves; a change is shown before it is made."""
    row = get_object_or_404(TraitList, pk=pk, is_county=False)
    calibrated = trait_lists.calibrated_strata(row.name)
    strata = sorted({*publishing.strata_here(), *row.strata})
    served = trait_lists.serves(row, calibrated)
    # A list that waits to be looked at is offered for the strata whose method was calibrated on it.
    form = StrataForm(strata, request.POST or None, initial={"strata": sorted({*served, *calibrated})})
    seen = None
    if request.method == "POST" and form.is_valid():
        wanted = form.cleaned_data["strata"]
        if "confirm" in request.POST:
            try:
                number = trait_lists.use_list(row, wanted, reason=form.cleaned_data["reason"])
            except trait_lists.ListRefused as problem:
                form.add_error(None, str(problem))
            else:
                messages.success(request, _made_anew(number))
                return redirect("trends:trait_list", pk=pk)
        else:
            seen = _list_preview(row, served, wanted)
    entries = row.entries.select_related("taxon")
    context = {
        "row": row,
        "served": served,
        "calibrated": sorted(calibrated),
        "waiting": sorted(set(row.held_back) & calibrated),
        "form": form,
        "preview": seen,
        "entries": entries,
        "keys": trait_lists.LISTED_TRAITS,
    }
    return render(request, "trends/trait_list.html", context, status=422 if form.errors else 200)


def _list_preview(row: TraitList, served: list[str], wanted: list[str]) -> Preview:
    touched = set(served) ^ set(wanted)
    spelled = [
        s
        for s in Visit.objects.order_by().values_list("station__stratum", flat=True).distinct()
        if stratum_id(s) in touched
    ]
    standing = shelf()
    serving = trait_lists.serving(row)
    kept = {stratum: one for stratum, one in standing.traits.items() if stratum not in row.strata}
    # The list serves what is wanted and nothing by its name alone.
    others = {name: one for name, one in standing.named.items() if one.row.pk != row.pk}
    after = replace(standing, traits=kept | dict.fromkeys(wanted, serving), named=others)
    return preview(Visit.objects.filter(station__stratum__in=spelled), lambda record: record, after=after)


# --- merge and split -----------------------------------------------------------------------------------


@allowed(MANAGE)
@require_http_methods(GET_OR_POST)
def merge(request: HttpRequest, slug: str) -> HttpResponse:
    taxon = get_object_or_404(Taxon, slug=slug)
    form = MergeForm(taxon, request.POST or None)
    move = None
    if request.method == "POST" and form.is_valid():
        kept = form.cleaned_data["into"]
        if "confirm" in request.POST:
            try:
                done = taxonomy.merge_taxa(taxon, kept, by=request.user, reason=form.cleaned_data["reason"])
            except taxonomy.TaxaRefused as problem:
                form.add_error(None, str(problem))
            else:
                messages.success(request, done.words)
                return redirect(kept)
        else:
            move = taxonomy.merge_preview(taxon, kept)
            if move.refusal:
                form.add_error(None, move.refusal)
    return _operation(request, taxon, form, move, worded("Merge a taxon into another"), "merge")


@allowed(MANAGE)
@require_http_methods(GET_OR_POST)
def split(request: HttpRequest, slug: str) -> HttpResponse:
    taxon = get_object_or_404(Taxon, slug=slug)
    form = SplitForm(request.POST or None)
    move = None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        asked = taxonomy.Split(
            taxon=taxon,
            new_name=" ".join(given["new_name"].split()),
            new_common_name=given["new_common_name"],
            from_day=given["from_day"],
            stations=tuple(given["stations"]),
        )
        if "confirm" in request.POST:
            try:
                done = taxonomy.split_taxon(asked, by=request.user, reason=given["reason"])
            except taxonomy.TaxaRefused as problem:
                form.add_error(None, str(problem))
            except ValidationError as problem:
                form.add_error(None, "; ".join(problem.messages))
            else:
                messages.success(request, done.words)
                return redirect(taxon)
        else:
            move = taxonomy.split_preview(asked)
            if move.refusal:
                form.add_error(None, move.refusal)
    return _operation(request, taxon, form, move, worded("Split a taxon"), "split")


def _operation(
    request: HttpRequest, taxon: Taxon, form: Any, move: taxonomy.Move | None, title: str, kind: str
) -> HttpResponse:
    context = {"taxon": taxon, "form": form, "move": move, "title": title, "kind": kind}
    return render(request, "trends/taxon_operation.html", context, status=422 if form.errors else 200)
