"""Addresses of the pages that show results."""

from django.urls import include, path

from trends.views import compare, methods, notes, overview, species, stations, visits, watersheds

app_name = "trends"

urlpatterns = [
    path("", overview.overview, name="overview"),
    path("watersheds/<slug:slug>/", watersheds.watershed, name="watershed"),
    path("watersheds/<slug:slug>/notes/new/", notes.add_note, name="note_add"),
    path("compare/", compare.compare, name="compare"),
    path("notes/", notes.note_list, name="notes"),
    path("notes/<int:pk>/edit/", notes.edit_note, name="note_edit"),
    path("notes/<int:pk>/withdraw/", notes.withdraw_note, name="note_withdraw"),
    path("stations/", stations.station_list, name="stations"),
    path("stations/<str:code>/", stations.station, name="station"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
    path("species/", species.species, name="species_list"),
    path("species/<slug:slug>/", species.taxon, name="species"),
    path("methods/", methods.methods, name="methods"),
    path("methods/<slug:code>/", methods.method, name="method"),
    path("methods/<slug:code>.yaml", methods.method_file, name="method_file"),
    path("api/v1/", include("trends.api.urls")),
]
