"""A field season: who goes where and when, what was not sampled and why, and its signed close."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from surveys.models.history import keeps_history
from surveys.models.places import Station, Watershed

OLDEST_YEAR, LATEST_YEAR = 1900, 2200
_YEARS = [MinValueValidator(OLDEST_YEAR), MaxValueValidator(LATEST_YEAR)]


@keeps_history()
class PlannedVisit(models.Model):
    """A station that is due in a year. The day and the crew may still be open."""

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="planned_visits")
    year = models.PositiveSmallIntegerField(validators=_YEARS)
    planned_on = models.DateField("planned for", null=True, blank=True)
    crew = models.CharField(
        "who goes", max_length=200, blank=True, help_text="Initials are enough; never published."
    )
    note = models.CharField(max_length=500, blank=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )

    class Meta:
        ordering = ["year", "station__code", "planned_on"]
        constraints = [
            models.UniqueConstraint(
                fields=["station", "year", "planned_on"],
                nulls_distinct=False,
                name="planned_visit_once_per_day",
                violation_error_message="This visit is in the plan already.",
            ),
            models.CheckConstraint(
                condition=Q(planned_on__isnull=True) | Q(planned_on__year=F("year")),
                name="planned_visit_day_in_its_year",
                violation_error_message="The day lies in another year than the plan.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.station.code} in {self.year}"


class NotSampledKind(models.TextChoices):
    CANCELLED = "cancelled", "cancelled"
    DRY = "dry", "dry"
    PARTLY = "partly", "partly done"


@keeps_history()
class NotSampled(models.Model):
    """A visit that was not made, or only in part, and why: a record, not a forgotten year."""

    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="not_sampled")
    year = models.PositiveSmallIntegerField(validators=_YEARS)
    day = models.DateField(null=True, blank=True, help_text="The day on which it was decided or found.")
    kind = models.CharField("what happened", max_length=12, choices=NotSampledKind.choices)
    reason = models.CharField(max_length=300, help_text="The public reads this beside the gap in the record.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["year", "station__code", "day", "id"]
        verbose_name_plural = "not sampled"
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=NotSampledKind.values), name="not_sampled_kind_known_word"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="not_sampled_has_a_reason"),
            models.CheckConstraint(
                condition=Q(day__isnull=True) | Q(day__year=F("year")),
                name="not_sampled_day_in_its_year",
                violation_error_message="The day lies in another year.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.station.code} in {self.year}: {self.get_kind_display()}"

    @property
    def words(self) -> str:
        """The gap explained: ``cancelled: the creek was in flood``."""
        return f"{self.get_kind_display()}: {self.reason}"


@keeps_history()
class Permit(models.Model):
    """A permission to take fish: for which waters and days, and when its report is due."""

    number = models.CharField(max_length=100)
    body = models.CharField("issued by", max_length=200)
    valid_from = models.DateField()
    valid_to = models.DateField()
    watersheds = models.ManyToManyField(
        Watershed, blank=True, help_text="Choose none where the permit covers every water here."
    )
    waters = models.CharField(
        max_length=500, blank=True, help_text="Waters and species as the permit words them."
    )
    limits = models.TextField(
        blank=True, help_text="Limits and conditions the permit states, as worded there."
    )
    report_due = models.DateField(null=True, blank=True)
    report_sent = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["-valid_to", "number"]
        constraints = [
            models.UniqueConstraint(fields=["body", "number"], name="permit_number_once_per_body"),
            models.CheckConstraint(
                condition=Q(valid_from__lte=F("valid_to")),
                name="permit_ends_after_it_begins",
                violation_error_message="The permit ends before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} ({self.body})"


class SeasonClose(models.Model):
    """A season that was signed off, with its report as it stood. Reopening ends it with a reason.

    A season that is closed again gets a new version; the earlier ones stay.
    """

    year = models.PositiveSmallIntegerField(validators=_YEARS)
    version = models.CharField(max_length=40, unique=True)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    signed_at = models.DateTimeField(auto_now_add=True)
    remark = models.TextField(blank=True)
    report = models.JSONField(default=dict)
    reopened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    reopened_at = models.DateTimeField(null=True)
    reopened_why = models.TextField(blank=True)

    class Meta:
        ordering = ["-year", "-signed_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["year"], condition=Q(reopened_at__isnull=True), name="season_close_one_in_force"
            ),
            models.CheckConstraint(
                condition=Q(reopened_at__isnull=True) | ~Q(reopened_why=""),
                name="season_close_reopened_with_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"season {self.version}"
