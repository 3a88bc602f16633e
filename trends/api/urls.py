"""Addresses of the interface for programs; with and without a closing slash."""

from django.urls import path, re_path

from trends.api import views

urlpatterns = [
    path("", views.index, name="api"),
    path("openapi.json", views.openapi, name="api_openapi"),
    re_path(r"^(?P<name>[a-z]+)/?$", views.listing, name="api_list"),
    re_path(r"^(?P<name>[a-z]+)/(?P<key>[^/\x00]+)/?$", views.detail, name="api_detail"),
    re_path(r"^.*$", views.nothing),
]
