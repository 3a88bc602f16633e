"""What is asked for when visits are looked up by their gear."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.forms.widgets import day_input


class GearForm(forms.Form):
    gear = forms.CharField(
        label=_("Meter or unit"),
        max_length=100,
        help_text=_("Its number or name, or a part of it, as it was written down."),
        widget=forms.TextInput(attrs={"list": "gear-list", "autocomplete": "off"}),
    )
    whole = forms.BooleanField(
        label=_("Only this very name, not longer names that hold it"),
        required=False,
    )
    first = forms.DateField(label=_("From"), required=False, widget=day_input())
    last = forms.DateField(label=_("To"), required=False, widget=day_input())

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        first, last = given.get("first"), given.get("last")
        if first and last and last < first:
            self.add_error("last", _("The last day is before the first."))
        return given
