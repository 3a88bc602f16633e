"""What the field sheet of a visit says beyond the catch, in the words of the pages: for the whole visit, pass by
pass, and what was weighed, held and released of each taxon."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import TextChoices

from surveys.models import Catch, RemovalPass, SafetyCheck, Taxon, Visit
from surveys.models.field_words import BottomVisible, ConductivityBasis, StopNets, Waveform
from surveys.uploads.columns import FIELD_COLUMNS, PASS, VISIT, Column
from surveys.uploads.field_columns import CONTAINERS, FATES
from surveys.uploads.values import cell_text

# What tells whether two years can be compared may be read by everybody; names of people, what happened to the
# fish, where they were held and what the crew checked are for the staff.
PUBLIC_FIELDS = ("air_temp_c", "conductivity_basis", "waveform", "anodes")
# Said when they are shown: their words are in the reader's language.
LABELS: dict[str, type[TextChoices]] = {
    "stop_nets": StopNets,
    "conductivity_basis": ConductivityBasis,
    "bottom_visible": BottomVisible,
    "waveform": Waveform,
}
PLAIN_UNITS = {"deg C": "°C", "people": "", "fish": ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class FishFates:
    """What became of the fish of one taxon over all passes; None where it is not known for every pass."""

    taxon: Taxon
    count: int
    fates: tuple[int | None, ...]  # in the order of FATES
    containers: tuple[int | None, ...]  # in the order of CONTAINERS
    estimated: bool
    unsure: bool

    @property
    def died(self) -> int | None:
        return self.fates[FATES.index("died")]


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldRecord:
    """``facts``: words and value. ``passes``: words, then the value of each pass. Only what is recorded."""

    facts: tuple[tuple[str, str], ...]
    passes: tuple[tuple[str, tuple[str, ...]], ...]
    pass_numbers: tuple[int, ...]
    fish: tuple[FishFates, ...]
    checks: tuple[str, ...]
    checks_open: tuple[str, ...]
    checks_by: str

    @property
    def has_fates(self) -> bool:
        return any(value is not None for one in self.fish for value in one.fates)

    @property
    def has_containers(self) -> bool:
        return any(value is not None for one in self.fish for value in one.containers)

    @property
    def estimated(self) -> bool:
        return any(one.estimated for one in self.fish)

    @property
    def doubtful(self) -> list[FishFates]:
        return [one for one in self.fish if one.estimated or one.unsure]

    def totals(self) -> tuple[int | None, ...]:
        """Fish, then those of each fate and container that is shown; None where it is not known of every taxon."""
        rows = [
            (
                one.count,
                *(one.fates if self.has_fates else ()),
                *(one.containers if self.has_containers else ()),
            )
            for one in self.fish
        ]
        return tuple(
            None if None in column else sum(v for v in column if v is not None)
            for column in zip(*rows, strict=True)
        )


def field_record(visit: Visit, taxa: Collection[int] | None = None, *, public: bool = False) -> FieldRecord:
    """The field record of a visit in two queries, one for the public.

    Parameters
    ----------
    taxa : keys of the taxa that the person may see; None for all
    public : only what everybody may read
    """
    wanted = [c for c in FIELD_COLUMNS if not public or c.name in PUBLIC_FIELDS]
    passes = list(RemovalPass.objects.filter(visit=visit).order_by("pass_number"))
    rows = []
    for column in wanted:
        if column.scope == PASS:
            values = tuple(value_words(column, getattr(one, column.stored_as)) for one in passes)
            if any(values):
                rows.append((_capital(column.title), values))
    checks = [] if public else list(visit.checks_made)
    return FieldRecord(
        facts=tuple(
            (_capital(column.title), words)
            for column in wanted
            if column.scope == VISIT
            and column.name not in ("checks_made", "checks_by")
            and (words := value_words(column, getattr(visit, column.stored_as)))
        ),
        passes=tuple(rows),
        pass_numbers=tuple(one.pass_number for one in passes),
        fish=() if public else _fish(visit, taxa),
        checks=tuple(str(one.label) for one in SafetyCheck if one.value in checks),
        checks_open=tuple(str(one.label) for one in SafetyCheck if one.value not in checks) if checks else (),
        checks_by="" if public else visit.checks_by,
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def value_words(column: Column, value: Any) -> str:
    """A stored value with its unit; empty where nothing is recorded."""
    if value is None or value == "" or value == []:
        return ""
    if column.name in LABELS:
        return value_label(column.name, value)
    unit = PLAIN_UNITS.get(column.unit, column.unit)
    if isinstance(value, float):
        text = f"{value:g}"
    elif isinstance(value, list):
        text = ", ".join(f"{one:g}" if isinstance(one, float) else str(one) for one in value)
    else:
        text = cell_text(value)
    return f"{text} {unit}".strip()


def value_label(name: str, value: str) -> str:
    """A word that is stored, as the pages say it."""
    words = LABELS[name]
    return str(words(value).label) if value in words.values else value


def _fish(visit: Visit, taxa: Collection[int] | None) -> tuple[FishFates, ...]:
    catches = Catch.objects.filter(removal_pass__visit=visit).select_related("taxon")
    if taxa is not None:
        catches = catches.filter(taxon__in=taxa)
    by_taxon: dict[Taxon, list[Catch]] = defaultdict(list)
    for one in catches.order_by("taxon__scientific_name"):
        by_taxon[one.taxon].append(one)
    return tuple(
        FishFates(
            taxon=taxon,
            count=sum(one.count for one in caught),
            fates=_sums(caught, FATES),
            containers=_sums(caught, CONTAINERS),
            estimated=any(one.estimated for one in caught),
            unsure=any(one.unsure for one in caught),
        )
        for taxon, caught in by_taxon.items()
    )


def _sums(caught: Sequence[Catch], names: Sequence[str]) -> tuple[int | None, ...]:
    sums: list[int | None] = []
    for name in names:
        values = [getattr(one, name) for one in caught]
        sums.append(None if None in values else sum(values))
    return tuple(sums)
