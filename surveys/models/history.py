"""How earlier states of a row are kept: by database triggers, so that no path escapes them.

A row as it stands is its latest state. Before an update or a delete the database copies the old row
into the history table, with who did it and why where the application said so
(``pghistory.context``). Inserts are not copied: the row itself is that record.
"""

from collections.abc import Callable
from typing import Any

import pghistory


def keeps_history(**options: Any) -> Callable[[type], type]:
    """Class decorator: keep what each row was before it was changed or deleted."""
    return pghistory.track(
        pghistory.UpdateEvent("before_update", row=pghistory.Old),
        pghistory.DeleteEvent("before_delete", row=pghistory.Old),
        **options,
    )
