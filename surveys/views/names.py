"""Names that are not on the list: what a person says they mean, and what comes near while one is typed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST, require_safe

from surveys import access
from surveys.forms.names import NamesForm
from surveys.language import told, worded, worded_n
from surveys.models import UploadStatus
from surveys.names import as_plain, near_names
from surveys.uploads.commit import refresh_upload
from surveys.uploads.name_choices import keep_names, prepare_upload
from surveys.uploads.values import fold

MOST_ASKED = 200


@access.allowed(access.ENTER)
@require_POST
def upload_names(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what was said of the names of a file that waits, and read the file again."""
    sent = get_object_or_404(access.visible_uploads(request.user), pk=pk)
    if sent.status != UploadStatus.CHECKED:
        messages.error(request, worded("This file no longer waits; what its names mean cannot be changed."))
        return redirect(sent)
    form = NamesForm(sent, prepare_upload(sent), request.POST, may_remember=_may_remember(request))
    if form.faults:
        for fault in form.faults:
            messages.error(request, fault)
        return redirect(sent)
    plan = keep_names(sent, form.meant, by=request.user, remember=form.remember)
    refresh_upload(sent, plan)
    left = len(plan.open_names)
    if left:
        messages.info(
            request,
            worded_n(
                "Kept. {n} name is still open; the file cannot be taken before.",
                "Kept. {n} names are still open; the file cannot be taken before.",
                left,
            ),
        )
    else:
        messages.success(request, worded("Kept. Every name of the file stands for a taxon of the list."))
    return redirect(sent)


def _may_remember(request: HttpRequest) -> bool:
    return access.may(request.user, access.MANAGE)


@access.allowed(access.ENTER)
@require_safe
def near(request: HttpRequest) -> HttpResponse:
    """The taxa whose names come near ``name``, for pages that ask while a person types."""
    name = request.GET.get("name", "")[:MOST_ASKED]
    found = as_plain(near_names([name]).get(fold(name), ()))
    return JsonResponse({"name": name, "near": [{**one, "words": told(one["words"])} for one in found]})
