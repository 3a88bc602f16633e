"""Whether a method fits a visit at all: place, season, effort and catch, each misfit with its reason."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from surveys.said import said
from trends.index.exact import ACRES_PER_SQ_MI, exact, short
from trends.index.method import Method
from trends.index.results import IndexResult
from trends.index.sample import Sample, read_sample
from trends.index.scoring import find_stratum, score_sample

REACH_TOLERANCE = Fraction(1, 10)  # our own convention: up to a tenth more or less is the same reach


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """One way in which a visit departs from what the method asks for."""

    code: str
    reason: str
    blocks: bool  # True: no score should be shown as a rating; False: a remark beside the score


def fit(
    method: Method,
    sample: Mapping[str, Any] | Sample,
    *,
    passes: int | None = None,
    visit_date: date | None = None,
    stop_nets: str | None = None,
    result: IndexResult | None = None,
) -> tuple[Misfit, ...]:
    """Return every way in which a visit does not fit a method; empty where all is as it asks.

    Parameters
    ----------
    method : Method
    sample : mapping or Sample
    passes : int, optional
        Passes made; default: as many as the sample shows.
    visit_date : date, optional
        For the season; not checked where it is left out.
    stop_nets : str, optional
        ``both``, ``upstream``, ``downstream`` or ``none``; not checked where it is left out.
    result : IndexResult, optional
        The score of the same sample, where it is at hand, to save working it out again.
    """
    read = read_sample(sample)
    scored = result or score_sample(method, read)
    found = [*_place(method, read), *_effort(method, read, passes or read.n_passes, stop_nets)]
    if visit_date is not None:
        found += _season(method, visit_date)
    found += _catch(method, read)
    if not scored.computable and scored.stratum is not None:
        found += [Misfit(code="not_computable", reason=reason, blocks=True) for reason in scored.reasons]
    return tuple(found)


def reasons_not_rated(misfits: tuple[Misfit, ...]) -> tuple[str, ...]:
    """Return the reasons that forbid a rating, each once."""
    return tuple(dict.fromkeys(misfit.reason for misfit in misfits if misfit.blocks))


def _place(method: Method, sample: Sample) -> list[Misfit]:
    stratum, why_not = find_stratum(method, sample)
    found = []
    if stratum is None:
        found.append(Misfit(code="stratum", reason=why_not, blocks=True))
    least = method.applies_to.get("min_catchment_acres")
    if least is None and "min_catchment_sq_mi" in method.applies_to:
        least = exact(method.applies_to["min_catchment_sq_mi"]) * ACRES_PER_SQ_MI
    if least is None:
        return found
    if sample.catchment_acres is None:
        why = said(
            "the catchment area is not known; the method applies from {least} acres",
            least=short(exact(least), 1),
        )
        found.append(Misfit(code="catchment", reason=why, blocks=True))
    elif sample.catchment_acres < exact(least):
        size, limit = short(sample.catchment_acres, 1), short(exact(least), 1)
        why = said(
            "the catchment of {size} acres is smaller than the {least} acres from which the method applies",
            size=size,
            least=limit,
        )
        found.append(Misfit(code="catchment", reason=why, blocks=True))
    return found


def _effort(method: Method, sample: Sample, passes: int, stop_nets: str | None) -> list[Misfit]:
    found = []
    wanted = method.applies_to.get("passes")
    if wanted is not None and passes < wanted:
        why = (
            said("1 pass was made; the method asks for {wanted}", wanted=wanted)
            if passes == 1
            else said("{n} passes were made; the method asks for {wanted}", n=passes, wanted=wanted)
        )
        found.append(Misfit(code="passes", reason=why, blocks=True))
    elif wanted is not None and passes > wanted:
        why = said(
            "{n} passes were made; the method asks for {wanted}, so only the first {wanted} compare",
            n=passes,
            wanted=wanted,
        )
        found.append(Misfit(code="passes", reason=why, blocks=False))
    reach = method.applies_to.get("reach_m")
    if reach is not None and sample.reach_m is not None:
        off = abs(sample.reach_m - exact(reach)) / exact(reach)
        if off > REACH_TOLERANCE:
            why = said(
                "{fished} m were fished; the method asks for {wanted} m",
                fished=short(sample.reach_m, 1),
                wanted=short(exact(reach), 1),
            )
            found.append(Misfit(code="reach", reason=why, blocks=False))
    nets = method.applies_to.get("stop_nets")
    if nets is not None and stop_nets is not None and stop_nets != nets:
        why = said("stop nets: {nets}; the method asks for {wanted}", nets=stop_nets, wanted=nets)
        found.append(Misfit(code="stop_nets", reason=why, blocks=False))
    return found


def _season(method: Method, visit_date: date) -> list[Misfit]:
    months = method.applies_to.get("months")
    if months is None:
        return []
    first, last = months
    inside = first <= visit_date.month <= last if first <= last else not last < visit_date.month < first
    if inside:
        return []
    why = said(
        "visited on {day}; the method's season is {first} to {last}",
        day=visit_date.isoformat(),
        first=month_name[first],
        last=month_name[last],
    )
    return [Misfit(code="season", reason=why, blocks=True)]


def _catch(method: Method, sample: Sample) -> list[Misfit]:
    least = method.applies_to.get("min_fish")
    if least is None or sample.fish >= least or not sample.all_counted:
        return []
    why = said("{n} fish were caught; the method asks for at least {least}", n=sample.fish, least=least)
    return [Misfit(code="fish", reason=why, blocks=True)]
