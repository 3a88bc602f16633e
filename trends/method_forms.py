"""Forms of the method desk: bring a file, publish it, choose what scores which stratum, record a check."""

import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from surveys.forms.widgets import day_input
from surveys.language import worded
from trends.index.checking import LARGEST_FILE
from trends.models import MethodCheck

DAY = day_input()

ALL, SINCE, ASIDE = "all", "since", "aside"
USES = [
    (ALL, _("Score all accepted visits by it, past ones too; the scores they had are kept beside")),
    (SINCE, _("Score only visits from a day on; earlier visits keep the version they have")),
    (ASIDE, _("Keep it on the shelf; it scores no visit")),
]


class MethodFileForm(forms.Form):
    """A method file, chosen or pasted."""

    file = forms.FileField(
        label=_("Method file (YAML)"),
        required=False,
        help_text=_("In the form that each method page offers."),
    )
    text = forms.CharField(
        label=_("Or its text"),
        strip=False,
        required=False,
        widget=forms.Textarea(
            attrs={"rows": 12, "spellcheck": "false", "autocomplete": "off", "translate": "no"}
        ),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        file, text = cleaned.get("file"), cleaned.get("text") or ""
        if file is not None:
            if file.size > LARGEST_FILE:
                raise ValidationError(
                    worded("The file is larger than {most} bytes.", most=f"{LARGEST_FILE:,}")
                )
            try:
                text = file.read().decode("utf-8-sig")
            except UnicodeDecodeError as error:
                raise ValidationError(
                    worded("The file is not text in UTF-8. Save it as UTF-8 and bring it again.")
                ) from error
        if not text.strip():
            raise ValidationError(worded("Choose a file or paste its text."))
        cleaned["text"] = text
        return cleaned


class UseForm(forms.Form):
    """Which visits a version scores; nothing is chosen beforehand, so that it is chosen on purpose."""

    use = forms.ChoiceField(label=_("Which visits does it score?"), choices=USES, widget=forms.RadioSelect)
    applies_from = forms.DateField(
        label=_("From this day on"), required=False, widget=DAY, help_text=_("Only for the second choice.")
    )
    note = forms.CharField(
        label=_("What changed, and why"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say what changed and why, so that a later reader understands.")},
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("use") == SINCE and not cleaned.get("applies_from"):
            self.add_error("applies_from", worded("Give the first day whose visits it scores."))
        return cleaned

    @property
    def in_use(self) -> bool:
        return bool(self.cleaned_data["use"] != ASIDE)

    @property
    def first_day(self) -> datetime.date | None:
        return self.cleaned_data["applies_from"] if self.cleaned_data["use"] == SINCE else None


class MethodCheckForm(forms.ModelForm):  # type: ignore[type-arg]
    """Who compared the figures with the report, when, and with what."""

    class Meta:
        model = MethodCheck
        fields = ["checked_by_name", "checked_on", "edition", "pages", "remark"]
        widgets = {"checked_on": DAY, "remark": forms.Textarea(attrs={"rows": 3})}
        labels = {"remark": _("Remark")}
        help_texts = {
            "checked_by_name": _("A person’s full name; it stands on every page that shows a score."),
            "edition": _("Author, year, title and number of the report that lay on the table."),
            "pages": _("Where the cut points and rules stand in it."),
        }

    def clean_checked_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["checked_on"]
        if day > datetime.date.today():
            raise ValidationError(worded("A check cannot lie in the future."))
        return day
