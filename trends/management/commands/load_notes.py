"""Loads a list of land-use notes."""

from surveys.management.list_command import ListCommand
from trends.imports import load_notes


class Command(ListCommand):
    help = "Insert or update land-use notes from a list (CSV or XLSX), whole or not at all."
    load = staticmethod(load_notes)
    one, many = "note", "notes"
