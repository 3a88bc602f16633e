"""The list of methods at hand, for pages that show or offer them."""

from __future__ import annotations

from functools import lru_cache

from surveys.said import marked, said
from trends.index.method import Method, load_method, method_codes


@lru_cache(maxsize=1)
def all_methods() -> tuple[Method, ...]:
    """Return every method at hand, usable ones first, then by title."""
    methods = (load_method(code) for code in method_codes())
    return tuple(sorted(methods, key=lambda method: (not method.usable, not method.complete, method.title)))


def usable_methods() -> tuple[Method, ...]:
    """Return the methods that can give scores as they stand."""
    return tuple(method for method in all_methods() if method.usable)


def standing(method: Method) -> str:
    """Say in one sentence what a method can be used for."""
    if method.waiting_for:
        waiting = ", ".join(method.waiting_for).replace("_", " ")
        return said("Gives scores once the figures for the region are supplied: {figures}.", figures=waiting)
    if not method.complete:
        return marked("Not complete: shown for its definitions, never scored.")
    if method.needs_check:
        return marked("Gives scores; its cut points must be checked against the report before official use.")
    return marked("Gives scores.")
