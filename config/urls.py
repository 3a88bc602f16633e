"""All addresses of the site. Public pages belong to ``trends``, data entry to ``surveys``."""

from django.conf.urls.i18n import i18n_patterns
from django.contrib import admin
from django.urls import include, path, register_converter

from config.health import healthz
from surveys.addresses import NameConverter

register_converter(NameConverter, "name")

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("admin/", admin.site.urls),
    # English at the plain address, other languages below their code: /es/watersheds/...
    *i18n_patterns(
        path("account/", include("allauth.urls")),
        path("", include("surveys.urls")),
        path("", include("trends.urls")),
        prefix_default_language=False,
    ),
]
