"""The app that keeps what was surveyed."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class SurveysConfig(AppConfig):
    name = "surveys"
    verbose_name = "Surveys"

    def ready(self) -> None:
        from surveys.access import sync_groups
        from surveys.first_records import ensure_a_method

        post_migrate.connect(sync_groups, dispatch_uid="surveys.sync_groups")
        post_migrate.connect(ensure_a_method, sender=self, dispatch_uid="surveys.ensure_a_method")
