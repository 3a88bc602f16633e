"""The app that turns accepted visits into indicators, scores and trends, and shows them."""

from django.apps import AppConfig


class TrendsConfig(AppConfig):
    name = "trends"
    verbose_name = "Trends"

    def ready(self) -> None:
        from trends import deploy_checks, recompute, season_moves, trait_changes  # noqa: F401 - checks are registered by importing them

        recompute.listen()
        trait_changes.listen()
        season_moves.listen()
