"""What is caught: taxa with their traits, and the other names they go by."""

from django.contrib.postgres.indexes import GinIndex, OpClass
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower, Upper
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from surveys.models.history import keeps_history


class Tolerance(models.TextChoices):
    INTOLERANT = "intolerant", _("intolerant")
    MODERATE = "moderate", _("moderate")
    TOLERANT = "tolerant", _("tolerant")
    __empty__ = _("not known")


class TrophicGuild(models.TextChoices):
    INVERTIVORE = "invertivore", _("invertivore")
    INSECTIVORE = "insectivore", _("insectivore")
    OMNIVORE = "omnivore", _("omnivore")
    GENERALIST = "generalist", _("generalist")
    HERBIVORE = "herbivore", _("herbivore")
    TOP_PREDATOR = "top predator", _("top predator")
    FILTER_FEEDER = "filter feeder", _("filter feeder")
    __empty__ = _("not known")


class Rank(models.TextChoices):
    SPECIES = "species", _("species")
    SUBSPECIES = "subspecies", _("subspecies")
    GENUS = "genus", _("genus or group")
    HYBRID = "hybrid", _("hybrid")


@keeps_history()
class Taxon(models.Model):
    """A row of the list. An empty trait is not known, which is not the same as no."""

    scientific_name = models.CharField(max_length=200, unique=True)
    authorship = models.CharField(
        max_length=200,
        blank=True,
        help_text=_("Who named it and when, as written after the scientific name, brackets included."),
    )
    common_name = models.CharField(max_length=200, blank=True)
    slug = models.SlugField(max_length=200, unique=True)
    code = models.CharField(max_length=40, blank=True, help_text=_("Short code used on field sheets."))
    rank = models.CharField(max_length=20, choices=Rank.choices, default=Rank.SPECIES)
    family = models.CharField(max_length=100, blank=True)
    itis_tsn = models.PositiveIntegerField(null=True, blank=True)
    tolerance = models.CharField(max_length=20, choices=Tolerance.choices, blank=True)
    trophic_guild = models.CharField(max_length=20, choices=TrophicGuild.choices, blank=True)
    benthic = models.BooleanField(null=True, blank=True)
    lithophilic = models.BooleanField(null=True, blank=True)
    native = models.BooleanField(null=True, blank=True)
    migratory = models.BooleanField(null=True, blank=True)
    hybrid = models.BooleanField(default=False)
    look_alikes = models.TextField(blank=True, help_text=_("Scientific names, separated by semicolons."))
    sensitive_location = models.BooleanField(
        default=False, help_text=_("Exact places are withheld from the public.")
    )
    traits_source = models.TextField(blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["scientific_name"]
        verbose_name_plural = "taxa"
        constraints = [
            models.UniqueConstraint(Lower("scientific_name"), name="taxon_scientific_name_once"),
            models.UniqueConstraint(Lower("code"), condition=~Q(code=""), name="taxon_code_once"),
            models.CheckConstraint(
                condition=Q(tolerance__in=["", *Tolerance.values]), name="taxon_tolerance_known_word"
            ),
            models.CheckConstraint(
                condition=Q(trophic_guild__in=["", *TrophicGuild.values]), name="taxon_guild_known_word"
            ),
        ]
        indexes = [
            GinIndex(
                OpClass(Upper("scientific_name"), name="gin_trgm_ops"), name="taxon_scientific_trigrams"
            ),
            GinIndex(OpClass(Upper("common_name"), name="gin_trgm_ops"), name="taxon_common_trigrams"),
        ]

    def __str__(self) -> str:
        return f"{self.common_name} ({self.scientific_name})" if self.common_name else self.scientific_name

    def get_absolute_url(self) -> str:
        return reverse("trends:species", args=[self.slug])

    @property
    def look_alike_names(self) -> list[str]:
        return [name.strip() for name in self.look_alikes.split(";") if name.strip()]

    @property
    def is_species(self) -> bool:
        """Whether it counts towards richness: hybrids and groups above the species do not."""
        return not self.hybrid and self.rank in (Rank.SPECIES, Rank.SUBSPECIES)


class TaxonAlias(models.Model):
    """Another name a taxon was met under: an old name, a spelling, a local word."""

    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="aliases")
    name = models.CharField(max_length=200)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "taxon aliases"
        constraints = [models.UniqueConstraint(Lower("name"), name="taxon_alias_once")]
        indexes = [GinIndex(OpClass(Upper("name"), name="gin_trgm_ops"), name="taxon_alias_trigrams")]

    def __str__(self) -> str:
        return self.name
