"""Keep every installed version written down in pyproject.toml.

The dependency lists pin what the project uses itself. This script asks uv what those packages bring
along and writes those versions to `[tool.uv] constraint-dependencies`, so that two machines install the
same without a lock file, which would record the address of a package registry.

    uv run scripts/pins.py           write the section
    uv run scripts/pins.py --renew   forget the present section first, so that newer versions come in
    uv run scripts/pins.py --check   change nothing; fail if the section or a list is not in order
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PYPROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"
EXPORT = [
    os.environ.get("UV", "uv"),
    "export",
    "--quiet",
    "--no-hashes",
    "--no-header",
    "--no-annotate",
    "--all-groups",
]
SECTION = re.compile(
    r"^# Everything the lists above bring along; written by scripts/pins\.py\.\n"
    r"constraint-dependencies = \[\n(?:    .*\n)*\]\n",
    re.MULTILINE,
)
TABLE = re.compile(r"^\[tool\.uv\]\n(?:[^\[\n#].*\n)*", re.MULTILINE)


class PinsOutOfOrder(ValueError):  # noqa: N818 - says what is the matter
    """Something in pyproject.toml has to change."""


def direct_requirements(text: str) -> list[Requirement]:
    """What the project asks for itself, over all lists; each must name exactly one version."""
    document = tomllib.loads(text)
    lists = [
        document["project"].get("dependencies", []),
        *document["project"].get("optional-dependencies", {}).values(),
        *document.get("dependency-groups", {}).values(),
    ]
    found = [Requirement(entry) for entries in lists for entry in entries if isinstance(entry, str)]
    loose = [str(each) for each in found if not _names_one_version(each)]
    if loose:
        raise PinsOutOfOrder(f"not pinned with ==: {', '.join(loose)}")
    return found


def _names_one_version(requirement: Requirement) -> bool:
    clauses = list(requirement.specifier)
    return len(clauses) == 1 and clauses[0].operator == "==" and not clauses[0].version.endswith(".*")


def exported(*, renew: bool = False) -> list[str]:
    """Every requirement of every group, one version each, with its environment markers."""
    done = subprocess.run(
        EXPORT + (["--upgrade"] if renew else []), cwd=PYPROJECT.parent, stdout=subprocess.PIPE, text=True
    )
    if done.returncode != 0:
        raise PinsOutOfOrder("uv cannot resolve the lists; its reason is above (with --renew it may)")
    return [line.strip() for line in done.stdout.splitlines() if line.strip()]


def brought_along(everything: list[str], direct: list[Requirement]) -> list[str]:
    named = {canonicalize_name(each.name) for each in direct}
    return sorted(line for line in everything if canonicalize_name(Requirement(line).name) not in named)


def with_section(text: str, pins: list[str]) -> str:
    """The text of pyproject.toml with these pins in place of the present ones."""
    lines = "".join(f'    "{pin}",\n' for pin in pins)
    section = (
        "# Everything the lists above bring along; written by scripts/pins.py.\n"
        f"constraint-dependencies = [\n{lines}]\n"
    )
    table = TABLE.search(text := SECTION.sub("", text))
    if table is None:
        raise PinsOutOfOrder("there is no [tool.uv] table to write to")
    return text[: table.end()] + section + text[table.end() :]


def main() -> int:
    parser = argparse.ArgumentParser(description="Keep every installed version written down.")
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--check", action="store_true", help="change nothing, fail if out of order")
    choice.add_argument("--renew", action="store_true", help="let newer versions come in")
    arguments = parser.parse_args()
    before = PYPROJECT.read_text(encoding="utf-8")
    try:
        direct = direct_requirements(before)
        if arguments.renew:
            PYPROJECT.write_text(with_section(before, []), encoding="utf-8")
        after = with_section(before, brought_along(exported(renew=arguments.renew), direct))
    except PinsOutOfOrder as problem:
        if arguments.renew:
            PYPROJECT.write_text(before, encoding="utf-8")
        print(f"pyproject.toml: {problem}", file=sys.stderr)
        return 1
    if arguments.check:
        if after != before:
            print("pyproject.toml: the pins are out of step: uv run scripts/pins.py", file=sys.stderr)
            return 1
        return 0
    PYPROJECT.write_text(after, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
