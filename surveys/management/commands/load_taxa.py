"""Loads a list of taxa."""

from surveys.management.list_command import ListCommand
from surveys.uploads.reference import load_taxa


class Command(ListCommand):
    help = "Insert or update taxa and their traits from a list (CSV or XLSX), whole or not at all."
    load = staticmethod(load_taxa)
    one, many = "taxon", "taxa"
