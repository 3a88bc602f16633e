"""What a person fills in about a voucher: what it is, what it was confirmed as, which fish that touches."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from surveys.forms.entry import find_taxon
from surveys.forms.widgets import day_input
from surveys.language import worded
from surveys.models import Taxon, VoucherKind
from surveys.pictures import LARGEST_FILE


class TaxonByName(forms.CharField):
    """A taxon by any of its names, from a list that the browser offers while one types."""

    def __init__(self, **given: Any) -> None:
        widget = forms.TextInput(attrs={"list": "taxa", "autocomplete": "off"})
        super().__init__(max_length=300, widget=widget, **given)

    def clean(self, value: Any) -> Taxon:
        text = super().clean(value)
        taxon = find_taxon(text)
        if taxon is None:
            raise forms.ValidationError(
                worded("{name} is not in the list of taxa. Choose one from the list.", name=text)
            )
        return taxon


class VoucherForm(forms.Form):
    taxon = TaxonByName(label=_("Name it was called by at the creek"))
    number = forms.CharField(
        label=_("Number on the label"),
        max_length=60,
        required=False,
        help_text=_("Leave empty if it has none."),
    )
    kind = forms.ChoiceField(label=_("What is kept"), choices=VoucherKind.choices)
    photo = forms.FileField(
        label=_("Photograph"),
        required=False,
        help_text=_(
            "JPEG, PNG or WebP. Only the picture is kept: what the camera wrote beside it is dropped."
        ),
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    remark = forms.CharField(label=_("Remark"), max_length=300, required=False)

    def clean_photo(self) -> bytes | None:
        sent = self.cleaned_data["photo"]
        if sent is None:
            return None
        if sent.size > LARGEST_FILE:
            raise forms.ValidationError(
                worded(
                    "The file is larger than {n} MB. Send a smaller photograph.", n=LARGEST_FILE // 1024**2
                )
            )
        content: bytes = sent.read()
        return content


class ConfirmForm(forms.Form):
    confirmed_as = TaxonByName(label=_("Confirmed as"))
    confirmed_by = forms.CharField(label=_("Who confirmed it"), max_length=100)
    confirmed_on = forms.DateField(label=_("On which day"), widget=day_input())

    def clean_confirmed_on(self) -> Any:
        day = self.cleaned_data["confirmed_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(worded("This day is in the future."))
        return day


class CorrectForm(forms.Form):
    """Which passes of the visit hold fish that were called by the wrong name."""

    revision = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    passes = forms.TypedMultipleChoiceField(
        label=_("Passes to put right"),
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        choices=[(number, number) for number in range(1, 100)],
        error_messages={"required": _("Choose at least one pass.")},
    )
