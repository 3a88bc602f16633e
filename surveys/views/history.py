"""The history of a visit: its earlier states, what each change did, and the way back to one of them."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from surveys import access
from surveys.forms.history import RestoreForm
from surveys.history import catch_table, visit_states
from surveys.language import worded
from surveys.models import Visit
from surveys.restoring import NotRestored, restore_state


@access.allowed(access.SEE_UNACCEPTED)
@require_http_methods(["GET", "HEAD", "POST"])
def visit_history(request: HttpRequest, pk: int) -> HttpResponse:
    """Every change of one visit, the latest first; one state may be brought back with a reason."""
    visit = get_object_or_404(Visit.objects.with_places().select_related("entered_by"), pk=pk)
    may_restore = access.may(request.user, access.ENTER) or access.may(request.user, access.REVIEW)
    states = visit_states(visit)
    form = RestoreForm(request.POST or None, initial={"seen": len(states)})
    if request.method == "POST" and form.is_valid():
        return _restore(request, visit, form, may_restore=may_restore)
    context = {
        "visit": visit,
        "states": [(state, catch_table(state.contents)) for state in reversed(states)],
        "changes": len(states) - 1,
        "form": form,
        "may_restore": may_restore,
        "seen": len(states),
    }
    return render(request, "surveys/history.html", context, status=422 if form.errors else 200)


def _restore(request: HttpRequest, visit: Visit, form: RestoreForm, *, may_restore: bool) -> HttpResponse:
    if not may_restore:
        messages.error(request, worded("This account may look at the history and not change a visit."))
        return redirect("surveys:visit_history", visit.pk)
    given = form.cleaned_data
    try:
        restore_state(
            visit.pk, given["number"] - 1, seen=given["seen"], by=request.user, reason=given["reason"]
        )
    except NotRestored as refused:
        messages.error(request, str(refused))
    else:
        messages.success(
            request,
            worded(
                "State {number} of {visit} is back and waits for the reviewer. What stood before is in the "
                "history.",
                number=given["number"],
                visit=visit,
            ),
        )
    return redirect("surveys:visit_history", visit.pk)
