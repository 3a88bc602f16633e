"""The two ways in which input to an index can be refused."""

from __future__ import annotations


class MethodError(ValueError):
    """A method file, or the figures given for a method, cannot be used.

    ``line`` is the line of the file the remark is about, counted from 1, or
    None where the remark is not about a line.
    """

    def __init__(self, reason: str, *, source: str = "", line: int | None = None) -> None:
        self.reason = reason
        self.source = source
        self.line = line
        where = source if line is None else f"{source}, line {line}"
        super().__init__(f"{where}: {reason}" if where else reason)


class SampleError(ValueError):
    """A sample holds something that cannot be read: the message names the taxon and the key."""
