"""Keys with which a program reads what one person may read. Only a fingerprint of each is kept."""

import datetime
import secrets
from typing import Any, Self

from django.conf import settings
from django.core.validators import MinLengthValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.translation import gettext_lazy as _

from surveys.said import marked

# Says in a log or a repository what this is, so that a leaked one is found by searching.
MARK = "rillmark"
NAME_BYTES, SECRET_BYTES = 6, 32
LONGEST_DAYS = 366
# More than this many in use by one person are hardly looked after.
MOST_IN_USE = 10


def _fingerprint(handle: str, secret: str) -> str:
    """Salted with the handle and keyed by the site's own key.

    The secret is drawn at random from 2**256, so that no slow hash is needed against guessing.
    """
    return salted_hmac(f"trends.ApiToken.{handle}", secret, algorithm="sha256").hexdigest()


class ApiTokenQuerySet(models.QuerySet["ApiToken"]):
    def in_use(self) -> Self:
        return self.filter(revoked_at__isnull=True, ends_on__gte=timezone.localdate(), person__is_active=True)

    def made(self, person: Any, name: str, ends_on: datetime.date) -> tuple["ApiToken", str]:
        """A new token and its text, which cannot be had again."""
        handle, secret = secrets.token_hex(NAME_BYTES), secrets.token_urlsafe(SECRET_BYTES)
        token = self.create(
            person=person, name=name, ends_on=ends_on, handle=handle, fingerprint=_fingerprint(handle, secret)
        )
        return token, f"{MARK}_{handle}_{secret}"

    def found(self, text: str) -> "ApiToken | None":
        """The token in use that this text is of, if any."""
        mark, _, rest = text.partition("_")
        handle, _, secret = rest.partition("_")
        if mark != MARK or not secret or not handle.isascii() or "\x00" in handle:
            return None
        token = self.in_use().select_related("person").filter(handle=handle).first()
        # Compared in any case, so that the time taken does not tell whether the handle exists.
        known = token.fingerprint if token else ""
        return token if constant_time_compare(known, _fingerprint(handle, secret)) else None


class ApiToken(models.Model):
    """One key of one person: what it is for, until when, and when it was last used."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="api_tokens")
    name = models.CharField(
        max_length=80, validators=[MinLengthValidator(3)], help_text=_("What it is for, such as a report.")
    )
    handle = models.CharField(max_length=2 * NAME_BYTES, unique=True, editable=False)
    fingerprint = models.CharField(max_length=64, editable=False)
    made_at = models.DateTimeField(auto_now_add=True)
    ends_on = models.DateField(help_text=_("Last day on which it works."))
    last_used_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )

    objects = ApiTokenQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(fingerprint=""), name="api_token_has_a_fingerprint"),
            models.CheckConstraint(condition=~Q(name=""), name="api_token_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def state(self) -> str:
        if self.revoked_at:
            return marked("revoked")
        return marked("in use") if self.ends_on >= timezone.localdate() else marked("ended")

    def revoke(self, by: Any) -> None:
        """End it for good; who did it and when stays on record."""
        if self.revoked_at is None:
            self.revoked_at, self.revoked_by = timezone.now(), by
            self.save(update_fields=["revoked_at", "revoked_by"])
