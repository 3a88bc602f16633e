"""What a process of its own does: the models are imported once it has been made ready, never before."""


def begin(database: str) -> None:
    """Make the process ready, with the database that the first one uses."""
    import django
    from django.db import connection

    django.setup()
    connection.settings_dict["NAME"] = database


def compute(watershed: int, everything: bool) -> None:
    """Compute what is marked in one watershed."""
    from surveys.models import Watershed
    from trends.recompute import recompute_marked

    recompute_marked(everything=everything, watershed=Watershed.objects.get(pk=watershed))
