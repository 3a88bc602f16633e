"""A method tried on past visits: its scores beside those that stand. Nothing is stored."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean, median

from surveys.models import Visit, Watershed
from surveys.models.visits import VisitQuerySet
from surveys.queries import visit_records
from trends.index import Method
from trends.models import VisitResult
from trends.scores import VisitScore, score_by
from trends.shelf import shelf

# A trial is read by a person, and made while they wait.
MOST_VISITS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialRow:
    """One visit: what stands, and what the method tried makes of it."""

    visit: Visit
    present: VisitResult | None
    tried: VisitScore

    @property
    def score(self) -> float | None:
        result = self.tried.result
        return (
            float(result.score)
            if result is not None and result.score is not None and self.tried.rated
            else None
        )

    @property
    def rating(self) -> str:
        return (self.tried.result.rating or "") if self.tried.result is not None and self.tried.rated else ""

    @property
    def present_score(self) -> float | None:
        return self.present.index_score if self.present else None

    @property
    def change(self) -> float | None:
        if self.score is None or self.present_score is None:
            return None
        return self.score - self.present_score

    @property
    def rating_differs(self) -> bool:
        return (
            self.change is not None and self.present is not None and self.rating != self.present.index_rating
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """All visits tried, latest first; ``left_out`` of them were not tried since there are too many."""

    rows: tuple[TrialRow, ...]
    left_out: int
    without_stratum: int  # accepted visits whose station's stratum the method does not have

    @property
    def compared(self) -> list[float]:
        return [row.change for row in self.rows if row.change is not None]

    @property
    def summary(self) -> dict[str, float | int | None]:
        changes = self.compared
        return {
            "tried": len(self.rows),
            "scored": sum(1 for row in self.rows if row.score is not None),
            "scored_now": sum(1 for row in self.rows if row.present_score is not None),
            "both": len(changes),
            "changed": sum(1 for change in changes if abs(change) > 1e-9),
            "ratings": sum(1 for row in self.rows if row.rating_differs),
            "mean": fmean(changes) if changes else None,
            "middle": median(changes) if changes else None,
            "least": min(changes, default=None),
            "most": max(changes, default=None),
        }


def try_method(
    method: Method, *, watershed: Watershed | None = None, strata: Iterable[str] = (), most: int = MOST_VISITS
) -> Trial:
    """Score accepted visits by a method, whatever they are scored by now.

    Parameters
    ----------
    watershed : only its visits
    strata : only visits of stations in these strata, as the stations spell them
    most : the latest so many visits at most
    """
    visits = Visit.objects.accepted()
    if watershed is not None:
        visits = visits.in_watershed(watershed)
    if strata:
        visits = visits.filter(station__stratum__in=list(strata))
    fitting: dict[str, str] = {}
    for words in visits.order_by().values_list("station__stratum", flat=True).distinct():
        part = method.stratum(words) if words else None
        if part is not None:
            fitting[words] = part.code
    wanted = visits.filter(station__stratum__in=list(fitting))
    return _trial(method, wanted, fitting, most, visits.count())


def _trial(method: Method, wanted: VisitQuerySet, fitting: dict[str, str], most: int, every: int) -> Trial:
    number = wanted.count()
    chosen = list(wanted.order_by("-visit_date", "-pk").values_list("pk", flat=True)[:most])
    rows = {
        visit.pk: visit
        for visit in Visit.objects.filter(pk__in=chosen).select_related("station__watershed", "result")
    }
    standing = shelf()
    made = [
        TrialRow(
            visit=rows[record.visit_id],
            present=getattr(rows[record.visit_id], "result", None),
            tried=score_by(
                method, fitting[record.stratum], record, standing.traits_for(record.stratum, method=method)
            ),
        )
        for record in visit_records(Visit.objects.filter(pk__in=chosen))
    ]
    return Trial(rows=tuple(reversed(made)), left_out=number - len(made), without_stratum=every - number)
