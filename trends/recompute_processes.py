"""Many watersheds computed by several processes, each with a connection of its own.

Watersheds share nothing but the marks, and each is computed in a transaction that locks its own. A new
process takes some seconds to start, so a few watersheds are computed where the change was made.
"""

import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context

from django.db import connection

from surveys.models import Watershed
from trends.models import StaleStation
from trends.recompute import recompute_marked
from trends.recompute_worker import begin, compute

# Fewer watersheds for each process are done before a second process has started.
LEAST_WATERSHEDS_EACH = 8


def processes_for(watersheds: int) -> int:
    """As many as there are processors at hand, but no more than have enough to do."""
    return max(1, min(len(os.sched_getaffinity(0)), watersheds // LEAST_WATERSHEDS_EACH))


def recompute_in_processes(
    *, everything: bool = False, say: Callable[[str], None] | None = None, processes: int | None = None
) -> int:
    """Compute what is marked, as ``recompute_marked`` does, by one process or several.

    Parameters
    ----------
    processes : how many; by default by the number of marked watersheds and of processors

    Returns
    -------
    int : number of watersheds computed
    """
    marked = Watershed.objects.filter(pk__in=StaleStation.objects.values("station__watershed"))
    names = dict(marked.order_by("slug").values_list("pk", "name"))
    processes = processes or processes_for(len(names))
    if processes == 1:
        return recompute_marked(everything=everything, say=say)
    pool = ProcessPoolExecutor(
        processes,
        mp_context=get_context("spawn"),  # a forked process would share the connection of this one
        initializer=begin,
        initargs=(str(connection.settings_dict["NAME"]),),
    )
    with pool:
        waiting = {pool.submit(compute, pk, everything): name for pk, name in names.items()}
        try:
            for number, done in enumerate(as_completed(waiting), 1):
                done.result()
                if say:
                    say(f"{number} of {len(names)}: {waiting[done]}")
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
    return len(names)
