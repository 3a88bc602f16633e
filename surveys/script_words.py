"""The words of scripts in the reader's language. Scripts keep their patterns in English; a page gives them the rest.

They have a catalogue of their own, ``djangojs.po``, so that short patterns of a script are not taken for words
that are stored with a result (``surveys.language.told``).
"""

import gettext as catalogues

from django.conf import settings

from surveys.language import other_language

DOMAIN = "djangojs"


def script_words() -> dict[str, str | list[str]]:
    """What stands in the catalogue: pattern -> words, or words for one and for several. English needs none."""
    code = other_language()
    words: dict[str, str | list[str]] = {}
    for folder in settings.LOCALE_PATHS if code else ():
        try:
            found = catalogues.translation(DOMAIN, folder, [code])
        except OSError:
            continue
        # The class keeps no public list of what it holds; forms of a plural stand in their order.
        for key, said in vars(found)["_catalog"].items():
            if isinstance(key, tuple):
                words[key[0]] = [*words.get(key[0], []), said]
            elif key:
                words[key] = said
    return words
