"""Forms of the method desk: bring a file, publish it, choose what scores which stratum, record a check."""

import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from surveys.forms.widgets import day_input
from trends.index.checking import LARGEST_FILE
from trends.models import MethodCheck

DAY = day_input()

ALL, SINCE, ASIDE = "all", "since", "aside"
USES = [
    (ALL, "Score all accepted visits by it, past ones too; the scores they had are kept beside"),
    (SINCE, "Score only visits from a day on; earlier visits keep the version they have"),
    (ASIDE, "Keep it on the shelf; it scores no visit"),
]


class MethodFileForm(forms.Form):
    """A method file, chosen or pasted."""

    file = forms.FileField(
        label="Method file (YAML)", required=False, help_text="In the form that each method page offers."
    )
    text = forms.CharField(
        label="Or its text",
        strip=False,
        required=False,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "autocomplete": "off"}),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        file, text = cleaned.get("file"), cleaned.get("text") or ""
        if file is not None:
            if file.size > LARGEST_FILE:
                raise ValidationError(f"The file is larger than {LARGEST_FILE:,} bytes.")
            try:
                text = file.read().decode("utf-8-sig")
            except UnicodeDecodeError as error:
                raise ValidationError(
                    "The file is not text in UTF-8. Save it as UTF-8 and bring it again."
                ) from error
        if not text.strip():
            raise ValidationError("Choose a file or paste its text.")
        cleaned["text"] = text
        return cleaned


class UseForm(forms.Form):
    """Which visits a version scores; nothing is chosen beforehand, so that it is chosen on purpose."""

    use = forms.ChoiceField(label="Which visits does it score?", choices=USES, widget=forms.RadioSelect)
    applies_from = forms.DateField(
        label="From this day on", required=False, widget=DAY, help_text="Only for the second choice."
    )
    note = forms.CharField(
        label="What changed, and why",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what changed and why, so that a later reader understands."},
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("use") == SINCE and not cleaned.get("applies_from"):
            self.add_error("applies_from", "Give the first day whose visits it scores.")
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
        help_texts = {
            "checked_by_name": "A person’s full name; it stands on every page that shows a score.",
            "edition": "Author, year, title and number of the report that lay on the table.",
            "pages": "Where the cut points and rules stand in it.",
        }

    def clean_checked_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["checked_on"]
        if day > datetime.date.today():
            raise ValidationError("A check cannot lie in the future.")
        return day
