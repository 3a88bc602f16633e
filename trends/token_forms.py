"""The form for a new token."""

import datetime
from typing import Any

from django import forms
from django.utils import timezone

from surveys.forms.widgets import day_input
from trends.models import ApiToken
from trends.token_models import LONGEST_DAYS, MOST_IN_USE

USUAL_DAYS = 90


class TokenForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = ApiToken
        fields = ["name", "ends_on"]
        widgets = {"ends_on": day_input()}
        labels = {"name": "What it is for", "ends_on": "Last day"}
        help_texts = {
            "name": "For example the report or the computer that uses it.",
            "ends_on": f"At most {LONGEST_DAYS} days from today.",
        }

    def __init__(self, person: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["ends_on"].initial = timezone.localdate() + datetime.timedelta(days=USUAL_DAYS)

    def clean_ends_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["ends_on"]
        today = timezone.localdate()
        if not today <= day <= today + datetime.timedelta(days=LONGEST_DAYS):
            raise forms.ValidationError(f"Give a day from today to {LONGEST_DAYS} days from now.")
        return day

    def clean(self) -> dict[str, Any]:
        if ApiToken.objects.in_use().filter(person=self.person).count() >= MOST_IN_USE:
            raise forms.ValidationError(
                f"You have {MOST_IN_USE} tokens in use. Revoke one that is not needed, then make another."
            )
        return self.cleaned_data
