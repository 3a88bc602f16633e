"""What a person fills in to send a file and to confirm it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.uploads.plan import Plan


class UploadForm(forms.Form):
    file = forms.FileField(
        label=_("Season file"),
        help_text=_("A .csv file (UTF-8) or the first sheet of an .xlsx workbook, at most 20 MB."),
        max_length=255,
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx"}),
    )


class TakeForm(forms.Form):
    """Asks only for what the plan needs: a word on warnings, a word on what is replaced."""

    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)
    looked = forms.BooleanField(label=_("I have looked at the warnings, and the file is right as it is"))
    replace = forms.BooleanField(label=_("Replace the visits that are already held with what this file says"))

    def __init__(self, plan: Plan, data: Any = None) -> None:
        super().__init__(data, initial={"seen": plan.mark()})
        if not plan.has_warnings:
            del self.fields["looked"]
        if not plan.changed:
            del self.fields["replace"]
