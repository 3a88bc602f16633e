"""Whether public pages stay as quick, and take as many queries, as a county grows.

Run ``python -m tests.benchmarks.bench_pages [STATIONS ...]`` from the top of the checkout; not collected
by pytest. Server time without the network, median of several requests; a page that keeps something until
its data change is asked for once before. Ratios are to the first size of the same run.
"""

from __future__ import annotations

from tests.benchmarks.county import county, ready, sizes, usual


def main() -> None:
    """Print one line for each page and size."""
    asked = sizes(__doc__ or "")
    ready()
    first: dict[str, float] = {}
    for stations in asked:
        print(f"{stations} stations")
        for name, (took, queries, size) in measured(stations).items():
            first.setdefault(name, took)
            print(
                f"  {name:<22}{1000 * took:6.0f} ms  {took / first[name]:5.2f} x the first  "
                f"{queries:3} queries  {size / 1024:5.0f} KB"
            )


def addresses() -> dict[str, str]:
    """Pages that show one place, and pages that show all of them."""
    from surveys.models import Station, Visit, Watershed

    creek, station = Watershed.objects.order_by("pk")[0], Station.objects.order_by("pk")[0]
    visit = Visit.objects.filter(station=station)[0]
    return {
        "overview": "/",
        "stations": "/stations/",
        "watershed": creek.get_absolute_url(),
        "station": station.get_absolute_url(),
        "visit": visit.get_absolute_url(),
        "compare creeks": "/compare/",
        "compare stations": "/compare/?level=stations",
        "compare, by slope": "/compare/?level=stations&measure=total_catch&sort=slope",
    }


def measured(stations: int) -> dict[str, tuple[float, int, int]]:
    """Seconds, queries and bytes of each page."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext, override_settings

    from trends.recompute import mark_all
    from trends.recompute_processes import recompute_in_processes

    found = {}
    with county(stations), override_settings(ALLOWED_HOSTS=["testserver"]):
        mark_all()
        recompute_in_processes()
        browser = Client()
        for name, address in addresses().items():
            took = usual(lambda address=address: browser.get(address))  # type: ignore[misc]
            with CaptureQueriesContext(connection) as caught:
                answer = browser.get(address)
            if answer.status_code != 200:
                raise SystemExit(f"{address} answered {answer.status_code}.")
            found[name] = (took, len(caught), len(answer.content))
    return found


if __name__ == "__main__":
    main()
