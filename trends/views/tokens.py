"""A person's own tokens: make one, see when each was last used, revoke."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from surveys.access import EXPORT, allowed
from surveys.language import worded
from trends.models import ApiToken
from trends.token_forms import TokenForm


@never_cache
@allowed(EXPORT)
@require_http_methods(["GET", "HEAD", "POST"])
def tokens(request: HttpRequest) -> HttpResponse:
    """The list with a form below it; a new token is shown in the answer that makes it, and never again."""
    form = TokenForm(request.user, request.POST if request.method == "POST" else None)
    text = ""
    if request.method == "POST" and form.is_valid():
        _, text = ApiToken.objects.made(request.user, form.cleaned_data["name"], form.cleaned_data["ends_on"])
        form = TokenForm(request.user)
    own = ApiToken.objects.filter(person=request.user)  # type: ignore[misc]
    return render(request, "trends/tokens.html", {"form": form, "tokens": own, "text": text})


@allowed(EXPORT)
@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    token = get_object_or_404(ApiToken, pk=pk, person=request.user)  # type: ignore[misc]
    token.revoke(request.user)
    messages.success(request, worded("“{token}” is revoked. It stops working at once.", token=token.name))
    return redirect("trends:tokens")
