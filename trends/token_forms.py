"""The form for a new token."""

import datetime
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from surveys.forms.widgets import day_input
from surveys.language import worded
from surveys.said import said
from trends.models import ApiToken
from trends.token_models import LONGEST_DAYS, MOST_IN_USE

USUAL_DAYS = 90


class TokenForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = ApiToken
        fields = ["name", "ends_on"]
        widgets = {"ends_on": day_input()}
        labels = {"name": _("What it is for"), "ends_on": _("Last day")}
        help_texts = {
            "name": _("For example the report or the computer that uses it."),
            "ends_on": said("At most {days} days from today.", days=LONGEST_DAYS),
        }
        error_messages = {"name": {"min_length": _("Write at least 3 letters.")}}

    def __init__(self, person: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["ends_on"].initial = timezone.localdate() + datetime.timedelta(days=USUAL_DAYS)

    def clean_ends_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["ends_on"]
        today = timezone.localdate()
        if not today <= day <= today + datetime.timedelta(days=LONGEST_DAYS):
            raise forms.ValidationError(
                worded("Give a day from today to {days} days from now.", days=LONGEST_DAYS)
            )
        return day

    def clean(self) -> dict[str, Any]:
        if ApiToken.objects.in_use().filter(person=self.person).count() >= MOST_IN_USE:
            raise forms.ValidationError(
                worded(
                    "You have {number} tokens in use. Revoke one that is not needed, then make another.",
                    number=MOST_IN_USE,
                )
            )
        return self.cleaned_data
