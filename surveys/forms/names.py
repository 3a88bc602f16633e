"""The choices a person makes for names of a file that stand for no single taxon."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from surveys.language import worded
from surveys.models import Taxon, Upload
from surveys.names import UnclearName, taxa_named
from surveys.uploads.known import NearTaxon
from surveys.uploads.plan import Plan
from surveys.uploads.store import read_known
from surveys.uploads.values import fold, is_number

LEAVE, OTHER = "leave", "other"
MOST_ROWS_NAMED = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class NameQuestion:
    """One name with its choices; ``number`` is its place on the page."""

    number: int
    text: str
    folded: str
    rows: tuple[int, ...]
    near: tuple[NearTaxon, ...]
    shared: bool = False
    chosen: Any = None  # the stored choice, where somebody made one

    @property
    def where(self) -> str:
        """The rows in words: "rows 2, 5 and 7"."""
        shown = [str(row) for row in self.rows[:MOST_ROWS_NAMED]]
        more = len(self.rows) - len(shown)
        if len(self.rows) == 1:
            return worded("row {row}", row=shown[0])
        if more:
            return worded("rows {rows} and {more} more", rows=", ".join(shown), more=f"{more:,}")
        return worded("rows {rows} and {last}", rows=", ".join(shown[:-1]), last=shown[-1])


class NamesForm:
    """The names of a waiting file that are open or were settled by a person, and what is said of each.

    Not a form of the framework: the questions come from the file, and each is one of a few taxa, any other
    by its name, or none.
    """

    def __init__(
        self, upload: Upload, plan: Plan, data: Mapping[str, str] | None = None, *, may_remember: bool
    ) -> None:
        self.may_remember = may_remember
        self.questions = [
            NameQuestion(
                number=number,
                text=one.text,
                folded=fold(one.text),
                rows=one.rows,
                near=one.near,
                shared=one.shared,
            )
            for number, one in enumerate(plan.open_names, 1)
        ]
        self.settled = list(upload.names.select_related("taxon", "by"))
        self.meant: dict[str, int | None] = {}
        self.remember: set[str] = set()
        self.faults: list[str] = []
        if data is not None:
            self._read(data)

    @property
    def every_taxon(self) -> list[Taxon]:
        return list(Taxon.objects.order_by("scientific_name")) if self.questions else []

    def _read(self, data: Mapping[str, str]) -> None:
        typed: dict[str, str] = {}
        for one in self.questions:
            # A page that was open while another person settled names has other numbers; the name decides.
            if fold(data.get(f"name-{one.number}", "")) != one.folded:
                continue
            choice = data.get(f"choice-{one.number}", LEAVE)
            if choice == OTHER:
                typed[one.text] = data.get(f"other-{one.number}", "")
            elif is_number(choice) and int(choice) in {near.key for near in one.near}:
                self.meant[one.folded] = int(choice)
            if (
                self.may_remember
                and not one.shared
                and choice != LEAVE
                and data.get(f"remember-{one.number}")
            ):
                self.remember.add(one.folded)
        for said in self.settled:
            if data.get(f"undo-{said.pk}"):
                self.meant[said.name] = None
        if typed:
            self._read_typed(typed)

    def _read_typed(self, typed: Mapping[str, str]) -> None:
        known = read_known(()).taxa
        # A list offers "common name (scientific name)"; the name in brackets is the one that is sure.
        for written, said in typed.items():
            inside = said.rpartition("(")[2].removesuffix(")") if said.rstrip().endswith(")") else said
            try:
                self.meant |= taxa_named({written: inside if fold(inside) in known else said}, known)
            except UnclearName as fault:
                self.faults.append(str(fault))
