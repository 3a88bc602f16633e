"""How people get an account: by invitation from an administrator, never by signing up."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest
from django.utils.translation import pgettext_lazy

# Named here so that this site's catalogue holds it: the package's own Spanish for the box is that of the button.
LOGIN_LABEL = pgettext_lazy("field label", "Login")


class StaffAccountAdapter(DefaultAccountAdapter):
    """Closes the public sign-up; everything else is allauth's own way."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def populate_username(self, request: HttpRequest, user: Any) -> None:
        if not user.username:
            super().populate_username(request, user)
