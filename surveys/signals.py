"""The one signal of this app: sent when what the results rest on has changed.

``surveys`` may not call ``trends``; those who compute listen here. Sent inside the transaction that
makes the change, with ``station_ids`` (set of int).
"""

from django.dispatch import Signal

visits_changed = Signal()
