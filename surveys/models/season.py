"""A field season: who goes where and when, what was not sampled and why, and its signed close."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from surveys.language import worded
from surveys.models.history import keeps_history
from surveys.models.places import Station, Watershed

OLDEST_YEAR, LATEST_YEAR = 1900, 2200
_YEARS = [MinValueValidator(OLDEST_YEAR), MaxValueValidator(LATEST_YEAR)]


@keeps_history()
class PlannedVisit(models.Model):
    """A station that is due in a year. The day and the crew may still be open."""

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="planned_visits")
    year = models.PositiveSmallIntegerField(validators=_YEARS)
    planned_on = models.DateField(_("planned for"), null=True, blank=True)
    crew = models.CharField(
        _("who goes"), max_length=200, blank=True, help_text=_("Initials are enough; never published.")
    )
    note = models.CharField(_("note"), max_length=500, blank=True)
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
                violation_error_message=_("This visit is in the plan already."),
            ),
            models.CheckConstraint(
                condition=Q(planned_on__isnull=True) | Q(planned_on__year=F("year")),
                name="planned_visit_day_in_its_year",
                violation_error_message=_("The day lies in another year than the plan."),
            ),
        ]

    def __str__(self) -> str:
        return worded("{station} in {year}", station=self.station.code, year=self.year)


class NotSampledKind(models.TextChoices):
    CANCELLED = "cancelled", _("cancelled")
    DRY = "dry", _("dry")
    PARTLY = "partly", _("partly done")


@keeps_history()
class NotSampled(models.Model):
    """A visit that was not made, or only in part, and why: a record, not a forgotten year."""

    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="not_sampled")
    year = models.PositiveSmallIntegerField(validators=_YEARS)
    day = models.DateField(
        _("day"), null=True, blank=True, help_text=_("The day on which it was decided or found.")
    )
    kind = models.CharField(_("what happened"), max_length=12, choices=NotSampledKind.choices)
    reason = models.CharField(
        _("reason"), max_length=300, help_text=_("The public reads this beside the gap in the record.")
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["year", "station__code", "day", "id"]
        verbose_name_plural = _("not sampled")
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=NotSampledKind.values), name="not_sampled_kind_known_word"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="not_sampled_has_a_reason"),
            models.CheckConstraint(
                condition=Q(day__isnull=True) | Q(day__year=F("year")),
                name="not_sampled_day_in_its_year",
                violation_error_message=_("The day lies in another year."),
            ),
        ]

    def __str__(self) -> str:
        return worded(
            "{station} in {year}: {what}",
            station=self.station.code,
            year=self.year,
            what=self.get_kind_display(),
        )

    @property
    def words(self) -> str:
        """The gap explained: ``cancelled: the creek was in flood``."""
        return f"{self.get_kind_display()}: {self.reason}"


@keeps_history()
class Permit(models.Model):
    """A permission to take fish: for which waters and days, and when its report is due."""

    number = models.CharField(_("number"), max_length=100)
    body = models.CharField(_("issued by"), max_length=200)
    valid_from = models.DateField(_("valid from"))
    valid_to = models.DateField(_("valid to"))
    watersheds = models.ManyToManyField(
        Watershed,
        verbose_name=_("watersheds"),
        blank=True,
        help_text=_("Choose none where the permit covers every water here."),
    )
    waters = models.CharField(
        _("waters"), max_length=500, blank=True, help_text=_("Waters and species as the permit words them.")
    )
    limits = models.TextField(
        _("limits"), blank=True, help_text=_("Limits and conditions the permit states, as worded there.")
    )
    report_due = models.DateField(_("report due"), null=True, blank=True)
    report_sent = models.DateField(_("report sent"), null=True, blank=True)

    class Meta:
        ordering = ["-valid_to", "number"]
        constraints = [
            models.UniqueConstraint(fields=["body", "number"], name="permit_number_once_per_body"),
            models.CheckConstraint(
                condition=Q(valid_from__lte=F("valid_to")),
                name="permit_ends_after_it_begins",
                violation_error_message=_("The permit ends before it begins."),
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
        return worded("season {version}", version=self.version)
