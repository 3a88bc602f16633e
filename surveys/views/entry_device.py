"""What a phone by the creek asks for: the tally page, its offline worker, its lists, and a place to send to."""

import hashlib
import json
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.template.loader import get_template, render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language, override
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from surveys import access
from surveys.entry.cautions import FOR_FISH, FOR_PEOPLE, STANDING_LINE
from surveys.entry.field_lists import field_lists
from surveys.entry.receive import CLASH, TAKEN, NotUnderstood, receive
from surveys.entry.saving import Clash, NotOpen, NotSaved
from surveys.language import other_language, told, worded
from surveys.models import SafetyCheck
from surveys.script_words import script_words

MODULES = tuple(
    f"js/entry-tally{part}.js"
    for part in (
        "",
        "-store",
        "-words",
        "-model",
        "-names",
        "-message",
        "-send",
        "-parts",
        "-fish",
        "-hand",
        "-line",
        "-pass",
        "-visit",
        "-before",
        "-voucher",
    )
)
ASSETS = (
    "css/site.css",
    "css/work.css",
    "css/entry.css",
    "css/entry-tally.css",
    "img/rillmark.svg",
    "img/waterline.svg",
    *MODULES,
)
LONGEST_MESSAGE = 512 * 1024


@access.allowed(access.ENTER)
@require_safe
def tally(request: HttpRequest) -> HttpResponse:
    """The page itself names nobody, so that a shared device may keep it."""
    return HttpResponse(_page(request))


def _page(request: HttpRequest) -> str:
    context = {
        "standing_line": STANDING_LINE,
        "for_people": FOR_PEOPLE,
        "for_fish": FOR_FISH,
        "checks": SafetyCheck.choices,
        "words": script_words(),
        "languages": _other_languages(),
    }
    return render_to_string("surveys/entry_tally.html", context, request)


def _other_languages() -> list[dict[str, str]]:
    """Where the tally is in each other language, and the worker that keeps it there: one sees only its own folder."""
    found = []
    for code, name in settings.LANGUAGES:
        if code == get_language():
            continue
        with override(code):
            addresses = {
                "page": reverse("surveys:entry_tally"),
                "worker": reverse("surveys:entry_worker"),
                "desk": reverse("surveys:entry"),
            }
        found.append({"code": code, "name": name, **addresses})
    return found


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker: keeps the tally page and its files on the device."""
    # Modules name each other by their plain addresses, the page by those with a version in the name.
    files = sorted({*(static(name) for name in ASSETS), *(_plain(name) for name in MODULES)})
    context = {
        "settings": json.dumps(
            {
                "cache": "-".join(filter(None, ("rillmark-tally", other_language()))),
                "version": _version(request),
                "files": files,
                "page": reverse("surveys:entry_tally"),
                "scope": reverse("surveys:entry"),
            }
        )
    }
    answer = render(request, "surveys/entry_worker.js", context, content_type="text/javascript")
    answer["Cache-Control"] = "no-cache"
    return answer


def _plain(name: str) -> str:
    return f"{settings.STATIC_URL}{name}"


def _version(request: HttpRequest) -> str:
    """A mark of everything the device keeps: another mark, and it fetches all of it anew."""
    mark = hashlib.sha256()
    for name in ASSETS:
        found = finders.find(name)
        if found:
            mark.update(Path(str(found)).read_bytes())
    mark.update(get_template("surveys/entry_worker.js").template.source.encode())  # type: ignore[attr-defined]
    # With the words of its language.
    mark.update(_page(request).encode())
    return mark.hexdigest()[:16]


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone shows when the tally is put on its home screen."""
    return JsonResponse(
        {
            "name": worded("Rillmark tally"),
            "short_name": worded("Tally"),
            "lang": get_language(),
            "id": reverse("surveys:entry_tally"),
            "start_url": reverse("surveys:entry_tally"),
            "scope": reverse("surveys:entry"),
            "display": "standalone",
            "background_color": "#fbfaf6",
            "theme_color": "#fbfaf6",
            "icons": [
                {"src": static("img/rillmark.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}
            ],
        },
        content_type="application/manifest+json",
    )


def refusal(request: HttpRequest) -> JsonResponse | None:
    """Why this person may not use a device's addresses, as data instead of a sign-in page."""
    if not request.user.is_authenticated:
        return JsonResponse(
            {"message": worded("Sign in again to send. Everything is kept on the device.")}, status=401
        )
    if not access.may(request.user, access.ENTER):
        return JsonResponse({"message": worded("This account may not enter visits.")}, status=403)
    return None


@never_cache
@require_safe
def lists(request: HttpRequest) -> HttpResponse:
    return refusal(request) or JsonResponse(field_lists())


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sync(request: HttpRequest) -> HttpResponse:
    """GET gives the token that a POST needs; POST takes one visit, exactly once."""
    if turned_away := refusal(request):
        return turned_away
    if request.method != "POST":
        return JsonResponse({"token": get_token(request), "person": request.user.get_username()})
    if int(request.META.get("CONTENT_LENGTH") or 0) > LONGEST_MESSAGE:
        return JsonResponse({"message": worded("This is too long for one visit.")}, status=413)
    try:
        message = json.loads(request.body)
        if not isinstance(message, dict):
            raise NotUnderstood("The message is not a visit.")
        received = receive(message, by=request.user)
    except (ValueError, NotUnderstood) as problem:
        return JsonResponse({"message": told(problem)}, status=400)
    except NotSaved as refused:
        remarks = [
            {"place": told(r.place), "message": told(r.message), "remedy": told(r.remedy), "field": r.field}
            for r in refused.remarks
            if r.level == "error"
        ]
        return JsonResponse({"remarks": remarks}, status=422)
    except (Clash, NotOpen):
        # It was changed in the very moment between looking and writing: the device tries again.
        return JsonResponse({"message": worded("The visit is being changed. Send again.")}, status=503)
    address = reverse("surveys:entry_visit", args=[received.visit.pk])
    answer = {"state": received.state, "visit": received.visit.pk, "address": address}
    if received.state == CLASH:
        answer["address"] = f"{address}?sent={received.receipt.key}"
        answer["differs"] = [
            {"place": told(place), "mine": mine, "stored": stored} for place, mine, stored in received.differs
        ]
        return JsonResponse(answer, status=409)
    return JsonResponse(answer, status=201 if received.state == TAKEN else 200)
