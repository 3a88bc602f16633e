"""The administrator's lists that results rest on, and the results themselves, which nobody edits."""

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from surveys.access import MANAGE, may
from surveys.admin import SamplingMethodAdmin, StationAdmin, TaxonAdmin, counted
from surveys.models import SamplingMethod, Station, Taxon
from trends.judged_anew import sampling_method_changed, station_changed, traits_changed
from trends.models import ApiToken, LandCover, LandUseNote, TrendResult, VisitResult
from trends.trait_changes import TRAIT_FIELDS

# A change of these alone moves a number; a new remark or a corrected position does not.
STATION_FIELDS = {"code", "name", "watershed", "stratum", "catchment_km2", "river_km"}
METHOD_FIELDS = {"code", "name", "planned_passes", "season_starts", "season_ends"}


@admin.register(Station)
class ScoredStationAdmin(StationAdmin):
    """A station whose results follow its stratum, catchment and place."""

    def save_model(self, request: HttpRequest, obj: Station, form: Any, change: bool) -> None:
        before = Station.objects.select_related("watershed").get(pk=obj.pk) if change else None
        super().save_model(request, obj, form, change)
        if before is not None and STATION_FIELDS & set(form.changed_data):
            left = [before.watershed] if before.watershed_id != obj.watershed_id else []
            number = station_changed([obj], left=left)
            visits = counted(number, "accepted visit")
            self.message_user(request, f"Made anew: the results of {visits} of {obj.code}.")


@admin.register(Taxon)
class ScoredTaxonAdmin(TaxonAdmin):
    """A taxon whose traits decide metrics; on the list they change on a page that shows first what would move."""

    def get_readonly_fields(self, request: HttpRequest, obj: Taxon | None = None) -> tuple[str, ...]:
        return (*TRAIT_FIELDS, "traits_page") if obj else ()

    @admin.display(description="change the traits")
    def traits_page(self, obj: Taxon) -> SafeString:
        address = reverse("trends:trait_change", args=[obj.slug])
        return format_html('<a href="{}">See what a change would do, then make it</a>', address)

    def save_model(self, request: HttpRequest, obj: Taxon, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        # The name stands in stored results; whether places are withheld decides what the published score is made of.
        if change and {"scientific_name", "sensitive_location"} & set(form.changed_data):
            number = traits_changed([obj])
            visits = counted(number, "accepted visit")
            self.message_user(request, f"Made anew: the results of {visits} that caught it.")


@admin.register(SamplingMethod)
class FollowedSamplingMethodAdmin(SamplingMethodAdmin):
    def save_model(self, request: HttpRequest, obj: SamplingMethod, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        if change and METHOD_FIELDS & set(form.changed_data):
            sampling_method_changed(obj)


@admin.register(LandUseNote)
class LandUseNoteAdmin(admin.ModelAdmin):
    """Notes are withdrawn with a reason on their own page, never deleted."""

    list_display = ["title", "watershed", "category", "starts_on", "ends_on", "public", "withdrawn_at"]
    list_filter = ["watershed", "category", "public"]
    list_select_related = ["watershed"]
    search_fields = ["title", "text", "source"]
    readonly_fields = ["written_by", "written_at", "withdrawn_at", "withdrawn_by", "withdrawn_why"]

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: LandUseNote, form: Any, change: bool) -> None:
        if not change:
            obj.written_by = request.user  # type: ignore[assignment]
        super().save_model(request, obj, form, change)


@admin.register(LandCover)
class LandCoverAdmin(admin.ModelAdmin):
    list_display = ["watershed", "year", "impervious_pct", "forest_pct"]
    list_filter = ["watershed"]
    list_select_related = ["watershed"]


class ReadOnly(admin.ModelAdmin):
    """Shown to those who manage the lists; changed by nobody, since results are only ever computed."""

    def has_module_permission(self, request: HttpRequest) -> bool:
        return may(request.user, MANAGE)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return may(request.user, MANAGE)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(VisitResult)
class VisitResultAdmin(ReadOnly):
    list_display = ["visit", "index_method", "index_score", "index_rating", "visit_revision", "computed_at"]
    list_select_related = ["visit__station"]
    list_filter = ["index_method", "index_rating"]
    search_fields = ["visit__station__code"]


@admin.register(TrendResult)
class TrendResultAdmin(ReadOnly):
    list_display = [
        "watershed",
        "station",
        "measure",
        "certainty",
        "n_years",
        "slope",
        "p_value",
        "computed_at",
    ]
    list_select_related = ["watershed", "station"]
    list_filter = ["measure", "certainty", "watershed"]
    search_fields = ["station__code", "watershed__name"]


@admin.register(ApiToken)
class ApiTokenAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Who reads by program; an administrator may revoke, and nothing else."""

    list_display = ["name", "person", "made_at", "ends_on", "last_used_at", "state"]
    list_select_related = ["person"]
    list_filter = ["person"]
    readonly_fields = ["person", "name", "made_at", "ends_on", "last_used_at", "revoked_at", "revoked_by"]
    actions = ["revoke"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    @admin.action(description="Revoke the chosen tokens", permissions=["change"])
    def revoke(self, request: HttpRequest, chosen: QuerySet[ApiToken]) -> None:
        for token in chosen:
            token.revoke(request.user)
        self.message_user(request, f"{len(chosen)} revoked; they stop working at once.")
