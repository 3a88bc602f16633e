"""What a person fills in on the season page: plans, permits, what was not sampled, the close."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.forms.widgets import day_input
from surveys.models import CrewMember, NotSampled, Permit, PlannedVisit, Station, StationVersion


class StationByCode(forms.ModelChoiceField):
    """A station chosen by its code, from a list that the browser offers while one types."""

    def __init__(self) -> None:
        super().__init__(
            Station.objects.all(),
            to_field_name="code",
            label=_("Station"),
            widget=forms.TextInput(attrs={"list": "stations", "autocomplete": "off"}),
            error_messages={
                "invalid_choice": _("There is no station with this code. Choose one from the list.")
            },
        )

    def to_python(self, value: Any) -> Any:
        text = str(value or "").strip()
        return super().to_python(text.split(" ")[0] if text else None)

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int):
            return Station.objects.filter(pk=value).values_list("code", flat=True).first()
        return super().prepare_value(value)


class PlanForm(forms.ModelForm):
    station = StationByCode()

    class Meta:
        model = PlannedVisit
        fields = ("station", "planned_on", "crew", "note")
        widgets = {"planned_on": day_input()}

    def __init__(self, year: int, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.year = year

    def _get_validation_exclusions(self) -> set[str]:
        # The year is no field of the form, but the rules of the plan rest on it.
        return super()._get_validation_exclusions() - {"year"}  # type: ignore[misc]


class NotSampledForm(PlanForm):
    class Meta:
        model = NotSampled
        fields = ("station", "kind", "day", "reason")
        widgets = {"day": day_input()}


class PermitForm(forms.ModelForm):
    class Meta:
        model = Permit
        fields = (
            "number",
            "body",
            "valid_from",
            "valid_to",
            "watersheds",
            "waters",
            "limits",
            "report_due",
            "report_sent",
        )
        widgets = {
            **{name: day_input() for name in ("valid_from", "valid_to", "report_due", "report_sent")},
            "limits": forms.Textarea(attrs={"rows": 3}),
            "watersheds": forms.CheckboxSelectMultiple,
        }


class CrewForm(forms.ModelForm):
    class Meta:
        model = CrewMember
        fields = (
            "initials",
            "course",
            "course_on",
            "course_until",
            "first_aid_until",
            "cpr_until",
            "may_lead",
            "left_on",
        )
        widgets = {
            name: day_input()
            for name in ("course_on", "course_until", "first_aid_until", "cpr_until", "left_on")
        }


class VersionForm(forms.ModelForm):
    class Meta:
        model = StationVersion
        fields = (
            "valid_from",
            "reach_length_m",
            "width_rule",
            "latitude",
            "longitude",
            "position_uncertainty_m",
            "reason",
            "joined_why",
        )
        widgets = {"valid_from": day_input()}

    def __init__(self, station: Station, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.station = station

    def _get_validation_exclusions(self) -> set[str]:
        # The station is no field of the form, but one layout a day rests on it.
        return super()._get_validation_exclusions() - {"station"}  # type: ignore[misc]


class CloseForm(forms.Form):
    remark = forms.CharField(
        label=_("Open questions for next year"),
        required=False,
        max_length=4_000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_(
            "Kept with the report: gear and calibration, what to look at, what stays unanswered and why."
        ),
    )


class ReopenForm(forms.Form):
    reason = forms.CharField(
        label=_("Why the season is opened again"), max_length=2_000, widget=forms.Textarea(attrs={"rows": 2})
    )
