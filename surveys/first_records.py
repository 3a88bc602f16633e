"""What an empty database needs before the first file can be taken."""

from typing import Any

from django.apps import apps as installed


def ensure_a_method(sender: Any = None, apps: Any = installed, **kwargs: Any) -> None:
    """A sampling method to fall back on, so that a new county can load a season at once.

    Runs after each migrate, on the schema as it then stands, and makes nothing where there is a method
    already; a county's own methods are added in the reference lists.
    """
    try:
        methods = apps.get_model("surveys", "SamplingMethod").objects
    except LookupError:
        return  # migrated back to before there were methods
    if methods.exists():
        return
    methods.create(
        code="electrofishing",
        name="Electrofishing, method not further described",
        gear="electrofishing",
        description="Used where neither the file nor the station names a sampling method.",
        is_default=True,
    )
