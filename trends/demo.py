"""The demo: an invented county, put in through the same functions as the load commands.

Each step is one transaction that is done whole or not at all and is passed over where its data are
there already, so that a run that was broken off is taken up by the next one. The demo only ever fills a
database that is empty or that it has marked as its own.
"""

import csv
import datetime
import json
import os
import secrets
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group, User
from django.db import transaction

from surveys import review
from surveys.access import ROLES
from surveys.models import SamplingMethod, Station, Taxon, Upload, UploadStatus, Visit, VisitStatus, Watershed
from surveys.planner_statistics import refresh_statistics
from surveys.uploads.commit import NotTaken, new_upload, take
from surveys.uploads.list_records import ListResult
from surveys.uploads.outlines import load_outlines
from surveys.uploads.reference import load_stations, load_taxa
from trends.imports import load_land_cover, load_notes
from trends.models import LandUseNote, TraitList
from trends.recompute import mark_outdated, recompute_marked

FIXTURES = settings.BASE_DIR / "fixtures"
COUNTY = "Quillomby County"
LOADED_YEARS = range(2005, 2025)
# Its presence says that this database is the demo's; every demo account belongs to it.
MARK = "demo"
EMAIL_DOMAIN = "demo.invalid"  # a domain that cannot exist (RFC 2606)

# Left for the reviewer, so that the review page has something to show.
WAITING = frozenset({("TARV-01", 2024), ("BREN-04", 2024), ("OSTR-03", 2024)})
RETURNED = ("BREN-02", 2019)
RETURN_REMARK = (
    "The total weight of pass 2 cannot be right: it is far below the batch weights. Kilograms instead of grams? "
    "Please check the field sheet and send it again."
)

_WORDS = [
    "alder",
    "birch",
    "bridge",
    "brook",
    "cobble",
    "current",
    "dace",
    "darter",
    "eddy",
    "elm",
    "fern",
    "gravel",
    "heron",
    "kingfisher",
    "lamprey",
    "maple",
    "mayfly",
    "meadow",
    "minnow",
    "moss",
    "otter",
    "pebble",
    "pool",
    "reed",
    "riffle",
    "sculpin",
    "sedge",
    "shiner",
    "spring",
    "stone",
    "sycamore",
    "willow",
]

Say = Callable[[str], None]


class DemoRefused(Exception):  # noqa: N818 - an answer to the person
    """The demo cannot go into this database; the message says why and how to go on."""


def claim_database() -> bool:
    """Mark an empty database as the demo's; True where it was marked just now.

    Raises
    ------
    DemoRefused : it holds records that are not the demo's
    """
    with transaction.atomic():
        if Group.objects.filter(name=MARK).exists():
            return False
        held = next((m for m in (Watershed, Station, Visit, Taxon, User) if m.objects.exists()), None)
        if held is not None:
            raise DemoRefused(
                f"This database holds {held._meta.verbose_name_plural} that are not the demo's, so nothing was "
                "touched. Give the demo an empty database: set RILLMARK_DATA_DIR to a new folder"
                + (" and unset DATABASE_URL." if os.environ.get("DATABASE_URL") else ".")
            )
        Group.objects.create(name=MARK)
        return True


def demo_accounts() -> Any:
    """The accounts the demo made; none outside a demo's database."""
    return User.objects.filter(groups__name=MARK)


def make_logins(path: Path) -> dict[str, str]:
    """One account for each role; returns their passwords, which are kept in a file only its owner reads.

    The passwords are drawn anew for each database, so that no login of one demo opens another. Beside
    each the file keeps how the database stores it: where that still fits, nothing has to be worked out.
    """
    try:
        kept = json.loads(path.read_text(encoding="utf-8"))
        known = {role: (str(kept[role]["password"]), str(kept[role]["stored_as"])) for role in ROLES}
    except (OSError, ValueError, KeyError, TypeError):
        known = {}
    stored = dict(demo_accounts().values_list("username", "password"))
    if known and all(stored.get(role) == stored_as for role, (_, stored_as) in known.items()):
        return {role: password for role, (password, _) in known.items()}
    logins = {role: _new_password() for role in ROLES}
    hashed = {role: make_password(password) for role, password in logins.items()}
    _keep(path, {r: {"password": logins[r], "stored_as": hashed[r]} for r in ROLES})
    with transaction.atomic():
        for role in ROLES:
            _make_account(role, hashed[role])
    return logins


def _new_password() -> str:
    words = "-".join(secrets.choice(_WORDS) for _ in range(3))
    return f"{words}-{secrets.randbelow(9000) + 1000}"


def _keep(path: Path, logins: dict[str, dict[str, str]]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(path, "w", encoding="utf-8", opener=lambda name, flags: os.open(name, flags, 0o600)) as handle:
        json.dump(logins, handle, indent=2)


def _make_account(role: str, hashed: str) -> None:
    user, _ = User.objects.update_or_create(
        username=role,
        defaults={
            "email": f"{role}@{EMAIL_DOMAIN}",
            "first_name": "Demo",
            "last_name": role,
            "password": hashed,
            "is_active": True,
            "is_staff": role == "administrator",
        },
    )
    user.groups.set(Group.objects.filter(name__in=[role, MARK]))


def load_methods(content: bytes) -> None:
    """Sampling methods from a list whose headings are the fields of the record; insert or update by code."""
    rows = list(csv.DictReader(content.decode("utf-8").splitlines()))
    with transaction.atomic():
        if any(row["is_default"] == "1" for row in rows):
            SamplingMethod.objects.update(is_default=False)
        for row in rows:
            method = SamplingMethod.objects.filter(code=row["code"]).first() or SamplingMethod()
            for name, value in row.items():
                setattr(method, name, value == "1" if name == "is_default" else value)
            method.full_clean()
            method.save()


def load_lists(folder: Path = FIXTURES) -> bool:
    """Methods, taxa, stations, notes and land cover; False where they are there already."""
    with (folder / "stations.csv").open(encoding="utf-8", newline="") as handle:
        codes = {row["station"] for row in csv.DictReader(handle)}
    if Station.objects.filter(code__in=codes).count() == len(codes) and LandUseNote.objects.exists():
        return False
    with transaction.atomic():
        load_methods((folder / "sampling_methods.csv").read_bytes())
        _must(load_taxa("taxa.csv", (folder / "taxa.csv").read_bytes()))
        TraitList.objects.get_or_create(
            is_county=True,
            defaults={
                "name": "Demonstration trait list",
                "dated": datetime.date(2024, 1, 1),
                "region": "The invented county of this demonstration",
                "source": "Written down from memory for this demonstration; each species page says so. "
                "Check against your region's published classification before any use.",
            },
        )
        _must(load_stations("stations.csv", (folder / "stations.csv").read_bytes()))
        _must(load_outlines("outlines.geojson", (folder / "outlines.geojson").read_bytes()))
        planner = demo_accounts().filter(username="planner").first()
        _must(load_notes("land_use_notes.csv", (folder / "land_use_notes.csv").read_bytes(), by=planner))
        _must(load_land_cover("land_cover.csv", (folder / "land_cover.csv").read_bytes()))
    return True


def _must(result: ListResult) -> None:
    if result.has_errors:
        first = next(f for f in result.findings if f.level == "error")
        raise DemoRefused(
            f"A file of the demo was refused ({first.place}: {first.message}) Is the checkout whole?"
        )


def season_files(folder: Path = FIXTURES) -> list[Path]:
    """The season files that the demo loads, oldest first; the newest season is left to the visitor."""
    return [p for year in LOADED_YEARS if (p := folder / f"season_{year}.csv").exists()]


def load_seasons(folder: Path = FIXTURES, say: Say | None = None) -> bool:
    """Every season that is loaded, sent in by the biologist and reviewed; False where all are there.

    One transaction, so that results are computed once, after it.
    """
    files = {path: path.read_bytes() for path in season_files(folder)}
    uploads = [new_upload(path.name, content, by=None) for path, content in files.items()]
    taken = Upload.objects.filter(status=UploadStatus.TAKEN, sha256__in=[u.sha256 for u in uploads])
    if taken.values("sha256").distinct().count() == len(uploads):
        return False
    people = {user.username: user for user in demo_accounts()}
    biologist, reviewer = people.get("biologist"), people.get("reviewer")
    with transaction.atomic():
        for path, content in files.items():
            try:
                result = take(new_upload(path.name, content, by=biologist), by=biologist)
            except NotTaken as refusal:
                raise DemoRefused(
                    f"{path.name} differs from what this database holds, which was made by another version of the "
                    "demo or changed since. Nothing was touched. Set RILLMARK_DATA_DIR to a new folder and start again."
                ) from refusal
            if result.changed:
                _review(result.upload, reviewer)
            if say:
                say(path.name)
        refresh_statistics()
    return True


def _review(upload: Upload | None, reviewer: Any) -> None:
    visits = Visit.objects.filter(upload=upload).select_related("station")
    places = {v.pk: (v.station.code, v.visit_date.year) for v in visits}
    accepted = _ids(places, lambda place: place not in WAITING and place != RETURNED)
    if accepted:
        review.move_visits(accepted, VisitStatus.ACCEPTED, by=reviewer)
    for visit in _ids(places, lambda place: place == RETURNED):
        review.return_visit(visit, by=reviewer, remark=RETURN_REMARK)


def _ids(places: dict[int, tuple[str, int]], wanted: Callable[[tuple[str, int]], bool]) -> Iterable[int]:
    return [pk for pk, place in places.items() if wanted(place)]


def bring_results_up_to_date(say: Say | None = None) -> int:
    """Compute what is out of date: all of it after an older version, what is left after a broken run."""
    mark_outdated()
    return recompute_marked(say=say)
