"""What a person types to begin a visit, and the sheet that a page sends."""

import datetime
import json
from collections.abc import Iterable
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from surveys.entry.expected import Expected
from surveys.entry.sheet import MOST_PASSES, Sheet, sheet_from
from surveys.forms.widgets import day_input
from surveys.language import worded
from surveys.models import SamplingMethod, Station, Taxon, Visit
from surveys.season import closed_years, locked_sentence
from surveys.uploads.checks import OLDEST_LIKELY
from surveys.uploads.values import fold, is_number


class StartForm(forms.Form):
    station = forms.CharField(
        label=_("Station"),
        max_length=200,
        help_text=_("Type a part of the code, the stream or the name, and choose."),
        widget=forms.TextInput(attrs={"list": "stations", "autocomplete": "off"}),
    )
    visit_date = forms.DateField(label=_("Day of the visit"), widget=day_input())
    method = forms.ModelChoiceField(
        SamplingMethod.objects.all(),
        label=_("Method"),
        required=False,
        empty_label=_("the station’s own"),
        help_text=_("Years sampled by different methods are never joined in one trend."),
    )

    def clean_station(self) -> Station:
        text = self.cleaned_data["station"].strip()
        code = text.split(" ")[0]
        station = Station.objects.with_places().filter(code__iexact=code).first()
        if station is None:
            raise forms.ValidationError(
                worded("There is no station {written}. Choose one from the list.", written=text)
            )
        return station

    def clean_visit_date(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["visit_date"]
        if day > timezone.localdate():
            raise forms.ValidationError(worded("This day is in the future."))
        if day < OLDEST_LIKELY:
            # A day of the year 0025 is what an input for days gives while the year is being typed.
            words = worded("{day} is before {year}.", day=day, year=OLDEST_LIKELY.year)
            raise forms.ValidationError(f"{words} {worded('Check the year.')}")
        if day.year in closed_years():
            raise forms.ValidationError(locked_sentence(day.year))
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        station = cleaned.get("station")
        if station and not cleaned.get("method"):
            default = SamplingMethod.objects.filter(is_default=True).first()
            cleaned["method"] = station.method or default
            if cleaned["method"] is None:
                self.add_error(
                    "method", worded("Neither the station nor the site has a usual method. Choose one.")
                )
        return cleaned


MOST_ANSWER = 500  # letters


def sheet_from_post(post: QueryDict) -> Sheet:
    """The sheet as it was typed, with its rows and columns as they were shown."""
    shown = post.get("passes", "1")
    passes = int(shown) if is_number(shown, 2) else 1
    given = {name: post.get(name, "") for name in post}
    if "checks_made" in post:
        given["checks_made"] = "; ".join(filter(None, post.getlist("checks_made")))
    # A box without its tick does not come along, but here it says no.
    for taxon in keys_from_post(post, "detail"):
        for number in range(1, min(passes, MOST_PASSES) + 1):
            for mark in ("estimated", "unsure"):
                given.setdefault(f"{mark}-{number}-{taxon}", "")
    return sheet_from(given, taxa=keys_from_post(post, "row"), passes=passes)


def keys_from_post(post: QueryDict, name: str) -> list[int]:
    """The keys of taxa given under a name."""
    return [int(text) for text in post.getlist(name) if is_number(text)]


def words_from_post(post: QueryDict, name: str, most: int = 2_000) -> str:
    """What a person wrote in a field, without the zero bytes that no database keeps."""
    return post.get(name, "").replace("\x00", "").strip()[:most]


def answers_from_post(post: QueryDict) -> dict[str, str]:
    """What was answered to single questions, by their keys."""
    return {
        name.removeprefix("answer-"): words
        for name in post
        if name.startswith("answer-") and (words := words_from_post(post, name, MOST_ANSWER))
    }


def base_from_post(post: QueryDict) -> dict[str, str] | None:
    """The sheet as it was when the person began; None where it did not come along."""
    try:
        base = json.loads(post.get("base", ""))
    except ValueError:
        return None
    if not isinstance(base, dict):
        return None
    return {str(name): str(text) for name, text in base.items()}


def find_taxon(text: str) -> Taxon | None:
    """The taxon meant by a common or scientific name, a code, another name, or a choice from the list."""
    from surveys.uploads.store import read_known

    known = read_known([]).taxa
    folded = fold(text)
    keys = known.get(folded, ())
    if len(keys) != 1 and folded.endswith(")") and "(" in folded:
        keys = known.get(folded[folded.rindex("(") + 1 : -1], ())
    return Taxon.objects.filter(pk=keys[0]).first() if len(keys) == 1 else None


def starting_sheet(visit: Visit, stored: Sheet, expected: Iterable[Expected]) -> Sheet:
    """The stored sheet with the expected taxa as blank rows, the most often met first."""
    order = [one.taxon.pk for one in expected]
    stored.taxa = [*order, *(key for key in stored.taxa if key not in order)]
    stored.passes = max(stored.passes, visit.method.planned_passes)
    return stored
