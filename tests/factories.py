"""Short ways to make records for tests. Every place and person is invented; the species are real."""

import datetime
import itertools
from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.utils.text import slugify

from surveys.models import (
    Catch,
    RemovalPass,
    SamplingMethod,
    Station,
    Taxon,
    Visit,
    VisitStatus,
    VisitStep,
    Watershed,
)

_number = itertools.count(1)

# Common name -> scientific name and traits, for the taxa that tests name.
KNOWN_TAXA: dict[str, dict[str, Any]] = {
    "Creek Chub": {
        "scientific_name": "Semotilus atromaculatus",
        "tolerance": "tolerant",
        "trophic_guild": "generalist",
    },
    "Blacknose Dace": {
        "scientific_name": "Rhinichthys atratulus",
        "tolerance": "tolerant",
        "trophic_guild": "omnivore",
    },
    "Mottled Sculpin": {
        "scientific_name": "Cottus bairdii",
        "tolerance": "moderate",
        "trophic_guild": "insectivore",
        "benthic": True,
    },
    "Brook Trout": {
        "scientific_name": "Salvelinus fontinalis",
        "tolerance": "intolerant",
        "trophic_guild": "top predator",
    },
    "Bluegill": {
        "scientific_name": "Lepomis macrochirus",
        "tolerance": "tolerant",
        "trophic_guild": "invertivore",
        "native": False,
    },
}


def make_watershed(name: str = "Willow Run", **fields: Any) -> Watershed:
    fields.setdefault("slug", slugify(name))
    return Watershed.objects.get_or_create(name=name, defaults=fields)[0]


def make_station(code: str = "", **fields: Any) -> Station:
    """A station; ``watershed`` may be a name."""
    code = code or f"WIL-{next(_number):02d}"
    watershed = fields.pop("watershed", "Willow Run")
    if isinstance(watershed, str):
        watershed = make_watershed(watershed)
    fields.setdefault("stream", watershed.name)
    fields.setdefault("reach_length_m", 75)
    return Station.objects.get_or_create(code=code, defaults={"watershed": watershed, **fields})[0]


def make_taxon(name: str = "Creek Chub", **fields: Any) -> Taxon:
    """A taxon by its common name; traits of the few known here come along."""
    known = KNOWN_TAXA.get(name, {"scientific_name": name})
    values = {"common_name": name if name in KNOWN_TAXA else "", **known, **fields}
    if name in KNOWN_TAXA:
        values.setdefault("native", True)
    scientific = values.pop("scientific_name")
    values.setdefault("slug", slugify(scientific))
    return Taxon.objects.get_or_create(scientific_name=scientific, defaults=values)[0]


def make_method(code: str = "two-pass", **fields: Any) -> SamplingMethod:
    fields.setdefault("name", f"Method {code}")
    return SamplingMethod.objects.get_or_create(code=code, defaults=fields)[0]


def make_visit(
    station: Station | None = None,
    date: datetime.date | str = "2024-07-16",
    *,
    passes: Sequence[Mapping[str, int]] = ({"Creek Chub": 12}, {"Creek Chub": 5}),
    status: str = VisitStatus.ACCEPTED,
    method: SamplingMethod | None = None,
    **fields: Any,
) -> Visit:
    """A visit with its passes: ``make_visit(passes=[{"Creek Chub": 12}, {}])``."""
    station = station or make_station()
    day = datetime.date.fromisoformat(date) if isinstance(date, str) else date
    fields.setdefault("reach_length_m", station.reach_length_m)
    visit = Visit.objects.create(
        station=station,
        visit_date=day,
        status=status,
        method=method or SamplingMethod.objects.filter(is_default=True).first() or make_method(),
        **fields,
    )
    VisitStep.objects.create(visit=visit, status=status)
    for number, caught in enumerate(passes, start=1):
        one = RemovalPass.objects.create(visit=visit, pass_number=number)
        for name, count in caught.items():
            Catch.objects.create(removal_pass=one, taxon=make_taxon(name), count=count)
    return visit


def make_user(role: str = "", name: str = "") -> Any:
    """A person of a role; with no role, somebody who has only an account."""
    name = name or f"{role or 'person'}-{next(_number)}"
    user = get_user_model().objects.create(username=name, email=f"{name}@example.org")
    if role:
        user.groups.add(Group.objects.get(name=role))
        user.is_staff = role == "administrator"
        user.save()
    return user


def season_csv(*rows: Mapping[str, Any], **every_row: Any) -> bytes:
    """A season file: the columns are those that the rows name, in their order."""
    full = [{**every_row, **row} for row in rows]
    names = list(dict.fromkeys(name for row in full for name in row))
    lines = [",".join(names)]
    lines += [",".join("" if row.get(n) is None else str(row[n]) for n in names) for row in full]
    return ("\n".join(lines) + "\n").encode()
