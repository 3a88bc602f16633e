"""What the reviewer sees: the visits that wait, and for each what was odd when it came in."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Count, QuerySet, Sum

from surveys import access
from surveys.access import Person
from surveys.models import Upload, Visit, VisitQuestion, VisitStatus, VisitStep


class Warned(str):
    """A warning in words that knows the key of its rule, where that is on record, and what was answered to it.

    Its own words and the answer are also kept apart: the first are said in the reader's language, the
    second stands as somebody wrote it.
    """

    rule: str
    message: str
    answer: str

    def __new__(cls, message: str, rule: str = "", answer: str = "") -> "Warned":
        made = super().__new__(cls, message + (f" Answer: {answer}" if answer else ""))
        made.rule, made.message, made.answer = rule, message, answer
        return made


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingVisit:
    visit: Visit
    passes: int
    fish: int
    warnings: tuple[Warned, ...]
    may_accept: bool

    @property
    def clean(self) -> bool:
        """Nothing was odd when it came in, so it may be accepted together with others."""
        return not self.warnings


def waiting_visits() -> QuerySet[Visit]:
    """Visits that wait for a reviewer, the oldest day first, with their passes and fish counted."""
    return (
        Visit.objects.awaiting_review()
        .with_places()
        .select_related("entered_by")
        .annotate(
            pass_count=Count("passes", distinct=True),
            fish_count=Sum("passes__catches__count", default=0),
        )
        .order_by("visit_date", "station__code")
    )


def as_waiting(visits: list[Visit], person: Person) -> list[WaitingVisit]:
    """Add to each visit its warnings, in one more query."""
    warnings = warnings_of(visits)
    return [
        WaitingVisit(
            visit=visit,
            passes=visit.pass_count,  # type: ignore[attr-defined]
            fish=visit.fish_count,  # type: ignore[attr-defined]
            warnings=warnings.get(visit.pk, ()),
            may_accept=access.may_accept(person, visit),
        )
        for visit in visits
    ]


def warnings_of(visits: Iterable[Visit]) -> Mapping[int, tuple[Warned, ...]]:
    """What was odd about visits: in the file they came from, or when they were handed in by hand."""
    visits = list(visits)
    found = _warnings_of_files(visits)
    for question in VisitQuestion.objects.filter(visit__in=visits):
        warned = Warned(question.message, question.code, question.answer)
        found[question.visit_id] = (*found.get(question.visit_id, ()), warned)
    return found


def _warnings_of_files(visits: list[Visit]) -> dict[int, tuple[Warned, ...]]:
    """What was odd about visits in the file they came from, as it was shown to the uploader."""
    uploads = {visit.upload_id for visit in visits if visit.upload_id is not None}
    odd: dict[tuple[int, str, str], tuple[Warned, ...]] = {}
    for key, summary in Upload.objects.filter(pk__in=uploads).values_list("pk", "summary"):
        for entry in summary.get("visits", []):
            if entry.get("warnings"):
                # Files taken before rules had a page name none.
                rules = entry.get("rules") or [""] * len(entry["warnings"])
                odd[key, entry["station"], entry["date"]] = tuple(map(Warned, entry["warnings"], rules))
    return {
        visit.pk: odd[place]
        for visit in visits
        if (place := (visit.upload_id or 0, visit.station.code, str(visit.visit_date))) in odd
    }


def clean_visit_ids(person: Person) -> list[int]:
    """Waiting visits without any warning that this person may accept."""
    visits = list(Visit.objects.awaiting_review().filter(questions=None).select_related("station"))
    odd = _warnings_of_files(visits)
    return [v.pk for v in visits if v.pk not in odd and access.may_accept(person, v)]


def returned_visits() -> list[tuple[Visit, VisitStep | None]]:
    """Visits sent back, each with the step that says why. Two queries."""
    visits = list(
        Visit.objects.filter(status=VisitStatus.RETURNED)
        .with_places()
        .order_by("visit_date", "station__code")
    )
    last: dict[int, VisitStep] = {}
    for step in VisitStep.objects.filter(visit__in=visits, status=VisitStatus.RETURNED).select_related("by"):
        last[step.visit_id] = step
    return [(visit, last.get(visit.pk)) for visit in visits]
