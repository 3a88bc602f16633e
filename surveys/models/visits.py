"""What was done and caught: a visit, its passes, and the catch of each pass."""

from typing import Any

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.contrib.postgres.functions import TransactionNow
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from surveys.language import worded
from surveys.models.field_words import (
    BottomVisible,
    ConductivityBasis,
    SafetyCheck,
    StopNets,
    Waveform,
)
from surveys.models.history import keeps_history
from surveys.models.locked import catch_locks, pass_locks, visit_locks
from surveys.models.places import SamplingMethod, Station, Watershed
from surveys.models.taxa import Taxon
from surveys.said import marked, said


class VisitStatus(models.TextChoices):
    DRAFT = "draft", _("draft")
    SUBMITTED = "submitted", _("submitted")
    ACCEPTED = "accepted", _("accepted")
    RETURNED = "returned", _("returned")
    WITHDRAWN = "withdrawn", _("withdrawn")


class VisitQuerySet(models.QuerySet["Visit"]):
    def accepted(self) -> "VisitQuerySet":
        return self.filter(status=VisitStatus.ACCEPTED)

    def in_watershed(self, watershed: Watershed) -> "VisitQuerySet":
        return self.filter(station__watershed=watershed)

    def awaiting_review(self) -> "VisitQuerySet":
        return self.filter(status=VisitStatus.SUBMITTED)

    def with_places(self) -> "VisitQuerySet":
        return self.select_related("station__watershed", "method")

    def with_catches(self) -> "VisitQuerySet":
        return self.prefetch_related("passes__catches__taxon")


def _between(field: str, low: float, high: float, name: str, words: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__range": (low, high)}),
        name=name,
        violation_error_message=said(
            "{words} lies between {low} and {high}, or is left empty.",
            words=words,
            low=f"{low:g}",
            high=f"{high:g}",
        ),
    )


def _adds_up(fields: tuple[str, str, str], name: str, words: str) -> models.CheckConstraint:
    """Either none of the parts is known, or all are and they make up the count."""
    first, second, third = fields
    # A comparison with nothing is neither true nor false to the database, which would let it pass.
    known = Q(**{f"{field}__isnull": False for field in fields})
    return models.CheckConstraint(
        condition=Q(**{f"{field}__isnull": True for field in fields})
        | known & Q(count=F(first) + F(second) + F(third)),
        name=name,
        violation_error_message=said("The fish of {words} do not add up to the count.", words=words),
    )


def added_at_field() -> "models.DateTimeField[Any, Any]":
    """When a row was added, written by the database: the history can then tell what an earlier state of
    its visit did not hold yet. Empty for rows that were there before this was kept."""
    return models.DateTimeField(null=True, editable=False, db_default=TransactionNow())


# Hard limits of the water readings: outside them a value is a slip of the pen, not a creek.
WATER_LIMITS: dict[str, tuple[float, float, str]] = {
    "water_temp_c": (-1, 40, marked("Water temperature in degrees C")),
    "conductivity_us_cm": (1, 50_000, marked("Conductivity in microsiemens per cm")),
    "dissolved_oxygen_mg_l": (0, 25, marked("Dissolved oxygen in mg/L")),
    "ph": (0, 14, marked("pH")),
    "turbidity_ntu": (0, 4_000, marked("Turbidity in NTU")),
    "discharge_m3_s": (0, 10_000, marked("Discharge in m3/s")),
    "air_temp_c": (-40, 55, marked("Air temperature in degrees C")),
}
# Hard limits of what was set at the unit: what a unit can do, not what it should do.
GEAR_LIMITS: dict[str, tuple[float, float, str]] = {
    "volts_first": (0, 1_200, marked("Voltage at the start in V")),
    "volts_last": (0, 1_200, marked("Voltage at the end in V")),
    "pulse_hz_first": (0, 200, marked("Pulse frequency at the start in Hz")),
    "pulse_hz_last": (0, 200, marked("Pulse frequency at the end in Hz")),
    "pulse_width_ms_first": (0, 20, marked("Pulse width at the start in ms")),
    "pulse_width_ms_last": (0, 20, marked("Pulse width at the end in ms")),
    "anodes": (1, 50, marked("The number of anodes")),
    "netters": (1, 50, marked("The number of netters")),
}
REACH_LIMITS: dict[str, tuple[float, float, str]] = {
    "reach_length_m": (10, 1_000, marked("Reach length in m")),
    "mean_width_m": (0.2, 50, marked("Mean width in m")),
}


@keeps_history()
class Visit(models.Model):
    """One station on one date. Reach and width are kept here too, so that a later change at the
    station does not rewrite history."""

    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="visits")
    visit_date = models.DateField()
    method = models.ForeignKey(SamplingMethod, on_delete=models.PROTECT, related_name="visits")
    reach_length_m = models.FloatField(null=True, blank=True)
    mean_width_m = models.FloatField(null=True, blank=True)
    stop_nets = models.CharField(max_length=12, choices=StopNets.choices, blank=True)
    water_temp_c = models.FloatField(null=True, blank=True)
    conductivity_us_cm = models.FloatField(null=True, blank=True)
    dissolved_oxygen_mg_l = models.FloatField(null=True, blank=True)
    ph = models.FloatField(null=True, blank=True)
    turbidity_ntu = models.FloatField(null=True, blank=True)
    discharge_m3_s = models.FloatField(null=True, blank=True)
    air_temp_c = models.FloatField(null=True, blank=True)
    conductivity_basis = models.CharField(
        max_length=10, choices=ConductivityBasis.choices, blank=True, default="", db_default=""
    )
    bottom_visible = models.CharField(
        max_length=10, choices=BottomVisible.choices, blank=True, default="", db_default=""
    )
    weather = models.CharField(
        max_length=200, blank=True, default="", db_default="", help_text=_("And rain of the last two days.")
    )
    meters = models.CharField(
        max_length=200, blank=True, default="", db_default="", help_text=_("Serial numbers of the meters.")
    )
    calibrated_on = models.DateField(null=True, blank=True)
    widths_m = ArrayField(
        models.FloatField(), default=list, db_default=[], blank=True, help_text=_("At each transect, m.")
    )
    crew_lead = models.CharField(max_length=100, blank=True)
    identifier = models.CharField(
        max_length=100,
        blank=True,
        default="",
        db_default="",
        help_text=_("Who named the fish; initials are enough, never published."),
    )
    crew_size = models.PositiveSmallIntegerField(null=True, blank=True)
    checks_made = ArrayField(
        models.CharField(max_length=30, choices=SafetyCheck.choices),
        default=list,
        db_default=[],
        blank=True,
        help_text=_("Looked at before the current went on. One that is not named is not known."),
    )
    checks_by = models.CharField(max_length=100, blank=True, default="", db_default="")
    notes = models.TextField(blank=True)
    status = models.CharField(max_length=12, choices=VisitStatus.choices, default=VisitStatus.DRAFT)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    upload = models.ForeignKey("surveys.Upload", on_delete=models.SET_NULL, null=True, related_name="visits")
    # Raised by one with every change of what was caught or measured; results name the one they used.
    revision = models.PositiveIntegerField(default=1)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["station__code", "visit_date"]
        triggers = visit_locks()
        permissions = [
            ("enter_visit", "Can enter and upload visits"),
            ("review_visit", "Can accept, return and withdraw visits"),
            ("see_unaccepted", "Can see visits that are not accepted"),
            ("see_sensitive", "Can see exact places of sensitive taxa"),
            ("export_data", "Can export charts and data"),
            ("manage_reference", "Can manage stations, taxa and methods"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["station", "visit_date"],
                name="visit_one_per_station_and_date",
                violation_error_message=_("This station already has a visit on that day."),
            ),
            models.CheckConstraint(
                condition=Q(status__in=VisitStatus.values), name="visit_status_known_word"
            ),
            models.CheckConstraint(
                condition=Q(stop_nets__in=["", *StopNets.values]), name="visit_stop_nets_known_word"
            ),
            *(
                _between(field, low, high, f"visit_{field}_within_limits", words)
                for field, (low, high, words) in (WATER_LIMITS | REACH_LIMITS).items()
            ),
            models.CheckConstraint(
                condition=Q(conductivity_basis__in=["", *ConductivityBasis.values]),
                name="visit_conductivity_basis_known_word",
            ),
            models.CheckConstraint(
                condition=Q(bottom_visible__in=["", *BottomVisible.values]),
                name="visit_bottom_visible_known_word",
            ),
            models.CheckConstraint(
                condition=Q(checks_made__contained_by=SafetyCheck.values),
                name="visit_checks_made_known_words",
            ),
        ]
        indexes = [models.Index(fields=["status", "visit_date"], name="visit_by_status_and_date")]

    def __str__(self) -> str:
        return worded("{station} on {day}", station=self.station.code, day=f"{self.visit_date:%Y-%m-%d}")

    def get_absolute_url(self) -> str:
        return reverse("trends:visit", args=[self.pk])

    @property
    def is_accepted(self) -> bool:
        return self.status == VisitStatus.ACCEPTED

    @property
    def area_m2(self) -> float | None:
        """Wetted area fished, or None where the length or the width is not known."""
        if self.reach_length_m is None or self.mean_width_m is None:
            return None
        return self.reach_length_m * self.mean_width_m


class VisitStep(models.Model):
    """Who moved a visit from one status to the next, when, and in what words."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="steps")
    status = models.CharField(max_length=12, choices=VisitStatus.choices)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    remark = models.TextField(blank=True)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.status}"


@keeps_history()
class RemovalPass(models.Model):
    """One trip through the reach. A pass with no catches is a pass that caught no fish."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="passes")
    pass_number = models.PositiveSmallIntegerField()
    effort_s = models.PositiveIntegerField(null=True, blank=True, help_text=_("Current-on time, s."))
    biomass_g = models.FloatField(null=True, blank=True, help_text=_("Total weight of the pass, g."))
    started_at = models.TimeField(null=True, blank=True)
    ended_at = models.TimeField(null=True, blank=True)
    gear_unit = models.CharField(
        max_length=100, blank=True, default="", db_default="", help_text=_("The unit, by its name or number.")
    )
    waveform = models.CharField(
        max_length=12, choices=Waveform.choices, blank=True, default="", db_default=""
    )
    anodes = models.PositiveSmallIntegerField(null=True, blank=True)
    netters = models.PositiveSmallIntegerField(null=True, blank=True)
    volts_first = models.FloatField(null=True, blank=True)
    volts_last = models.FloatField(null=True, blank=True)
    pulse_hz_first = models.FloatField(null=True, blank=True)
    pulse_hz_last = models.FloatField(null=True, blank=True)
    pulse_width_ms_first = models.FloatField(null=True, blank=True)
    pulse_width_ms_last = models.FloatField(null=True, blank=True)
    added_at = added_at_field()

    class Meta:
        ordering = ["visit", "pass_number"]
        triggers = pass_locks()
        verbose_name_plural = "removal passes"
        constraints = [
            models.UniqueConstraint(fields=["visit", "pass_number"], name="removal_pass_number_once"),
            models.CheckConstraint(condition=Q(pass_number__gte=1), name="removal_pass_number_from_one"),
            models.CheckConstraint(
                condition=Q(effort_s__isnull=True) | Q(effort_s__gte=0),
                name="removal_pass_effort_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(biomass_g__isnull=True) | Q(biomass_g__gte=0, biomass_g__lt=1e9),
                name="removal_pass_biomass_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(started_at__isnull=True)
                | Q(ended_at__isnull=True)
                | Q(ended_at__gt=F("started_at")),
                name="removal_pass_ends_after_it_starts",
                violation_error_message=_("The pass ends before it starts."),
            ),
            models.CheckConstraint(
                condition=Q(waveform__in=["", *Waveform.values]), name="removal_pass_waveform_known_word"
            ),
            *(
                _between(field, low, high, f"removal_pass_{field}_within_limits", words)
                for field, (low, high, words) in GEAR_LIMITS.items()
            ),
        ]

    def __str__(self) -> str:
        return worded("pass {number}", number=self.pass_number)


@keeps_history()
class Catch(models.Model):
    """The fish of one taxon in one pass. A taxon that was not caught has no row."""

    removal_pass = models.ForeignKey(RemovalPass, on_delete=models.CASCADE, related_name="catches")
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="catches")
    count = models.PositiveIntegerField()
    young_of_year = models.PositiveIntegerField(null=True, blank=True)
    anomalies = models.PositiveIntegerField(null=True, blank=True)
    biomass_g = models.FloatField(null=True, blank=True, help_text=_("Batch weight, g."))
    gross_g = models.FloatField(null=True, blank=True, help_text=_("Weight with the container, g."))
    tare_g = models.FloatField(null=True, blank=True, help_text=_("Weight of the empty container, g."))
    weighed = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Of these, fish in the batch weighed.")
    )
    released = models.PositiveIntegerField(null=True, blank=True)
    died = models.PositiveIntegerField(null=True, blank=True)
    kept = models.PositiveIntegerField(null=True, blank=True)
    in_main = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Of these, in the main container.")
    )
    in_eel_well = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Of these, in the flow-through live well for eels.")
    )
    in_other = models.PositiveIntegerField(null=True, blank=True)
    estimated = models.BooleanField(
        default=False, db_default=False, help_text=_("The number was estimated, not counted.")
    )
    unsure = models.BooleanField(
        default=False, db_default=False, help_text=_("The fish were named with doubt.")
    )
    added_at = added_at_field()

    class Meta:
        ordering = ["removal_pass", "taxon__scientific_name"]
        triggers = catch_locks()
        verbose_name_plural = "catches"
        constraints = [
            models.UniqueConstraint(fields=["removal_pass", "taxon"], name="catch_one_per_pass_and_taxon"),
            models.CheckConstraint(condition=Q(count__gte=1), name="catch_count_at_least_one"),
            models.CheckConstraint(
                condition=Q(young_of_year__isnull=True)
                | Q(young_of_year__gte=0, young_of_year__lte=F("count")),
                name="catch_young_of_year_within_count",
                violation_error_message=_("There cannot be more fish of the year than fish."),
            ),
            models.CheckConstraint(
                condition=Q(anomalies__isnull=True) | Q(anomalies__gte=0, anomalies__lte=F("count")),
                name="catch_anomalies_within_count",
                violation_error_message=_("There cannot be more fish with anomalies than fish."),
            ),
            models.CheckConstraint(
                condition=Q(biomass_g__isnull=True) | Q(biomass_g__gte=0, biomass_g__lt=1e9),
                name="catch_biomass_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(gross_g__isnull=True, tare_g__isnull=True)
                | Q(
                    gross_g__isnull=False,
                    tare_g__isnull=False,
                    tare_g__gte=0,
                    gross_g__gte=F("tare_g"),
                    gross_g__lt=1e9,
                ),
                name="catch_gross_and_tare_together",
                violation_error_message=_(
                    "The weight with the container is less than the container alone, "
                    "or one of the two is missing."
                ),
            ),
            models.CheckConstraint(
                condition=Q(weighed__isnull=True) | Q(weighed__gte=1, weighed__lte=F("count")),
                name="catch_weighed_within_count",
                violation_error_message=_("There cannot be more fish weighed than fish."),
            ),
            _adds_up(("released", "died", "kept"), "catch_fates_add_up", marked("released, died and kept")),
            _adds_up(
                ("in_main", "in_eel_well", "in_other"), "catch_containers_add_up", marked("the containers")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.taxon_id}"
