"""Where fish are surveyed: watersheds, the stations on their creeks, and how stations are sampled."""

import datetime

from django.conf import settings
from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from surveys.language import worded
from surveys.models.history import keeps_history
from surveys.models.locked import layout_locks
from surveys.said import marked, said

MONTH_DAY = RegexValidator(r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$", _("Write month and day as MM-DD."))

# The figure for a hand-held receiver: Darwin Core's notes on the term (release of 2026-05-26), since the signal
# is no longer degraded.
UNCERTAINTY_HELP = _(
    "How far the true place may lie from the position given, metres. For a hand-held GPS without correction 30 m "
    "or more is the usual figure since May 2000. Leave it empty where it is not known; it is never 0."
)


class SamplingMethod(models.Model):
    """How a visit is made. Years sampled by different methods are never joined in one trend."""

    code = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=200)
    gear = models.CharField(max_length=200, blank=True)
    planned_passes = models.PositiveSmallIntegerField(default=2, validators=[MinValueValidator(1)])
    reach_rule = models.CharField(max_length=300, blank=True, help_text=_("How the reach is measured out."))
    season_starts = models.CharField(max_length=5, default="01-01", validators=[MONTH_DAY])
    season_ends = models.CharField(max_length=5, default="12-31", validators=[MONTH_DAY])
    description = models.TextField(blank=True)
    reference = models.TextField(
        blank=True,
        help_text=_("Where the protocol is written down: author, year, title, address. Everybody reads it."),
    )
    is_default = models.BooleanField(
        default=False, help_text=_("Used where neither the file nor the station names a method.")
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(
                fields=["is_default"], condition=Q(is_default=True), name="sampling_method_one_default"
            ),
            models.CheckConstraint(
                condition=Q(planned_passes__gte=1), name="sampling_method_at_least_one_pass"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def whole_year(self) -> bool:
        return (self.season_starts, self.season_ends) == ("01-01", "12-31")

    def in_season(self, day: datetime.date) -> bool:
        """Whether a day lies in the season window, which may run over the turn of the year."""
        month_day = f"{day:%m-%d}"
        if self.season_starts <= self.season_ends:
            return self.season_starts <= month_day <= self.season_ends
        return month_day >= self.season_starts or month_day <= self.season_ends


# Long, and drawn on the creek's map alone: lists of many watersheds leave them unread.
SHAPES = ("outlines", "courses")


@keeps_history()
class Watershed(models.Model):
    """The land that drains to one creek; trajectories and land-use notes belong to it."""

    name = models.CharField(max_length=200, unique=True)
    slug = models.SlugField(max_length=200, unique=True)
    description = models.TextField(blank=True)
    # Rings and lines as [longitude, latitude] pairs, WGS 84; read from GeoJSON for the creek's map.
    outlines = models.JSONField(default=list, blank=True, editable=False)
    courses = models.JSONField(default=list, blank=True, editable=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("trends:watershed", args=[self.slug])


class StationQuerySet(models.QuerySet["Station"]):
    def in_watershed(self, watershed: Watershed) -> "StationQuerySet":
        return self.filter(watershed=watershed)

    def with_places(self) -> "StationQuerySet":
        return self.select_related("watershed", "method", "control_for")


@keeps_history()
class Station(models.Model):
    """The fixed place, with a code that never changes.

    The stream is a name on the station, not a table of its own: nothing is stored about a stream
    that does not belong to its watershed or to the station.
    """

    code = models.CharField(
        max_length=60,
        unique=True,
        validators=[RegexValidator(r"^[^\s/?#]+$", _("A station code has no spaces and no / ? #."))],
    )
    watershed = models.ForeignKey(Watershed, on_delete=models.PROTECT, related_name="stations")
    stream = models.CharField(max_length=200)
    name = models.CharField(max_length=200, blank=True)
    latitude = models.FloatField(null=True, blank=True, help_text=_("Degrees north, WGS 84."))
    longitude = models.FloatField(null=True, blank=True, help_text=_("Degrees east, WGS 84."))
    position_uncertainty_m = models.FloatField(null=True, blank=True, help_text=UNCERTAINTY_HELP)
    river_km = models.FloatField(null=True, blank=True, help_text=_("Distance from the mouth, km."))
    catchment_km2 = models.FloatField(null=True, blank=True)
    stratum = models.CharField(
        max_length=100, blank=True, help_text=_("Region or stream class; decides which index applies.")
    )
    reach_length_m = models.FloatField(null=True, blank=True)
    mean_width_m = models.FloatField(null=True, blank=True)
    elevation_m = models.FloatField(null=True, blank=True)
    method = models.ForeignKey(SamplingMethod, on_delete=models.PROTECT, null=True, blank=True)
    control_for = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="controls"
    )

    objects = StationQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(latitude__isnull=True) | Q(latitude__range=(-90, 90)),
                name="station_latitude_on_the_globe",
                violation_error_message=_("Latitude lies between -90 and 90 degrees."),
            ),
            models.CheckConstraint(
                condition=Q(longitude__isnull=True) | Q(longitude__range=(-180, 180)),
                name="station_longitude_on_the_globe",
                violation_error_message=_("Longitude lies between -180 and 180 degrees."),
            ),
            models.CheckConstraint(
                condition=Q(latitude__isnull=True, longitude__isnull=True)
                | Q(latitude__isnull=False, longitude__isnull=False),
                name="station_position_is_a_pair",
                violation_error_message=_("Give latitude and longitude together, or neither."),
            ),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gt": 0, f"{field}__lt": 1e9}),
                    name=f"station_{field}_positive",
                    violation_error_message=said("{words} is above zero, or left empty.", words=words),
                )
                for field, words in {
                    "catchment_km2": marked("The catchment area"),
                    "reach_length_m": marked("The reach length"),
                    "mean_width_m": marked("The mean width"),
                    "position_uncertainty_m": marked("How far the true place may lie from the position"),
                }.items()
            ),
            models.CheckConstraint(
                condition=Q(control_for__isnull=True) | ~Q(control_for=models.F("id")),
                name="station_is_not_its_own_control",
                violation_error_message=_("A station cannot be its own control."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}".strip()

    def get_absolute_url(self) -> str:
        return reverse("trends:station", args=[self.code])


@keeps_history()
class StationVersion(models.Model):
    """The station as it is laid out from a day on: moved, of another length, measured by another rule.

    Years before and after are not compared, unless somebody wrote down why they may be.
    """

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="versions")
    valid_from = models.DateField(_("valid from"))
    reach_length_m = models.FloatField(_("reach length, m"), null=True, blank=True)
    width_rule = models.CharField(
        _("width rule"), max_length=300, blank=True, help_text=_("How the width is measured from then on.")
    )
    latitude = models.FloatField(_("latitude"), null=True, blank=True, help_text=_("Degrees north, WGS 84."))
    longitude = models.FloatField(_("longitude"), null=True, blank=True, help_text=_("Degrees east, WGS 84."))
    position_uncertainty_m = models.FloatField(
        _("uncertainty of the position, m"), null=True, blank=True, help_text=UNCERTAINTY_HELP
    )
    reason = models.CharField(_("reason"), max_length=500, help_text=_("What changed, and why."))
    joined_why = models.CharField(
        _("why years before and after may be compared"),
        max_length=500,
        blank=True,
        help_text=_("Empty: the trend stops at this day."),
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )

    class Meta:
        ordering = ["station__code", "valid_from"]
        triggers = layout_locks()
        constraints = [
            models.UniqueConstraint(
                fields=["station", "valid_from"],
                name="station_version_one_per_day",
                violation_error_message=_("The station has a new layout from that day already."),
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="station_version_has_a_reason"),
            models.CheckConstraint(
                condition=Q(reach_length_m__isnull=True) | Q(reach_length_m__range=(10, 1_000)),
                name="station_version_reach_length",
                violation_error_message=_("Reach length in m lies between 10 and 1000, or is left empty."),
            ),
            models.CheckConstraint(
                condition=Q(latitude__isnull=True, longitude__isnull=True)
                | Q(latitude__range=(-90, 90), longitude__range=(-180, 180)),
                name="station_version_position_is_a_pair",
                violation_error_message=_("Give latitude and longitude in degrees together, or neither."),
            ),
            models.CheckConstraint(
                condition=Q(position_uncertainty_m__isnull=True)
                | Q(
                    position_uncertainty_m__gt=0,
                    position_uncertainty_m__lt=1e9,
                    latitude__isnull=False,
                ),
                name="station_version_position_uncertainty_m_positive",
                violation_error_message=_(
                    "How far the true place may lie from the position is above zero and stands beside a position, "
                    "or is left empty."
                ),
            ),
        ]

    def __str__(self) -> str:
        return worded("{station} from {day}", station=self.station.code, day=f"{self.valid_from:%Y-%m-%d}")
