"""The brief as a file: one HTML page that needs nothing else, and its PDF printed by the installed Chromium."""

import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.translation import override

from surveys.said import marked, said
from trends.brief import content_hash

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
TIME_LIMIT_S = 90
MOST_PAGES = 2
PAPERS = {"letter": "Letter", "a4": "A4"}
# Nothing of a brief needs the network, a profile or a sandbox of its own: the page has no script.
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--no-pdf-header-footer",
)
NO_BROWSER = marked(
    "No Chromium is installed on this computer, so no PDF can be made. Open the brief in a browser and print it from "
    "there, or install Chromium (on Debian: apt-get install chromium)."
)


class NotPrinted(Exception):  # noqa: N818 - an answer to the person
    """The PDF could not be made; the message says why and what to do."""


def chromium() -> str | None:
    return next((path for name in BROWSERS if (path := shutil.which(name))), None)


def brief_html(
    content: Mapping[str, Any],
    *,
    paper: str = "letter",
    issued: Mapping[str, Any] | None = None,
    tight: bool = False,
) -> str:
    """The brief with its style inside, as it is printed: readable from a disk, without network or script."""
    named = content_hash(dict(content))
    style = (settings.BASE_DIR / "static" / "css" / "brief.css").read_text(encoding="utf-8")
    # In the language of its content, whichever page it is asked for from.
    with override(content.get("language", "en")):
        return render_to_string(
            "trends/brief_file.html",
            {
                "brief": content,
                "issued": issued or {},
                "hash": named,
                "style": style,
                "paper": PAPERS[paper],
                "on_paper": True,
                "tight": tight,
            },
        )


def write_pdf(html: str, path: Path, *, time_limit_s: float = TIME_LIMIT_S) -> None:
    """Print a page to a PDF.

    Raises
    ------
    NotPrinted : no browser, or it failed or took too long
    """
    browser = chromium()
    if browser is None:
        raise NotPrinted(NO_BROWSER)
    if not path.parent.is_dir():
        raise NotPrinted(said("There is no folder {folder}.", folder=path.parent))
    with tempfile.TemporaryDirectory(prefix="brief_", ignore_cleanup_errors=True) as folder:
        page, made = Path(folder) / "brief.html", Path(folder) / "brief.pdf"
        page.write_text(html, encoding="utf-8")
        command = [
            browser,
            *FLAGS,
            f"--user-data-dir={folder}/profile",
            f"--print-to-pdf={made}",
            page.as_uri(),
        ]
        try:
            run = subprocess.run(command, capture_output=True, timeout=time_limit_s, check=False)
        except subprocess.TimeoutExpired as problem:
            raise NotPrinted(
                said("Chromium did not print the brief within {seconds} s.", seconds=f"{time_limit_s:g}")
            ) from problem
        if not made.exists() or not made.read_bytes().startswith(b"%PDF-"):
            words = run.stderr.decode(errors="replace").strip().splitlines()
            raise NotPrinted(" ".join([marked("Chromium printed nothing."), *words[-1:]]))
        try:
            shutil.copyfile(made, path)
        except OSError as problem:
            raise NotPrinted(
                said("{file} cannot be written: {reason}.", file=path, reason=problem.strerror)
            ) from problem


def page_count(pdf: bytes) -> int:
    """Pages of a PDF as Chromium writes it, whose page objects are not compressed."""
    return len(re.findall(rb"/Type\s*/Page[^s]", pdf))


def brief_pdf(
    content: Mapping[str, Any], *, paper: str = "letter", issued: Mapping[str, Any] | None = None
) -> bytes:
    """The brief as a PDF: two sides at most, set closer where they would be three.

    Raises
    ------
    NotPrinted : see ``write_pdf``
    """
    with tempfile.TemporaryDirectory(prefix="brief_") as folder:
        path = Path(folder) / "brief.pdf"
        write_pdf(brief_html(content, paper=paper, issued=issued), path)
        if page_count(path.read_bytes()) > MOST_PAGES:
            write_pdf(brief_html(content, paper=paper, issued=issued, tight=True), path)
        return path.read_bytes()
