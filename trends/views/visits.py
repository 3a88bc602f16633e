"""One visit: its passes, catches and depletion, and every metric of its index score."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.access import may_accept, visible_visits
from surveys.field_record import field_record
from surveys.language import day_words, marked, told, worded, worded_n
from surveys.models import Visit
from surveys.queries import VisitRecord, visit_records
from surveys.withholding import STATEMENT, has_hidden, sees_all, without_sensitive
from trends import charts
from trends.anomaly_share import anomaly_sentence
from trends.measures import INDEX, MEASURES
from trends.models import VisitResult
from trends.number_words import rounded
from trends.public_figures import KEPT_BACK, guarded_watersheds, public_figures, score_told, stored_figures
from trends.recompute import unsaved_result
from trends.removal_words import effort_sentence, separate_sentence
from trends.scores import loaded_method
from trends.trait_lists import list_words


@require_safe
def visit(request: HttpRequest, pk: int) -> HttpResponse:
    """An accepted visit shows its stored results; one still in review shows what they would be."""
    found = get_object_or_404(
        visible_visits(request.user).select_related("station__watershed", "method", "upload", "entered_by"),
        pk=pk,
    )
    full = visit_records(visible_visits(request.user).filter(pk=pk))[0]
    everything = sees_all(request.user)
    record = full if everything else without_sensitive(full)
    result = getattr(found, "result", None) if found.is_accepted else None
    shown = result or unsaved_result(full)
    index = shown.detail.get("index")
    method = loaded_method(shown.index_method, shown.index_version) if shown.index_method else None
    catches = record.counts_by_taxon()
    by_taxon = {taxon: [c for p in record.passes for c in p.catches if c.taxon == taxon] for taxon in catches}
    # The public's numbers follow the rule for a whole watershed, so that no gap points to one visit.
    guarded = not everything and found.station.watershed_id in guarded_watersheds(
        [found.station.watershed_id]
    )
    figures = public_figures([found])[found.pk] if guarded else stored_figures(shown)
    score = figures.values.get(INDEX.key)
    # By the names of the list, not without those left out of it: a result may hold an earlier name of a fish.
    names = {taxon.scientific_name for taxon in catches}
    removal = [r for r in shown.detail["indicators"]["removal"] if everything or r["taxon"] in names]
    return render(
        request,
        "trends/visit.html",
        {
            "visit": found,
            "record": record,
            "result": shown,
            "stored": result is not None,
            "indicators": [
                {
                    "measure": m,
                    "value": figures.values.get(m.key),
                    "reason": figures.reasons.get(m.key, ""),
                }
                for m in MEASURES
            ],
            "makeup_rows": [] if guarded else _makeup(shown.detail["indicators"], full.total_catch),
            "finding": _finding(found, record, score, figures.rating, method),
            "water": _water(full.water),
            "field": field_record(found, public=not everything),
            "everything": everything,
            "vouchers": found.vouchers.select_related("taxon", "confirmed_as").defer("photo")
            if everything
            else [],
            "catches": [
                {
                    "taxon": taxon,
                    "counts": counts,
                    "total": sum(counts),
                    "young_of_year": _sum_known([c.young_of_year for c in by_taxon[taxon]]),
                    "anomalies": _sum_known([c.anomalies for c in by_taxon[taxon]]),
                    "biomass_g": _sum_known([c.biomass_g for c in by_taxon[taxon]]),
                    "partly": any(c.part_g is not None for c in by_taxon[taxon]),
                }
                for taxon, counts in catches.items()
            ],
            "anomalies": anomaly_sentence(record),
            "totals": [p.count for p in record.passes],
            "total": record.total_catch,
            "depletion": charts.depletion(
                [p.count for p in record.passes],
                [(t.common_name or t.scientific_name, counts) for t, counts in catches.items()],
            ),
            "removal": removal,
            "removal_separate": ""
            if guarded
            else separate_sentence(
                list(catches.values()), usable=shown.detail["indicators"]["removal_total"]["usable"]
            ),
            "removal_effort": ""
            if guarded
            else effort_sentence(
                [p.count for p in record.passes],
                [p.effort_s for p in record.passes],
                usable=shown.detail["indicators"]["removal_total"]["usable"],
            ),
            "removal_total": None if guarded else shown.detail["indicators"]["removal_total"],
            "index": None if guarded or index is None else {**index, "rating": shown.index_rating or None},
            "score": score,
            "rating": figures.rating,
            "published": result if everything and result and _differs(full, result) else None,
            "not_rated": figures.reasons.get("index_score", "") if index else "",
            "index_kept_back": KEPT_BACK if guarded and index is not None else "",
            "index_remarks": shown.detail.get("index_remarks", []),
            "trait_list": shown.detail.get("trait_list") or list_words(None),
            "method": method,
            "withheld": "" if everything else STATEMENT,
            "steps": found.steps.select_related("by") if everything else [],
            "may_accept": may_accept(request.user, found),
            # Remarks of the crew and of reviewers may name any fish.
            "staff": everything,
        },
    )


def _differs(record: VisitRecord, result: VisitResult) -> bool:
    """Whether others read another score than those who see all fish, who are then told it."""
    return has_hidden(record) or score_told(result, everything=True) != score_told(result, everything=False)


WATER_WORDS = {
    "water_temp_c": (marked("Water temperature"), "°C"),
    "conductivity_us_cm": (marked("Conductivity"), "µS/cm"),
    "dissolved_oxygen_mg_l": (marked("Dissolved oxygen"), "mg/L"),
    "ph": (marked("pH"), ""),
    "turbidity_ntu": (marked("Turbidity"), "NTU"),
    "discharge_m3_s": (marked("Discharge"), "m³/s"),
}


def _water(readings: dict[str, float | None]) -> list[tuple[str, str]]:
    return [
        (
            told(WATER_WORDS[key][0]),
            worded("not measured") if value is None else f"{value:g} {WATER_WORDS[key][1]}".strip(),
        )
        for key, value in readings.items()
    ]


def _makeup(indicators: dict[str, Any], fish: int) -> list[dict[str, Any]]:
    rows = [(told(word), n) for word, n in indicators["tolerance"].items()]
    rows.append((worded("tolerance not known"), indicators["unknown_tolerance"]))
    rows += [(told(word), n) for word, n in indicators["guilds"].items()]
    rows.append((worded("feeding not known"), indicators["unknown_guild"]))
    return [{"name": name, "fish": n, "share": 100 * n / fish if fish else None} for name, n in rows]


def _finding(visit: Visit, record: VisitRecord, score: float | None, rating: str, method: Any) -> str:
    """The visit in one sentence, from what this person may see."""
    passes = len(record.passes)
    species = sum(1 for t in record.counts_by_taxon() if t.is_species)
    caught = worded_n("no fish in {n} pass", "no fish in {n} passes", passes)
    if record.total_catch:
        caught = worded(
            "{fish} of {species} in {passes}",
            fish=worded_n("{n} fish", "{n} fish", record.total_catch),
            species=worded_n("{n} species", "{n} species", species),
            passes=worded_n("{n} pass", "{n} passes", passes),
        )
    when = day_words(visit.visit_date)
    if score is None or method is None:
        return worded("{caught} on {day}.", caught=f"{caught[0].upper()}{caught[1:]}", day=when)
    words = {
        "rating": told(rating) or worded("Between two classes"),
        "score": rounded(score, 2),
        "day": when,
        "caught": caught,
    }
    if not method.score_range:
        return worded("{rating} ({score}) on {day}: {caught}.", **words)
    return worded(
        "{rating} ({score} of {top}) on {day}: {caught}.", top=f"{method.score_range[1]:g}", **words
    )


def _sum_known(values: list[float | None]) -> float | None:
    known = [v for v in values if v is not None]
    return sum(known) if len(known) == len(values) and values else None
