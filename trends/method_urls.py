"""Addresses of the administrator's desk for index methods."""

from django.urls import path

from trends.views import method_desk

urlpatterns = [
    path("method-desk/", method_desk.desk, name="method_desk"),
    path("method-desk/strata/", method_desk.strata, name="method_strata"),
    path("method-desk/<int:pk>/", method_desk.draft, name="method_draft"),
    path("method-desk/<int:pk>/in-full/", method_desk.draft_in_full, name="method_draft_in_full"),
    path("method-desk/<int:pk>/publish/", method_desk.publish, name="method_publish"),
    path("method-desk/<int:pk>/discard/", method_desk.discard, name="method_discard"),
    path("method-desk/checks/<slug:code>/", method_desk.check, name="method_check"),
]
