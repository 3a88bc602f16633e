"""The one kind of refusal that callers of the statistics are expected to catch."""

from __future__ import annotations


class InsufficientData(ValueError):  # noqa: N818 - the name says what is wrong, not that it is an error
    """There are too few usable numbers for the calculation asked for.

    Parameters
    ----------
    code : str
        A stable word for the reason, for example ``too_few_years``.
    message : str
        One plain sentence with the numbers in it.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message

    def __reduce__(self) -> tuple[type[InsufficientData], tuple[str, str]]:
        """Keep both arguments when the refusal crosses a process border."""
        return type(self), (self.code, self.message)
