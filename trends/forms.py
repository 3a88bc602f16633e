"""Forms for land-use notes."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.forms.widgets import day_input
from surveys.models import Station
from trends.models import LandUseNote


class LandUseNoteForm(forms.ModelForm):  # type: ignore[type-arg]
    """All fields of the note that a person writes; the watershed comes from the page."""

    class Meta:
        model = LandUseNote
        fields = [
            "title",
            "category",
            "starts_on",
            "ends_on",
            "date_precision",
            "station",
            "text",
            "source",
            "public",
        ]
        widgets = {
            "starts_on": day_input(),
            "ends_on": day_input(),
            "text": forms.Textarea(attrs={"rows": 4}),
        }
        labels = {
            "title": _("Title"),
            "category": _("Category"),
            "starts_on": _("Starts on"),
            "ends_on": _("Ends on"),
            "station": _("Station"),
            "text": _("Text"),
            "source": _("Source"),
            "public": _("Public"),
        }
        help_texts = {
            "title": _("What happened, in a few words; it stands beside the chart."),
            "starts_on": _("For a date known to the year only, give 1 January and say so below."),
            "ends_on": _("Leave empty for a single day, or for something that still goes on."),
            "station": _("Leave empty when it concerns the whole creek."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["station"].queryset = Station.objects.filter(  # type: ignore[attr-defined]
            watershed=self.instance.watershed
        )
        self.fields["station"].required = False

    def _get_validation_exclusions(self) -> set[str]:
        # The watershed is not on the form, yet the rule "once per place, date and title" needs it.
        left_out: set[str] = super()._get_validation_exclusions()  # type: ignore[misc]
        return left_out - {"watershed", "withdrawn_at"}


class WithdrawForm(forms.Form):
    why = forms.CharField(
        label=_("Why is it withdrawn?"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say why, so that a later reader understands.")},
    )
