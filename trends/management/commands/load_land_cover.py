"""Loads the land cover of watersheds by year."""

from surveys.management.list_command import ListCommand
from trends.imports import load_land_cover


class Command(ListCommand):
    help = "Insert or update the land cover of watersheds from a list (CSV or XLSX), whole or not at all."
    load = staticmethod(load_land_cover)
    one, many = "year of a watershed", "years of watersheds"
