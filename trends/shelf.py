"""The index methods at hand, shipped and brought by the agency, and which version scores a visit.

The rule: a station's stratum names the metric list. The method is the one that a person chose for the
stratum; where nobody chose, the first of the preferred ones that has a stratum of that name. The version
is the latest one in use on the day of the visit; without one, the version that came with the program.
"""

import datetime
from dataclasses import dataclass, field
from functools import lru_cache

from surveys.said import marked, said
from surveys.uploads.values import fold
from trends.index import Method, load_method
from trends.index.method import method_codes, method_from_text
from trends.method_models import IndexMethodVersion, StratumMethod
from trends.trait_lists import NamedList, ServingList, lists_held

PREFERRED_METHODS = ("maryland_fish_2005", "wisconsin_coldwater_1996")


def stratum_id(words: str) -> str:
    """'Eastern Piedmont' and 'eastern_piedmont' are the same stratum."""
    return "_".join(words.lower().replace("-", " ").replace("_", " ").split())


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One published version of a method; ``pk`` is None for the one that came with the program."""

    code: str
    version: str
    pk: int | None
    digest: str
    in_use: bool
    applies_from: datetime.date | None
    published_at: datetime.datetime | None

    def method(self) -> Method:
        return load_method(self.code) if self.pk is None else _published(self.pk, self.digest)


# A published text never changes; the digest keeps drafts, which do, apart.
@lru_cache(maxsize=64)
def _published(pk: int, digest: str) -> Method:
    row = IndexMethodVersion.objects.get(pk=pk)
    return method_from_text(row.text, f"{row.code}, version {row.version}")


def draft_method(row: IndexMethodVersion) -> Method:
    """The method of a row, published or not."""
    return _published(row.pk, row.digest)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What stands on the shelf at one moment: take it once, ask it often."""

    versions: dict[str, tuple[Held, ...]]  # by code, the latest first, the shipped one last
    choices: dict[str, str]  # stratum -> code; empty code: no method
    traits: dict[str, ServingList]  # stratum -> the trait list chosen for it
    named: dict[str, NamedList] = field(default_factory=dict)  # folded name -> trait list at hand

    def codes(self) -> tuple[str, ...]:
        return tuple(sorted(self.versions))

    def held(self, code: str, version: str = "") -> Held | None:
        """A version by its name; without one, the version in use today, else the latest."""
        found = self.versions.get(code, ())
        if version:
            return next((one for one in found if one.version == version), None)
        return self.on(code, datetime.date.today()) or next(iter(found), None)

    def on(self, code: str, day: datetime.date) -> Held | None:
        """The version that scores visits of a day."""
        for one in self.versions.get(code, ()):
            if one.in_use and (one.applies_from is None or one.applies_from <= day):
                return one
        return None

    def method_for(self, stratum: str, day: datetime.date) -> tuple[Method | None, str]:
        """The method for a visit and its stratum's code in it; (None, reason) where none applies."""
        wanted = stratum_id(stratum)
        if not wanted:
            return None, marked("the station has no stratum, so no index method applies to it")
        chosen = self.choices.get(wanted)
        if chosen == "":
            return None, said("no index method is to score the stratum '{stratum}'", stratum=stratum)
        for code in PREFERRED_METHODS if chosen is None else (chosen,):
            held = self.on(code, day)
            part = held.method().stratum(wanted) if held else None
            if held and part is not None:
                return held.method(), part.code
        if chosen is not None:
            return None, said(
                "the method chosen for the stratum '{stratum}' has no version for it on that day",
                stratum=stratum,
            )
        return None, said("no index method in use has a stratum called '{stratum}'", stratum=stratum)

    def traits_for(
        self, stratum: str, day: datetime.date | None = None, *, method: Method | None = None
    ) -> ServingList | None:
        """The trait list of a stratum; None where the county's own traits hold.

        The one chosen for the stratum goes first, then the one that its method was calibrated on, where a
        list of that name is at hand. The method is the one of the day (today's without one), or the one given.
        """
        wanted = stratum_id(stratum)
        if wanted in self.traits or not self.named:
            return self.traits.get(wanted)
        found = self.named.get(self.list_named(stratum, day, method=method))
        return found.read() if found and wanted not in found.held_back else None

    def list_named(
        self, stratum: str, day: datetime.date | None = None, *, method: Method | None = None
    ) -> str:
        """The folded name of the list that a stratum's method was calibrated on; empty without a method."""
        if method is None:
            method, _ = self.method_for(stratum, day or datetime.date.today())
        return fold(str(method.traits.get("list", ""))) if method else ""

    def code_for(self, stratum: str) -> str:
        """The code of the method that scores a stratum today; empty where none does."""
        method, _ = self.method_for(stratum, datetime.date.today())
        return method.code if method else ""

    def used_codes(self) -> frozenset[str]:
        """Codes that score at least one stratum."""
        used = {code for code in self.choices.values() if code}
        for code in PREFERRED_METHODS:
            held = self.held(code)
            strata = held.method().strata if held else {}
            used |= {self.code_for(name) for name in strata if stratum_id(name) not in self.choices}
        return frozenset(used - {""})


def shelf() -> Shelf:
    """Read the shelf as it stands. Three small queries; never kept between requests, so never out of date."""
    versions: dict[str, list[Held]] = {}
    rows = (
        IndexMethodVersion.objects.filter(published_at__isnull=False)
        .order_by("code", "-published_at", "-pk")
        .values_list("code", "version", "pk", "digest", "in_use", "applies_from", "published_at")
    )
    for code, version, pk, digest, in_use, applies_from, published_at in rows:
        versions.setdefault(code, []).append(
            Held(
                code=code,
                version=version,
                pk=pk,
                digest=digest,
                in_use=in_use,
                applies_from=applies_from,
                published_at=published_at,
            )
        )
    for code in method_codes():
        versions.setdefault(code, []).append(_shipped(code))
    chosen, named = lists_held()
    return Shelf(
        versions={code: tuple(found) for code, found in versions.items()},
        choices=dict(StratumMethod.objects.values_list("stratum", "method_code")),
        traits=chosen,
        named=named,
    )


def _shipped(code: str) -> Held:
    return Held(
        code=code,
        version=load_method(code).version,
        pk=None,
        digest="",
        in_use=True,
        applies_from=None,
        published_at=None,
    )


def loaded_method(code: str, version: str = "") -> Method:
    """A method by its code; without a version, the one in use today.

    A version that is no longer at hand (the program came with a newer file) is answered by the present one.
    """
    if version and code in method_codes() and load_method(code).version == version:
        return load_method(code)
    standing = shelf()
    held = standing.held(code, version) or standing.held(code)
    return held.method() if held else load_method(code)
