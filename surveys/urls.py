"""Addresses of data entry: sending files and reviewing visits. Public pages are in ``trends``."""

from django.urls import path

from surveys.views import (
    entry,
    entry_device,
    field_sheet,
    history,
    mapping,
    review,
    season,
    station_versions,
    uploads,
)

app_name = "surveys"

urlpatterns = [
    path("entry/", entry.entry, name="entry"),
    path("entry/<int:pk>/", entry.entry_visit, name="entry_visit"),
    path("entry/tally/", entry_device.tally, name="entry_tally"),
    path("entry/worker.js", entry_device.worker, name="entry_worker"),
    path("entry/tally.webmanifest", entry_device.manifest, name="entry_manifest"),
    path("entry/lists.json", entry_device.lists, name="entry_lists"),
    path("entry/sync/", entry_device.sync, name="entry_sync"),
    path("upload/", uploads.upload_list, name="upload_list"),
    path("upload/season-file.json", uploads.season_schema, name="season_schema"),
    path("upload/season-file-example.csv", uploads.season_example, name="season_example"),
    path("upload/map/", mapping.mapping_list, name="mapping_list"),
    path("upload/map/<uuid:batch>/", mapping.mapping_batch, name="mapping_batch"),
    path("upload/map/file/<int:pk>/", mapping.mapping_file, name="mapping_file"),
    path("upload/map/file/<int:pk>/original", mapping.mapping_original, name="mapping_original"),
    path("upload/<int:pk>/", uploads.upload, name="upload"),
    path("upload/<int:pk>/answers/", uploads.upload_answers, name="upload_answers"),
    path("upload/<int:pk>/remarks.csv", uploads.upload_remarks, name="upload_remarks"),
    path("upload/<int:pk>/file", uploads.upload_file, name="upload_file"),
    path("season/", season.season, name="season"),
    path("season/<int:year>/", season.season, name="season_year"),
    path("season/<int:year>/plan/", season.season_plan, name="season_plan_add"),
    path("season/<int:year>/plan/<int:pk>/", season.season_plan, name="season_plan"),
    path("season/<int:year>/plan/like-before/", season.season_plan_like, name="season_plan_like"),
    path("season/<int:year>/not-sampled/", season.season_not_sampled, name="season_not_sampled_add"),
    path("season/<int:year>/not-sampled/<int:pk>/", season.season_not_sampled, name="season_not_sampled"),
    path("season/<int:year>/close/", season.season_close, name="season_close"),
    path("season/<int:year>/permit-report/", season.permit_report_page, name="permit_report"),
    path("season/<int:year>/permit-report.csv", season.permit_report_file, name="permit_report_file"),
    path("season/<int:year>/season.csv", season.season_export, name="season_export"),
    path("stations/<str:code>/field-sheet/", field_sheet.field_sheet, name="field_sheet"),
    path("stations/<str:code>/layout/", station_versions.layout, name="station_layout"),
    path("stations/<str:code>/layout/<int:pk>/", station_versions.version, name="station_version"),
    path("season/permits/", season.season_permit, name="season_permit_add"),
    path("season/permits/<int:pk>/", season.season_permit, name="season_permit"),
    path("visits/<int:pk>/history/", history.visit_history, name="visit_history"),
    path("review/", review.review, name="review"),
    path("review/<int:pk>/", review.review_visit, name="review_visit"),
    path("review/<int:pk>/submit/", review.resubmit, name="resubmit"),
]
