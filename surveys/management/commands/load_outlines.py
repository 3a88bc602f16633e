"""Loads watershed outlines and stream courses for the creeks' maps."""

from surveys.management.list_command import ListCommand
from surveys.uploads.outlines import load_outlines


class Command(ListCommand):
    help = "Replace watershed outlines and stream courses from GeoJSON (RFC 7946), whole or not at all."
    load = staticmethod(load_outlines)
    one, many = "watershed", "watersheds"
