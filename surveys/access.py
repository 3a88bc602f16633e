"""Who may do what: the five roles, their permissions, and which records a person may see.

Roles are Django's groups. This table is the one place that says what each role may do; it is
written into the groups after every migration, and every view asks through this module or through
Django's own permission checks.
"""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser, Group, Permission
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.http import HttpRequest, HttpResponse

from surveys.language import worded
from surveys.models import Upload, Visit, VisitStatus
from surveys.models.visits import VisitQuerySet

Person = AbstractBaseUser | AnonymousUser

SEE_SENSITIVE = "surveys.see_sensitive"
SEE_UNACCEPTED = "surveys.see_unaccepted"
ENTER = "surveys.enter_visit"
REVIEW = "surveys.review_visit"
EXPORT = "surveys.export_data"
MANAGE = "surveys.manage_reference"
WRITE_NOTES = "trends.write_notes"
WRITE_BRIEFS = "trends.write_briefs"
EDIT_HANDOUTS = "trends.edit_handouts"

_STAFF = {SEE_SENSITIVE, EXPORT}

ROLES: dict[str, frozenset[str]] = {
    "biologist": frozenset(_STAFF | {ENTER, SEE_UNACCEPTED}),
    "reviewer": frozenset(_STAFF | {REVIEW, SEE_UNACCEPTED}),
    "planner": frozenset(_STAFF | {WRITE_NOTES, WRITE_BRIEFS}),
    "outreach": frozenset(_STAFF | {EDIT_HANDOUTS}),
    "administrator": frozenset(
        _STAFF | {ENTER, REVIEW, SEE_UNACCEPTED, MANAGE, WRITE_NOTES, WRITE_BRIEFS, EDIT_HANDOUTS}
    ),
}

# What an administrator may change in the reference lists, through Django's own admin pages.
_ADMIN_MODELS = {
    "surveys": ["samplingmethod", "watershed", "station", "taxon", "taxonalias"],
    "trends": ["landusenote", "landcover", "apitoken"],
    "auth": ["user"],
}


def sync_groups(sender: Any = None, **kwargs: Any) -> None:
    """Write the table above into the groups. Runs after each migrate; safe to run again."""
    permissions = {
        f"{p.content_type.app_label}.{p.codename}": p
        for p in Permission.objects.select_related("content_type")
    }
    for role, wanted in ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        granted = {permissions[name] for name in wanted if name in permissions}
        if role == "administrator":
            granted |= {
                p
                for p in permissions.values()
                if p.content_type.model in _ADMIN_MODELS.get(p.content_type.app_label, [])
            }
        if set(group.permissions.all()) != granted:
            group.permissions.set(granted)


def may(person: Person, permission: str) -> bool:
    """Whether this person has a permission; nobody signed in has none."""
    return bool(getattr(person, "is_active", False)) and person.has_perm(permission)  # type: ignore[union-attr]


def _signed_out(request: HttpRequest) -> HttpResponse:
    """To the sign-in page and back. What was sent is gone; the way back leads to the page it was sent from, because
    an address that only takes forms would answer with an error."""
    back = request.get_full_path()
    if request.method not in ("GET", "HEAD"):
        messages.warning(
            request,
            worded("You were signed out meanwhile, and nothing was stored. Sign in, then send it again."),
        )
        with suppress(ValueError):  # an address that cannot be taken apart
            came_from = urlsplit(request.headers.get("Referer", ""))
            if came_from.netloc == request.get_host():
                back = came_from._replace(scheme="", netloc="").geturl()
    return redirect_to_login(back)


def allowed(permission: str) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """View decorator: sign in first where nobody is signed in, refuse where the role does not allow it."""

    def decorate(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @wraps(view)
        def checked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return _signed_out(request)
            if not may(request.user, permission):
                raise PermissionDenied(permission)
            return view(request, *args, **kwargs)

        return checked

    return decorate


def visible_visits(person: Person) -> VisitQuerySet:
    """The visits a person may see: the public sees what has been accepted, and nothing else."""
    visits = Visit.objects.all()
    return visits if may(person, SEE_UNACCEPTED) else visits.accepted()


def changeable_visits(person: Person) -> VisitQuerySet:
    """The visits a person may still change by entry: drafts and returned ones."""
    if not may(person, ENTER):
        return Visit.objects.none()
    return Visit.objects.filter(
        Q(status=VisitStatus.DRAFT) | Q(status=VisitStatus.RETURNED) | Q(status=VisitStatus.SUBMITTED)
    )


def visible_uploads(person: Person) -> Any:
    """The uploads a person may open: those who enter or review see every file."""
    return Upload.objects.all() if may(person, SEE_UNACCEPTED) else Upload.objects.none()


def may_accept(person: Person, visit: Visit) -> bool:
    """A second person accepts, unless the administrator has set SAME_PERSON_MAY_ACCEPT."""
    if not may(person, REVIEW):
        return False
    return settings.SAME_PERSON_MAY_ACCEPT or visit.entered_by_id != person.pk


def role_words(request: HttpRequest) -> dict[str, Any]:
    """Template context: what the signed-in person may do, for navigation."""
    person = getattr(request, "user", None)
    if person is None or not person.is_authenticated:
        return {"can": {}, "county_name": settings.COUNTY_NAME, "contact": settings.CONTACT}
    names = {
        "enter": ENTER,
        "review": REVIEW,
        "export": EXPORT,
        "manage": MANAGE,
        "write_notes": WRITE_NOTES,
        "write_briefs": WRITE_BRIEFS,
        "edit_handouts": EDIT_HANDOUTS,
        "see_unaccepted": SEE_UNACCEPTED,
        "see_sensitive": SEE_SENSITIVE,
    }
    return {
        "can": {word: may(person, name) for word, name in names.items()},
        "county_name": settings.COUNTY_NAME,
        "contact": settings.CONTACT,
    }
