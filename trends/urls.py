"""Addresses of the pages that show results."""

from django.urls import include, path, register_converter

from trends.views import (
    compare,
    handout,
    methods,
    notes,
    open_data,
    overview,
    results,
    species,
    stations,
    tokens,
    twins,
    visits,
    watersheds,
)

app_name = "trends"

register_converter(twins.FormConverter, "form")

urlpatterns = [
    path("", overview.overview, name="overview"),
    path("creeks.<form:form>", twins.creeks, name="creeks_data"),
    path("watersheds/<slug:key>.<form:form>", twins.watershed, name="watershed_data"),
    path("stations/<name:key>.<form:form>", twins.station, name="station_data"),
    path("visits/<int:key>.<form:form>", twins.visit, name="visit_data"),
    path("species/<slug:key>.<form:form>", twins.species, name="species_data"),
    path("handout/<slug:slug>/", handout.page, name="handout"),
    path("handout/<slug:slug>/edit/", handout.edit, name="handout_edit"),
    path("handout/<slug:slug>/pack.zip", handout.pack, name="handout_pack"),
    path("watersheds/<slug:slug>/", watersheds.watershed, name="watershed"),
    path("watersheds/<slug:slug>/notes/new/", notes.add_note, name="note_add"),
    path("compare/", compare.compare, name="compare"),
    path("notes/", notes.note_list, name="notes"),
    path("notes/<int:pk>/edit/", notes.edit_note, name="note_edit"),
    path("notes/<int:pk>/withdraw/", notes.withdraw_note, name="note_withdraw"),
    path("stations/", stations.station_list, name="stations"),
    path("stations/<name:code>/", stations.station, name="station"),
    path("watersheds/<slug:slug>/result/", results.watershed_result, name="watershed_result"),
    path("stations/<name:code>/result/", results.station_result, name="station_result"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
    path("species/", species.species, name="species_list"),
    path("species/<slug:slug>/", species.taxon, name="species"),
    path("methods/", methods.methods, name="methods"),
    path("methods/<slug:code>/", methods.method, name="method"),
    path("methods/<slug:code>.yaml", methods.method_file, name="method_file"),
    path("data/", open_data.open_data, name="open_data"),
    path("data/tokens/", tokens.tokens, name="tokens"),
    path("data/tokens/<int:pk>/revoke/", tokens.revoke, name="token_revoke"),
    path("data/<str:name>", open_data.open_data_file, name="open_data_file"),
    path("api/v1/", include("trends.api.urls")),
    path("", include("trends.planner_urls")),
    path("", include("trends.method_urls")),
]
