"""Loads a list of stations."""

from surveys.management.list_command import ListCommand
from surveys.uploads.reference import load_stations


class Command(ListCommand):
    help = "Insert or update stations and their watersheds from a list (CSV or XLSX), whole or not at all."
    load = staticmethod(load_stations)
    one, many = "station", "stations"
