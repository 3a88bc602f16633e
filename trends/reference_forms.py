"""Forms of the species desk: traits, trait lists, and merging or splitting taxa."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from surveys.models import Station, Taxon
from trends.method_forms import DAY
from trends.reference_models import TraitList
from trends.trait_changes import TRAIT_FIELDS

WHY = {"required": _("Say why, so that a later reader understands.")}

# Not "unknown", so that a trait is named as everywhere else.
ANSWERS = [("unknown", _("not known")), ("true", _("yes")), ("false", _("no"))]
LIST_LABELS = {"name": _("Name"), "dated": _("Dated"), "region": _("Region"), "source": _("Source")}
ONCE = _("There is a trait list of this name already. Give this one another name.")


def reason_field(label: Any = None) -> forms.CharField:
    return forms.CharField(
        label=label or _("Why"),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages=WHY,
        help_text=_("Kept with the change."),
    )


class TraitForm(forms.ModelForm):  # type: ignore[type-arg]
    """The traits that scores rest on; the names have their own operations."""

    reason = reason_field(_("Why, and from which source"))

    class Meta:
        model = Taxon
        fields = [*TRAIT_FIELDS, "traits_source"]
        widgets = {"traits_source": forms.Textarea(attrs={"rows": 2})}
        labels = {
            "family": _("Family"),
            "rank": _("Kind of record"),
            "tolerance": _("Tolerance of disturbance"),
            "trophic_guild": _("Feeds as"),
            "benthic": _("Lives on the bottom"),
            "lithophilic": _("Spawns on clean stones"),
            "native": _("Native here"),
            "migratory": _("Migrates between fresh and salt water"),
            "hybrid": _("A cross of two species"),
            "traits_source": _("Source of the traits"),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field.widget, forms.NullBooleanSelect):
                field.widget.choices = ANSWERS


class TraitListForm(forms.ModelForm):  # type: ignore[type-arg]
    """A list and its file."""

    file = forms.FileField(
        label=_("File (CSV or workbook)"),
        help_text=_(
            "Columns as in the taxon list: scientific_name, and any of tolerance, trophic_guild, benthic, "
            "lithophilic, native, migratory."
        ),
    )

    class Meta:
        model = TraitList
        fields = ["name", "dated", "region", "source"]
        labels = LIST_LABELS
        error_messages = {"name": {"unique": ONCE}}
        widgets = {"dated": DAY}


class CountyListForm(forms.ModelForm):  # type: ignore[type-arg]
    """Name and date of the traits that stand on the species list."""

    class Meta:
        model = TraitList
        fields = ["name", "dated", "region", "source"]
        labels = LIST_LABELS
        error_messages = {"name": {"unique": ONCE}}
        widgets = {"dated": DAY}


class StrataForm(forms.Form):
    """Which strata a list serves."""

    strata = forms.MultipleChoiceField(
        label=_("Strata whose stations are scored with it"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    reason = reason_field()

    def __init__(self, strata: list[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["strata"].choices = [(one, one) for one in strata]  # type: ignore[attr-defined]


class MergeForm(forms.Form):
    into = forms.ModelChoiceField(
        label=_("Merge it into"),
        queryset=Taxon.objects.none(),
        help_text=_("The name that stands afterwards."),
    )
    reason = reason_field(_("Why they are one"))

    def __init__(self, taxon: Taxon, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["into"].queryset = Taxon.objects.exclude(pk=taxon.pk)  # type: ignore[attr-defined]


class SplitForm(forms.Form):
    new_name = forms.CharField(
        label=_("Scientific name split off"), max_length=200, help_text=_("On the list already, or new.")
    )
    new_common_name = forms.CharField(label=_("Its common name"), max_length=200, required=False)
    from_day = forms.DateField(label=_("Visits from this day on"), required=False, widget=DAY)
    stations = forms.ModelMultipleChoiceField(
        label=_("Only at these stations"),
        queryset=Station.objects.order_by("code"),
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 8}),
        help_text=_("None chosen: at all stations."),
    )
    reason = reason_field(_("Why they are two"))
