"""Fail when a test marked `browser` was skipped or left out; say nothing when all of them ran.

Usage: browser_tests_ran.py REPORT, a JUnit XML report of a whole run of pytest.
"""

from __future__ import annotations

import contextlib
import io
import sys
import xml.etree.ElementTree as ET

import pytest


class Collected:
    """Notes the tests that pytest would run."""

    def __init__(self) -> None:
        self.names: set[tuple[str, str]] = set()

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        for item in session.items:
            path, *parts, _ = item.nodeid.split("[")[0].split("::")
            self.names.add((".".join([path.removesuffix(".py").replace("/", "."), *parts]), item.name))


def main() -> int:
    wanted = Collected()
    with contextlib.redirect_stdout(io.StringIO()):
        # Without workers: only then are the tests collected in this process.
        pytest.main(
            ["--collect-only", "-q", "-m", "browser", "-p", "no:randomly", "-n", "0"], plugins=[wanted]
        )
    ran = {
        (case.get("classname", ""), case.get("name", ""))
        for case in ET.parse(sys.argv[1]).iter("testcase")
        if case.find("skipped") is None
    }
    missing = sorted(wanted.names - ran)
    if not wanted.names:
        print("No test is marked `browser`: the pages were not opened at all.", file=sys.stderr)
    for module, name in missing:
        print(f"Browser test not run: {module}::{name}", file=sys.stderr)
    return 1 if missing or not wanted.names else 0


if __name__ == "__main__":
    sys.exit(main())
