"""Trait lists beside the county's own, and what was done to names: kept so that it can be read back."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from surveys.models import Taxon
from surveys.models.history import keeps_history


@keeps_history()
class TraitList(models.Model):
    """A named, dated classification. The county's own is the traits on the species list itself."""

    name = models.CharField(max_length=200, unique=True)
    dated = models.DateField(help_text=_("Date of the classification, not of its arrival here."))
    region = models.CharField(max_length=200, blank=True, help_text=_("Where it was made for."))
    source = models.CharField(max_length=500, help_text=_("Author, year, title, table."))
    is_county = models.BooleanField(default=False)
    # Strata whose stations are scored with it, by their ids; a stratum is served by one list at most.
    strata = models.JSONField(default=list, blank=True)
    # Strata whose method was calibrated on it, and where it is not used all the same: the county has chosen its
    # own traits there, or nobody has looked yet at what the list would change.
    held_back = models.JSONField(default=list, blank=True)
    brought_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    brought_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-is_county", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["is_county"], condition=Q(is_county=True), name="trait_list_of_the_county_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.dated:%Y-%m-%d}"


@keeps_history()
class ListedTraits(models.Model):
    """What a list says of one taxon. A trait that is null is not known to the list; one left out, not listed."""

    trait_list = models.ForeignKey(TraitList, on_delete=models.CASCADE, related_name="entries")
    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="listed_traits")
    traits = models.JSONField()

    class Meta:
        ordering = ["trait_list", "taxon__scientific_name"]
        verbose_name_plural = "listed traits"
        constraints = [
            models.UniqueConstraint(fields=["trait_list", "taxon"], name="listed_traits_once_per_taxon")
        ]

    def __str__(self) -> str:
        return f"{self.taxon_id} on {self.trait_list_id}"


class TaxonOperation(models.Model):
    """A merge or a split of taxa: what was moved, by whom, why. Written once, never changed."""

    class Kind(models.TextChoices):
        MERGE = "merge", _("merged")
        SPLIT = "split", _("split")

    kind = models.CharField(max_length=8, choices=Kind.choices)
    # The taxon that stands after a merge, or that was split; the name of the other, which may be gone.
    taxon = models.ForeignKey(Taxon, on_delete=models.SET_NULL, null=True, related_name="operations")
    other = models.ForeignKey(Taxon, on_delete=models.SET_NULL, null=True, related_name="+")
    taxon_name = models.CharField(max_length=200)
    other_name = models.CharField(max_length=200)
    words = models.TextField()
    visits = models.PositiveIntegerField()
    catches = models.PositiveIntegerField()
    reason = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind} of {self.taxon_name} and {self.other_name}"
