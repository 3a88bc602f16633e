"""Widgets that several forms share."""

from django import forms


def day_input() -> forms.DateInput:
    """A day in the browser's own picker, which wants it as YYYY-MM-DD."""
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
