"""Addresses of data entry: upload and review. Public pages are in ``trends``."""

app_name = "surveys"
urlpatterns: list = []
