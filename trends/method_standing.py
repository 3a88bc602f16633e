"""How far a method's figures may be trusted: the sentence that every page with a score says."""

from collections.abc import Iterable

from django.db.models import Q

from surveys.language import day_words, told, worded
from trends.index import Method
from trends.measures import BY_KEY
from trends.models import MethodCheck, VisitResult
from trends.outcomes import Outcome
from trends.shelf import loaded_method


def latest_checks() -> dict[tuple[str, str], MethodCheck]:
    """The latest check of every version that has one, by code and version. One query."""
    found: dict[tuple[str, str], MethodCheck] = {}
    for check in MethodCheck.objects.all():
        found.setdefault((check.code, check.version), check)
    return found


def standing_sentence(method_code: str, version: str = "") -> str:
    """Who checked the figures of a method against the report; until somebody did, that they must be.

    Empty where there is no method, or where nothing in it was written down from memory and nobody has
    recorded a check. Without a version, the one in use today.
    """
    if not method_code:
        return ""
    method = loaded_method(method_code, version)
    return sentence_for(method, MethodCheck.objects.filter(code=method.code, version=method.version).first())


def sentence_for(method: Method, check: MethodCheck | None) -> str:
    """The same sentence where the method and its latest check are at hand."""
    if check is None:
        return told(method.check_note)
    return worded(
        "{person} checked the cut points of version {version} against {edition}, {pages}, on {day}.",
        person=check.checked_by_name,
        version=method.version,
        edition=check.edition,
        pages=check.pages,
        day=day_words(check.checked_on),
    )


def short_standing(method_code: str, version: str = "") -> str:
    """The same in a few words, for the foot of a paper or the caption of a picture; empty where nothing is to say."""
    if not method_code:
        return ""
    method = loaded_method(method_code, version)
    check = MethodCheck.objects.filter(code=method.code, version=method.version).first()
    if check is None:
        return (
            worded("index cut points still to be checked against the report before official use")
            if method.needs_check
            else ""
        )
    return worded(
        "index cut points checked by {person}, {day}",
        person=check.checked_by_name,
        day=f"{check.checked_on:%Y-%m-%d}",
    )


def versions_behind(outcomes: Iterable[Outcome]) -> list[tuple[str, str]]:
    """Methods, as code and version, whose scores these outcomes show; none where they show another measure.

    An outcome of scores by several methods names none; those of its place are looked up, in one query.
    """
    shown = [one for one in outcomes if BY_KEY[one.measure].is_index]
    found = {(one.index_method, one.index_version) for one in shown if one.index_method}
    mixed = [one for one in shown if not one.index_method and one.latest_year is not None]
    if mixed:
        places: dict[str, set[str]] = {"watershed": set(), "station": set()}
        for one in mixed:
            places[one.scope].add(one.place)
        found |= versions_at(watersheds=places["watershed"], stations=places["station"])
    return sorted(found)


def versions_at(*, watersheds: Iterable[str] = (), stations: Iterable[str] = ()) -> set[tuple[str, str]]:
    """Methods, as code and version, that scored visits at these places: slugs and codes. One query."""
    there = Q(visit__station__watershed__slug__in=list(watersheds)) | Q(
        visit__station__code__in=list(stations)
    )
    # The score that may be published, so that the name of a method does not tell of one that may not.
    scored = VisitResult.objects.filter(there, listed_score__isnull=False).exclude(index_method="")
    return set(scored.order_by().values_list("index_method", "index_version").distinct())


def short_sentences(versions: Iterable[tuple[str, str]]) -> str:
    """The few words on each of these methods as sentences, for the caption of a picture that leaves its page."""
    told = dict.fromkeys(words for version in versions if (words := short_standing(*version)))
    return " ".join(f"{words[0].upper()}{words[1:]}." for words in told)


class Standings:
    """The sentences of many results, each method's asked for once: for files of many rows."""

    def __init__(self) -> None:
        self._told: dict[tuple[str, str], str] = {}

    def behind(self, outcome: Outcome) -> str:
        """The sentences of all methods whose scores an outcome shows."""
        return " ".join(
            dict.fromkeys(told for version in versions_behind([outcome]) if (told := self.of(*version)))
        )

    def of(self, method_code: str, version: str) -> str:
        key = (method_code, version)
        if key not in self._told:
            self._told[key] = standing_sentence(method_code, version)
        return self._told[key]
