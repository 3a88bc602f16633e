"""Land-use notes and land cover, and stored results with what they were made from."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from surveys.models import Station, Visit, Watershed
from surveys.models.history import keeps_history
from trends.method_models import EarlierScore, IndexMethodVersion, MethodCheck, StratumMethod
from trends.reference_models import ListedTraits, TaxonOperation, TraitList
from trends.token_models import ApiToken

__all__ = [
    "ApiToken",
    "DatePrecision",
    "EarlierScore",
    "HandoutText",
    "IndexMethodVersion",
    "IssuedBrief",
    "LandCover",
    "LandUseNote",
    "ListedTraits",
    "MethodCheck",
    "NoteCategory",
    "StaleStation",
    "StratumMethod",
    "TaxonOperation",
    "TraitList",
    "TrendResult",
    "VisitResult",
]


class NoteCategory(models.TextChoices):
    TRAIL = "trail", _("trail or path")
    ROAD = "road", _("road or crossing")
    BUILDING = "building", _("building")
    STORMWATER = "stormwater", _("storm-water work")
    PIPE = "pipe", _("pipe, sewer or spill")
    CHANNEL = "channel", _("bank, channel or restoration work")
    DAM = "dam", _("dam or barrier change")
    LAND = "land", _("farm, forest or mowing change")
    STOCKING = "stocking", _("stocking, introduction or removal")
    DROUGHT = "drought", _("drought")
    FLOOD = "flood", _("flood, storm or hurricane")
    DIE_OFF = "die-off", _("fish die-off")
    SURVEY = "survey", _("survey change")
    OTHER = "other", _("other")


class DatePrecision(models.TextChoices):
    DAY = "day", _("to the day")
    MONTH = "month", _("to the month")
    YEAR = "year", _("to the year")
    DECADE = "decade", _("to the decade")


class LandUseNoteQuerySet(models.QuerySet["LandUseNote"]):
    def current(self) -> "LandUseNoteQuerySet":
        return self.filter(withdrawn_at__isnull=True)

    def public(self) -> "LandUseNoteQuerySet":
        return self.current().filter(public=True)


@keeps_history()
class LandUseNote(models.Model):
    """Something that happened on the land or the water, with its dates and where that is known from."""

    watershed = models.ForeignKey(Watershed, on_delete=models.PROTECT, related_name="notes")
    station = models.ForeignKey(
        Station, on_delete=models.PROTECT, null=True, blank=True, related_name="land_use_notes"
    )
    category = models.CharField(max_length=20, choices=NoteCategory.choices)
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True)
    date_precision = models.CharField(
        max_length=8,
        choices=DatePrecision.choices,
        default=DatePrecision.DAY,
        verbose_name=_("how sure is the date"),
    )
    title = models.CharField(max_length=120)
    text = models.TextField(blank=True)
    source = models.CharField(max_length=300, blank=True, help_text=_("Where this is known from."))
    public = models.BooleanField(default=True, help_text=_("Shown to everybody; otherwise to staff alone."))
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    written_at = models.DateTimeField(auto_now_add=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    withdrawn_why = models.TextField(blank=True)

    objects = LandUseNoteQuerySet.as_manager()

    class Meta:
        ordering = ["starts_on", "title"]
        permissions = [
            ("write_notes", "Can write land-use notes"),
            ("write_briefs", "Can write briefs"),
            ("edit_handouts", "Can edit handouts"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__isnull=True) | Q(ends_on__gte=F("starts_on")),
                name="note_ends_no_earlier_than_it_starts",
                violation_error_message=_("The end is earlier than the start."),
            ),
            models.CheckConstraint(
                condition=Q(category__in=NoteCategory.values), name="note_category_known_word"
            ),
            models.CheckConstraint(
                condition=Q(date_precision__in=DatePrecision.values), name="note_date_precision_known_word"
            ),
            models.UniqueConstraint(
                fields=["watershed", "station", "starts_on", "title"],
                condition=Q(withdrawn_at__isnull=True),
                nulls_distinct=False,
                name="note_once_per_place_date_and_title",
                violation_error_message=_("There is already a note with this title and date here."),
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        if self.station and self.watershed_id and self.station.watershed_id != self.watershed_id:
            raise ValidationError({"station": _("This station lies in another watershed.")})


class LandCover(models.Model):
    """Share of a watershed under hard surfaces and under forest, by year of the mapping."""

    watershed = models.ForeignKey(Watershed, on_delete=models.CASCADE, related_name="land_cover")
    year = models.PositiveSmallIntegerField()
    impervious_pct = models.FloatField(null=True, blank=True)
    forest_pct = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["watershed", "year"]
        verbose_name_plural = "land cover"
        constraints = [
            models.UniqueConstraint(fields=["watershed", "year"], name="land_cover_once_a_year"),
            models.CheckConstraint(condition=Q(year__range=(1800, 2200)), name="land_cover_year_plausible"),
            models.CheckConstraint(
                condition=Q(impervious_pct__isnull=True) | Q(impervious_pct__range=(0, 100)),
                name="land_cover_impervious_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(forest_pct__isnull=True) | Q(forest_pct__range=(0, 100)),
                name="land_cover_forest_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.watershed_id} {self.year}"


class VisitResult(models.Model):
    """Everything computed from one accepted visit, and what it was computed from."""

    visit = models.OneToOneField(Visit, on_delete=models.CASCADE, related_name="result")
    # Measure key -> number, or null where it could not be made; the reasons are in ``detail``.
    values = models.JSONField(default=dict)
    detail = models.JSONField(default=dict)
    index_method = models.CharField(max_length=80, blank=True)
    index_version = models.CharField(max_length=40, blank=True)
    index_score = models.FloatField(null=True, blank=True)
    index_rating = models.CharField(max_length=60, blank=True)
    # The score and rating of the fish that are listed: what is told where places are withheld.
    listed_score = models.FloatField(null=True, blank=True)
    listed_rating = models.CharField(max_length=60, blank=True)
    visit_revision = models.PositiveIntegerField()
    code_version = models.CharField(max_length=40)
    computed_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"result of visit {self.visit_id}"


class TrendResult(models.Model):
    """One measure's trend at a station, or over a watershed where ``station`` is empty."""

    watershed = models.ForeignKey(Watershed, on_delete=models.CASCADE, related_name="trends")
    station = models.ForeignKey(
        Station, on_delete=models.CASCADE, null=True, blank=True, related_name="trends"
    )
    measure = models.CharField(max_length=60)
    # The whole assessment: series, segments, statistics, cautions (see ``trends.assessments``).
    outcome = models.JSONField(default=dict)
    # What lists of many places show of it (see ``trends.listed``), and what they are put in order by and
    # drawn on: known of every place, also of those that the part of the list in view leaves out.
    summary = models.JSONField(default=dict)
    latest_value = models.FloatField(null=True, blank=True)
    highest = models.FloatField(null=True, blank=True)
    scale_top = models.FloatField(null=True, blank=True)
    first_drawn = models.PositiveSmallIntegerField(null=True, blank=True)
    last_drawn = models.PositiveSmallIntegerField(null=True, blank=True)
    certainty = models.CharField(max_length=40)
    first_year = models.PositiveSmallIntegerField(null=True, blank=True)
    last_year = models.PositiveSmallIntegerField(null=True, blank=True)
    n_years = models.PositiveSmallIntegerField(default=0)
    slope = models.FloatField(null=True, blank=True)
    lower = models.FloatField(null=True, blank=True)
    upper = models.FloatField(null=True, blank=True)
    p_value = models.FloatField(null=True, blank=True)
    # What it was made from: a digest of the values, the methods and the policy that went in.
    made_from = models.CharField(max_length=64)
    code_version = models.CharField(max_length=40)
    computed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["watershed", "station", "measure"]
        indexes = [models.Index(fields=["measure", "station"], name="trend_of_measure_by_station")]
        constraints = [
            models.UniqueConstraint(
                fields=["watershed", "station", "measure"],
                nulls_distinct=False,
                name="trend_once_per_place_and_measure",
            )
        ]

    def __str__(self) -> str:
        return f"{self.measure} at {self.station_id or self.watershed_id}"


class StaleStation(models.Model):
    """A station whose results no longer fit its data. Written with the change, cleared by recompute."""

    station = models.OneToOneField(Station, on_delete=models.CASCADE, related_name="stale_mark")
    since = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"station {self.station_id}"


@keeps_history()
class HandoutText(models.Model):
    """Words of a handout that a person put in the place of the draft; numbers stay names in braces."""

    watershed = models.ForeignKey(Watershed, on_delete=models.CASCADE, related_name="handout_texts")
    part = models.SlugField(max_length=40)
    language = models.CharField(max_length=10, default="en", choices=settings.LANGUAGES)
    text = models.TextField()
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    written_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["watershed", "part", "language"]
        constraints = [
            models.UniqueConstraint(
                fields=["watershed", "part", "language"],
                name="handout_text_once_per_watershed_part_and_language",
            ),
            models.CheckConstraint(condition=~Q(text=""), name="handout_text_not_empty"),
        ]

    def __str__(self) -> str:
        return f"{self.part} of {self.watershed_id}"


@keeps_history()
class IssuedBrief(models.Model):
    """A brief as it was handed out: its words, pictures and data, never made anew."""

    watershed = models.ForeignKey(Watershed, on_delete=models.PROTECT, related_name="issued_briefs")
    title = models.CharField(max_length=200, blank=True, help_text=_("What the brief was written for."))
    # Everything the brief shows (see ``trends.brief``), and what was written beside its cautions, by code.
    content = models.JSONField()
    answers = models.JSONField(default=dict, blank=True)
    content_hash = models.CharField(max_length=64)
    data_version = models.CharField(max_length=12)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # The name is kept beside the account, which may be gone by the time the brief is read again.
    issued_by_name = models.CharField(max_length=150)
    issued_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-issued_at", "-id"]

    def __str__(self) -> str:
        return f"brief {self.pk} of {self.watershed_id}"
