"""Which trait lists stand behind the figures of one or more places, in words."""

from collections.abc import Iterable

from surveys.language import told
from trends.shelf import shelf
from trends.trait_lists import list_words


def lists_behind(strata: Iterable[str]) -> str:
    """The lists by name and date; with the strata of each, as the stations spell them, where there are several.

    Parameters
    ----------
    strata : of the stations shown; an empty one has no index and is read with the county's own traits
    """
    standing = shelf()
    of_list: dict[str, list[str]] = {}
    own = ""
    for stratum in sorted(set(strata)):
        listed = standing.traits_for(stratum)
        if listed is None:
            own = own or told(list_words(None))
        of_list.setdefault(told(list_words(listed)) if listed else own, []).append(stratum)
    if len(of_list) < 2:
        return next(iter(of_list), "")
    return "; ".join(
        f"{words} ({', '.join(named)})" if (named := [s for s in served if s]) else words
        for words, served in of_list.items()
    )
