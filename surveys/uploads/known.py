"""What the checks have to know of the stored records, as plain values. Pure code."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from surveys.rules import Rules
from surveys.said import marked, said
from surveys.uploads.values import fold

# The reach of a station that has no length of its own.
DEFAULT_REACH_M = 75.0


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownMethod:
    key: int
    code: str
    season_starts: str = "01-01"  # MM-DD
    season_ends: str = "12-31"

    def in_season(self, day: datetime.date) -> bool:
        """Whether a day lies in the window, which may run over the turn of the year."""
        month_day = f"{day:%m-%d}"
        if self.season_starts <= self.season_ends:
            return self.season_starts <= month_day <= self.season_ends
        return month_day >= self.season_starts or month_day <= self.season_ends


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanWeights:
    """The lightest and the heaviest mean weight of a fish in the batches weighed before, g."""

    least: float
    most: float
    batches: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierVisit:
    """Readings of an earlier visit and the gear of its first pass, by the name of the column.

    ``method`` is the key of the method it was made by.
    """

    date: datetime.date
    method: int
    values: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownStation:
    """A station and what was seen there before.

    ``most`` is the largest count of a taxon in one pass, ``history`` the taxa met at each earlier visit that
    caught any, ``watershed_taxa`` those met anywhere in its watershed.
    """

    key: int
    code: str
    method: KnownMethod | None = None
    reach_length_m: float | None = None
    mean_width_m: float | None = None
    earlier_dates: tuple[datetime.date, ...] = ()
    last_method: str = ""
    most: Mapping[int, int] = field(default_factory=dict)
    history: tuple[tuple[datetime.date, frozenset[int]], ...] = ()
    watershed_taxa: frozenset[int] = frozenset()
    earlier: tuple[EarlierVisit, ...] = ()


# How near a name comes, by the kind of the name: at least seven letters in ten, at least five, fewer.
_NEARLY: Final = {
    "scientific name": marked("nearly the same as the scientific name {written}"),
    "common name": marked("nearly the same as the common name {written}"),
    "code": marked("nearly the same as the code {written}"),
    "other name": marked("nearly the same as the other name {written}"),
    "name": marked("nearly the same as the name {written}"),
}
_CLOSE: Final = {
    "scientific name": marked("close to the scientific name {written}"),
    "common name": marked("close to the common name {written}"),
    "code": marked("close to the code {written}"),
    "other name": marked("close to the other name {written}"),
    "name": marked("close to the name {written}"),
}
_A_LITTLE: Final = {
    "scientific name": marked("a little like the scientific name {written}"),
    "common name": marked("a little like the common name {written}"),
    "code": marked("a little like the code {written}"),
    "other name": marked("a little like the other name {written}"),
    "name": marked("a little like the name {written}"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class NearTaxon:
    """A taxon one of whose names comes near what was written; ``alike`` from 0 to 1."""

    key: int
    scientific_name: str
    common_name: str
    name: str  # the name of it that comes near
    kind: str  # scientific name, common name, code, or other name
    alike: float

    @property
    def words(self) -> str:
        """How near, in words."""
        how = _NEARLY if self.alike >= 0.7 else _CLOSE if self.alike >= 0.5 else _A_LITTLE
        return said(how[self.kind], written=self.name)

    def __str__(self) -> str:
        return f"{self.common_name} ({self.scientific_name})" if self.common_name else self.scientific_name


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Stations, taxa and methods by their folded names.

    ``taxa`` gives the keys that a name stands for: more than one where two taxa share it. ``confirmed`` are
    names that a person said the meaning of, ``near`` what comes near the names that nobody knows.
    """

    today: datetime.date
    stations: Mapping[str, KnownStation]
    taxa: Mapping[str, tuple[int, ...]]
    taxon_names: Mapping[int, str]
    methods: Mapping[str, KnownMethod]
    default_method: KnownMethod | None
    create_taxa: bool = False
    confirmed: Mapping[str, int] = field(default_factory=dict)
    near: Mapping[str, tuple[NearTaxon, ...]] = field(default_factory=dict)
    mean_weights: Mapping[int, MeanWeights] = field(default_factory=dict)
    alternating_current: bool = False  # whether the programme may use it
    rules: Rules = field(default_factory=Rules)  # limits in force, and rules that are off

    def method_for(self, station: KnownStation, code: str | None) -> KnownMethod | None:
        """The method a file names, else the station's, else the default."""
        if code:
            return self.methods[fold(code)]
        return station.method or self.default_method

    def sharing(self, name: str) -> tuple[NearTaxon, ...]:
        """The taxa that share a name, as choices for the person who says which is meant."""
        return tuple(
            NearTaxon(
                key=key,
                scientific_name=self.taxon_names[key],
                common_name="",
                name=name,
                kind="name",
                alike=1.0,
            )
            for key in self.taxa.get(name, ())
        )
