"""What a person fills in to bring an earlier state of a visit back."""

from django import forms
from django.utils.translation import gettext_lazy as _


class RestoreForm(forms.Form):
    """``number`` counts states from 1, as the page does; ``seen`` is how many there were on the page."""

    number = forms.IntegerField(label=_("Number"), widget=forms.HiddenInput, min_value=1)
    seen = forms.IntegerField(label=_("Seen"), widget=forms.HiddenInput, min_value=1)
    reason = forms.CharField(
        label=_("Why this state is right"), max_length=2_000, widget=forms.Textarea(attrs={"rows": 2})
    )
