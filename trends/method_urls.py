"""Addresses of the administrator's desks for index methods and for species."""

from django.urls import path

from trends.views import method_desk, species_desk

urlpatterns = [
    path("method-desk/", method_desk.desk, name="method_desk"),
    path("method-desk/strata/", method_desk.strata, name="method_strata"),
    path("method-desk/<int:pk>/", method_desk.draft, name="method_draft"),
    path("method-desk/<int:pk>/in-full/", method_desk.draft_in_full, name="method_draft_in_full"),
    path("method-desk/<int:pk>/publish/", method_desk.publish, name="method_publish"),
    path("method-desk/<int:pk>/discard/", method_desk.discard, name="method_discard"),
    path("method-desk/checks/<slug:code>/", method_desk.check, name="method_check"),
    path("species/<slug:slug>/traits/", species_desk.traits, name="trait_change"),
    path("species/<slug:slug>/merge/", species_desk.merge, name="taxon_merge"),
    path("species/<slug:slug>/split/", species_desk.split, name="taxon_split"),
    path("trait-lists/", species_desk.lists, name="trait_lists"),
    path("trait-lists/county/", species_desk.county_list, name="trait_county"),
    path("trait-lists/<int:pk>/", species_desk.one_list, name="trait_list"),
]
