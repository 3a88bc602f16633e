"""What a reviewer fills in."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.language import worded
from surveys.models import VisitStatus

ACCEPT, RETURN, WITHDRAW, REOPEN = "accept", "return", "withdraw", "reopen"
TARGETS = {
    ACCEPT: VisitStatus.ACCEPTED,
    RETURN: VisitStatus.RETURNED,
    WITHDRAW: VisitStatus.WITHDRAWN,
    REOPEN: VisitStatus.DRAFT,
}


class StepForm(forms.Form):
    """One step for one visit or for several."""

    action = forms.ChoiceField(
        label=_("Action"), choices=[(name, name) for name in TARGETS], widget=forms.HiddenInput
    )
    remark = forms.CharField(
        label=_("Remark"),
        required=False,
        max_length=2_000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Needed to return or withdraw: say what has to be put right, or why it must not count."),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("action") in (RETURN, WITHDRAW) and not (cleaned.get("remark") or "").strip():
            words = worded("Say why: the person who entered the visit needs to know what to do.")
            self.add_error("remark", words)
        return cleaned


class VisitsForm(StepForm):
    """The same step for the visits that are ticked."""

    visits = forms.TypedMultipleChoiceField(
        coerce=int, label=_("Visits"), error_messages={"required": _("Tick at least one visit.")}
    )

    def __init__(self, ids: list[int], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["visits"].choices = [(pk, pk) for pk in ids]  # type: ignore[attr-defined]
