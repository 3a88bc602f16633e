"""The signals of this app. The first is sent when what the results rest on has changed.

``surveys`` may not call ``trends``; those who compute listen here. Sent inside the transaction that
makes the change, with ``station_ids`` (set of int). ``judged_anew`` is true where the visits stand as they
were but what they are judged by has changed: a trait, a stratum, a catchment.
"""

from django.dispatch import Signal

visits_changed = Signal()

# Sent before changed taxa are stored, with ``taxa`` as they would be: whoever computes answers with
# sentences on the scores that would change.
taxa_changing = Signal()

# Sent when the report of a season is made, with ``year``: whoever computes answers with what the season did to
# the results, as a list of plain rows (see ``surveys.season_report``).
season_reported = Signal()
