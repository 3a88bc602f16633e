"""Words that are stored with results or kept in tables of constants: English here, said in the reader's
language by ``surveys.language`` when they are shown. Pure, so that every layer may use it."""

from collections.abc import Callable
from functools import reduce
from typing import Any

# ``said`` for words that are stored, ``surveys.language.worded`` for words of a page: pure code is given one of them.
Say = Callable[..., str]


def said(pattern: str, /, **values: Any) -> str:
    """Words that are stored, in English; ``told`` says them in another language later.

    A value fills its gap as it stands, so it is written out before (``f"{share:.0%}"``), and may itself be
    words made by ``said``.
    """
    return pattern.format(**values) if values else pattern


def said_n(one: str, many: str, n: int, /, **values: Any) -> str:
    """``said`` for a number of things, which fills the gap ``n``."""
    return (one if n == 1 else many).format(n=n, **values)


def marked(words: str) -> str:
    """Words that stand in a table of constants: found for translation here, said by ``told`` when shown."""
    return words


AND = marked("{first} and {second}")
OR = marked("{first} or {second}")


def linked(say: Say, pattern: str, parts: list[str]) -> str:
    """Several words put together two by two by a pattern with the gaps ``first`` and ``second``."""
    return reduce(lambda first, second: say(pattern, first=first, second=second), parts)
