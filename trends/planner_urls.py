"""Addresses of the planner's pages: briefs, briefs as issued, and the years before and after a note."""

from django.urls import path

from trends.views import brief, effects

urlpatterns = [
    path("brief/<slug:slug>/", brief.brief_page, name="brief"),
    path("brief/<slug:slug>/brief.pdf", brief.brief_pdf, name="brief_pdf"),
    path("brief/<slug:slug>/issue/", brief.issue, name="brief_issue"),
    path("notes/<int:pk>/effect/", effects.effect, name="effect"),
    path("briefs/<int:pk>/", brief.issued, name="brief_issued"),
    path("briefs/<int:pk>/brief.pdf", brief.issued_pdf, name="brief_issued_pdf"),
]
