"""One watershed: its trajectory beside its notes, its stations along the creek, its fish, what it cannot say."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from surveys.models import Station, Visit, Watershed
from surveys.queries import VisitRecord, visit_records
from surveys.withholding import STATEMENT, sees_all, shown_to
from trends import brief_parts, charts
from trends.agreement import Agreement, agreement, metric_rows, metrics_words
from trends.assessments import assess
from trends.cautions import pages
from trends.chart_events import shade_events
from trends.chart_map import station_map
from trends.chart_profile import profile
from trends.choice import Choice, chosen_outcome, narrowed, read_choice, record_years
from trends.community import Community, community
from trends.lists_behind import lists_behind
from trends.many_tests import adjust
from trends.measures import BY_KEY, EVERY_MEASURE, Measure, leading
from trends.models import TrendResult
from trends.outcomes import Outcome
from trends.passed_over import measure_passed_over, names_passed_over, years_passed_over
from trends.public_figures import KEPT_BACK_SENTENCE, guarded_watersheds, measures_for, withheld_taxa
from trends.reading import cover_line, note_marks, numbered_notes, outcome_of, station_outcomes
from trends.record import read_record
from trends.remembered import remembered, state_of

SHARES = ("tolerant_share_pct", "intolerant_share_pct")


def chosen_measure(request: HttpRequest, offered: list[Measure]) -> Measure:
    """The measure named in the address where it is offered, else the one that leads."""
    asked = BY_KEY.get(request.GET.get("measure", ""))
    if asked in offered and asked is not None:
        return asked
    return leading(offered)


@require_safe
def watershed(request: HttpRequest, slug: str) -> HttpResponse:
    place = get_object_or_404(Watershed, slug=slug)
    staff = request.user.is_authenticated
    stored = _stored(place)
    offered = measures_for(request.user, [m for m in EVERY_MEASURE if m.key in stored], place.pk)
    kept_back = len(offered) < len(stored)
    stored = {m.key: stored[m.key] for m in offered}
    measure = chosen_measure(request, offered)
    stations = list(Station.objects.filter(watershed=place).order_by("river_km", "code"))
    asked = {key: request.GET.getlist(key) for key in request.GET}
    years = record_years(place)
    choice = read_choice(asked, [s.code for s in stations], years)
    record = None if choice.is_whole else read_record(place)
    outcome = (
        stored.get(measure.key) if record is None else chosen_outcome(place, choice, measure.key, record)
    )
    shown = [s for s in stations if not choice.stations or s.code in choice.stations]
    by_station = (
        station_outcomes(shown, measure.key) if record is None else _assessed(record, choice, measure.key)
    )
    notes = numbered_notes(place, staff=sees_all(request.user))
    cover = cover_line(place)
    context: dict[str, Any] = {
        "watershed": place,
        "measure": measure,
        "offered": offered,
        "choice": choice,
        "all_stations": stations,
        "years": years,
        "outcome": outcome,
        "stations": [{"station": s, "outcome": by_station.get(s.pk)} for s in shown],
        "many_tests": pages.many_tests(
            sum(1 for o in by_station.values() if o.current and o.current.p_value is not None)
        ),
        "notes": notes,
        "cover": cover,
        "staff": staff,
        "kept_back": KEPT_BACK_SENTENCE if kept_back else "",
        "passed_over": [
            *(measure_passed_over(asked, offered, measure) if offered else ()),
            *names_passed_over(asked, "station", [s.code for s in stations]),
            *years_passed_over(asked, years),
        ],
    }
    if outcome and outcome.latest_year:
        chart = charts.trajectory(outcome, notes=note_marks(notes), cover=cover, public=not staff)
        shade_events(chart, notes)
        state = state_of(place)
        metrics = metric_rows(
            list(stored.values()) if record is None else _outcomes(place, choice, offered, record, outcome)
        )
        context |= {
            "chart": chart,
            "facts": brief_parts.facts(outcome, staff=staff),
            "profile": profile(outcome, shown, notes),
            "map": station_map(shown, by_station, place.outlines, place.courses, staff=staff),
            "agreement": _agreement(outcome, choice, state, staff=staff),
            "metrics": metrics,
            "metrics_words": metrics_words(metrics, staff=staff),
            "shares": [r for r in metrics if r.outcome.measure in SHARES],
            "community": _community(request, shown, choice, state),
            "withheld": _withheld(request, place),
            "trait_lists": lists_behind([s.stratum for s in shown]),
        }
    return render(request, "trends/watershed.html", context)


def _stored(place: Watershed) -> dict[str, Outcome]:
    """The creek's stored outcomes that hold a value, in the order the measures are offered. One query."""
    results = {r.measure: r for r in TrendResult.objects.filter(watershed=place, station__isnull=True)}
    read = {m.key: outcome_of(results[m.key]) for m in EVERY_MEASURE if m.key in results}
    return {key: o for key, o in read.items() if o.latest_year is not None}


def _assessed(record: Any, choice: Choice, measure: str) -> dict[int, Outcome]:
    """The chosen stations over the chosen years, words adjusted for showing many."""
    part = narrowed(record, choice)
    chosen = [s for s in part.stations if part.visits.get(s.pk)]
    made = adjust([assess(part, measure, s) for s in chosen])
    return {s.pk: o for s, o in zip(chosen, made, strict=True)}


def _outcomes(
    place: Watershed, choice: Choice, offered: list[Measure], record: Any, shown: Outcome
) -> list[Outcome]:
    part = narrowed(record, choice)
    found = [
        shown if m.key == shown.measure else chosen_outcome(place, choice, m.key, part, with_cautions=False)
        for m in offered
    ]
    return [o for o in found if o is not None and o.latest_year is not None]


def _agreement(outcome: Outcome, choice: Choice, state: str, *, staff: bool) -> Agreement:
    if not choice.is_whole:
        return agreement(outcome, staff=staff)
    return remembered(
        f"agreement:{outcome.measure}:{staff}:{get_language()}",
        state,
        lambda: agreement(outcome, staff=staff),
    )


def _community(request: HttpRequest, shown: list[Station], choice: Choice, state: str) -> Community:
    def made() -> Community:
        visits = visit_records(Visit.objects.accepted().filter(station__in=shown))
        return community(_in_years(shown_to(request.user, visits), choice))

    return remembered(f"community:{sees_all(request.user)}:{choice.query()}", state, made)


def _in_years(records: list[VisitRecord], choice: Choice) -> list[VisitRecord]:
    first, last = choice.first or 0, choice.last or 9999
    return [r for r in records if first <= r.date.year <= last]


def _withheld(request: HttpRequest, place: Watershed) -> dict[str, Any]:
    """What the public is told of species whose places are withheld: their names, for the whole creek."""
    if sees_all(request.user) or not guarded_watersheds([place.pk]):
        return {}
    return {"statement": STATEMENT, "taxa": withheld_taxa([place.pk]).get(place.pk, [])}
