"""How long public pages take when 16 people read at once, against one person reading alone.

Run ``python -m tests.benchmarks.bench_readers http://127.0.0.1:8000 [CREEK]`` against a site that is
running; not collected by pytest. CREEK is the end of a creek's address. Each page is asked for once before.
"""

from __future__ import annotations

import argparse
import time
from concurrent.futures import ThreadPoolExecutor
from urllib.request import urlopen

READERS, EACH = 16, 6


def main() -> None:
    """Print one line for each page: alone, then half and nineteen in twenty of the answers at once."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("site")
    parser.add_argument("creek", nargs="?", default="tarvandle-run")
    asked = parser.parse_args()
    site = asked.site.rstrip("/")
    if not site.startswith(("http://", "https://")):
        parser.error("the site's address begins with http:// or https://")
    creek = f"/watersheds/{asked.creek}/"
    for page in ("/", creek, f"{creek}?from=2008", "/compare/", "/compare/?level=stations", "/methods/"):
        address = f"{site}{page}"
        seconds(address)
        alone = sorted(seconds(address) for _ in range(EACH))[EACH // 2]
        with ThreadPoolExecutor(READERS) as readers:
            took = sorted(readers.map(seconds, [address] * READERS * EACH))
        half, most = took[len(took) // 2], took[int(0.95 * len(took))]
        print(
            f"{page:<40}alone {1000 * alone:5.0f} ms   {READERS} at once: half {1000 * half:5.0f} ms, "
            f"95 in 100 {1000 * most:5.0f} ms, {most / alone:4.1f} x alone"
        )


def seconds(address: str) -> float:
    """Wall-clock time [s] from asking until the whole answer is here."""
    start = time.perf_counter()
    with urlopen(address) as answer:
        answer.read()
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
