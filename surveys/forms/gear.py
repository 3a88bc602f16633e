"""What is asked for when visits are looked up by their gear."""

from typing import Any

from django import forms

from surveys.forms.widgets import day_input


class GearForm(forms.Form):
    gear = forms.CharField(
        label="Meter or unit",
        max_length=100,
        help_text="Its number or name, or a part of it, as it was written down.",
        widget=forms.TextInput(attrs={"list": "gear-list", "autocomplete": "off"}),
    )
    whole = forms.BooleanField(
        label="Only this very name, not longer names that hold it",
        required=False,
    )
    first = forms.DateField(label="From", required=False, widget=day_input())
    last = forms.DateField(label="To", required=False, widget=day_input())

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        first, last = given.get("first"), given.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day is before the first.")
        return given
