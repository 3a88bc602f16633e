"""What an administrator fills in to set a rule of the checks."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.check_settings import RuleShown
from surveys.language import told, worded

REASON = "reason"


def _field_name(limit: str) -> str:
    return f"limit_{limit}"


class RuleForm(forms.Form):
    """The limits of one rule, whether it is off, and why."""

    def __init__(self, shown: RuleShown, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shown = shown
        for one in shown.limits:
            limit = one.limit
            title, unit = told(limit.title), f" ({told(limit.unit)})" if limit.unit else ""
            self.fields[_field_name(limit.name)] = forms.FloatField(
                label=f"{title[:1].upper()}{title[1:]}{unit}",
                initial=int(one.value) if one.value == int(one.value) else one.value,
                help_text=worded(
                    "Proposed: {value}. {range}", value=one.default_words, range=told(limit.range_words)
                ),
                widget=forms.NumberInput(
                    attrs={"step": "1" if limit.whole else "any", "inputmode": "decimal"}
                ),
            )
        if shown.rule.may_be_off:
            self.fields["off"] = forms.BooleanField(
                label=_("Switch this rule off"),
                required=False,
                initial=shown.off,
                help_text=_("It then asks nobody any more, in files and on typed sheets alike."),
            )
        self.fields[REASON] = forms.CharField(
            label=_("Why"),
            max_length=500,
            widget=forms.Textarea(attrs={"rows": 2}),
            help_text=_("Kept with your name and the day, and shown to everybody who enters or reviews."),
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if all(_field_name(one.limit.name) in cleaned for one in self.shown.limits):
            for name, fault in self.shown.rule.faults(self.limits).items():
                self.add_error(_field_name(name), fault)
        return cleaned

    @property
    def limits(self) -> dict[str, float]:
        """The limits as typed, whole numbers as such."""
        typed = {one.limit.name: self.cleaned_data[_field_name(one.limit.name)] for one in self.shown.limits}
        return {name: int(value) if value == int(value) else value for name, value in typed.items()}


class BackForm(forms.Form):
    """Set a rule back to what is proposed."""

    reason = forms.CharField(max_length=500)
