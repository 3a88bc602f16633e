"""Addresses of the pages that show results."""

from django.urls import path

from trends.views import notes, overview, stations, visits, watersheds

app_name = "trends"

urlpatterns = [
    path("", overview.overview, name="overview"),
    path("watersheds/<slug:slug>/", watersheds.watershed, name="watershed"),
    path("watersheds/<slug:slug>/notes/new/", notes.add_note, name="note_add"),
    path("notes/", notes.note_list, name="notes"),
    path("notes/<int:pk>/edit/", notes.edit_note, name="note_edit"),
    path("notes/<int:pk>/withdraw/", notes.withdraw_note, name="note_withdraw"),
    path("stations/", stations.station_list, name="stations"),
    path("stations/<str:code>/", stations.station, name="station"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
]
