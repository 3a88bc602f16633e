"""Words that are stored with results or kept in tables of constants: English here, said in the reader's
language by ``trends.language`` when they are shown. Pure, so that every layer may use it."""

from typing import Any


def said(pattern: str, /, **values: Any) -> str:
    """Words that are stored, in English; ``told`` says them in another language later.

    A value fills its gap as it stands, so it is written out before (``f"{share:.0%}"``), and may itself be
    words made by ``said``.
    """
    return pattern.format(**values) if values else pattern


def marked(words: str) -> str:
    """Words that stand in a table of constants: found for translation here, said by ``told`` when shown."""
    return words
