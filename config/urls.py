"""All addresses of the site. Public pages belong to ``trends``, data entry to ``surveys``."""

from django.contrib import admin
from django.urls import include, path

from config.health import healthz

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("account/", include("allauth.urls")),
    path("admin/", admin.site.urls),
    path("", include("surveys.urls")),
    path("", include("trends.urls")),
]
