"""One visit: its passes, catches and depletion, and every metric of its index score."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from surveys.access import may_accept, visible_visits
from surveys.queries import visit_records
from surveys.withholding import STATEMENT, sees_all, without_sensitive
from trends import charts
from trends.measures import MEASURES
from trends.recompute import unsaved_result
from trends.scores import loaded_method


@require_safe
def visit(request: HttpRequest, pk: int) -> HttpResponse:
    """An accepted visit shows its stored results; one still in review shows what they would be."""
    found = get_object_or_404(
        visible_visits(request.user).select_related("station__watershed", "method", "upload", "entered_by"), pk=pk
    )
    full = visit_records(visible_visits(request.user).filter(pk=pk))[0]
    everything = sees_all(request.user)
    record = full if everything else without_sensitive(full)
    hidden = set() if everything else {
        c.taxon.scientific_name for p in full.passes for c in p.catches if c.taxon.sensitive_location
    }
    result = getattr(found, "result", None) if found.is_accepted else None
    shown = result or unsaved_result(full)
    indicators = shown.detail["indicators"]["indicators"]
    index = shown.detail.get("index")
    method = loaded_method(shown.index_method) if shown.index_method else None
    catches = record.counts_by_taxon()
    by_taxon = {
        taxon: [c for p in record.passes for c in p.catches if c.taxon == taxon] for taxon in catches
    }
    removal = [r for r in shown.detail["indicators"]["removal"] if r["taxon"] not in hidden]
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
                    "value": shown.values.get(m.key),
                    "reason": shown.detail["reasons"].get(m.key, ""),
                    "n": indicators.get(m.key, {}).get("n"),
                }
                for m in MEASURES
            ],
            "makeup": shown.detail["indicators"],
            "catches": [
                {
                    "taxon": taxon,
                    "counts": counts,
                    "total": sum(counts),
                    "young_of_year": _sum_known([c.young_of_year for c in by_taxon[taxon]]),
                    "anomalies": _sum_known([c.anomalies for c in by_taxon[taxon]]),
                    "biomass_g": _sum_known([c.biomass_g for c in by_taxon[taxon]]),
                }
                for taxon, counts in catches.items()
            ],
            "totals": [p.count for p in record.passes],
            "total": record.total_catch,
            "depletion": charts.depletion(
                [p.count for p in record.passes],
                [(t.common_name or t.scientific_name, counts) for t, counts in catches.items()],
            ),
            "removal": removal,
            "removal_total": shown.detail["indicators"]["removal_total"] if not hidden else None,
            "index": _index_for_page(index, hidden),
            "method": method,
            "withheld": "" if everything else STATEMENT,
            "steps": found.steps.select_related("by") if request.user.is_authenticated else [],
            "may_accept": may_accept(request.user, found),
            "staff": request.user.is_authenticated,
        },
    )


def _sum_known(values: list[float | None]) -> float | None:
    known = [v for v in values if v is not None]
    return sum(known) if len(known) == len(values) and values else None


def _index_for_page(index: dict | None, hidden: set[str]) -> dict | None:  # type: ignore[type-arg]
    """The stored index result without the names of withheld taxa."""
    if index is None or not hidden:
        return index
    metrics = {
        key: {**metric, "taxa": [t for t in metric["taxa"] if t["taxon"] not in hidden]}
        for key, metric in index["metrics"].items()
    }
    return {
        **index,
        "metrics": metrics,
        "excluded": [e for e in index["excluded"] if e["taxon"] not in hidden],
    }
