"""What of a visit its history shows, in words: the values that are kept, their names, and what a change did."""

from dataclasses import dataclass
from typing import Any

from surveys.field_record import LABELS, PLAIN_UNITS, value_label
from surveys.language import told, worded
from surveys.models import SamplingMethod, Station, Taxon
from surveys.said import marked
from surveys.uploads.columns import FIELD_COLUMNS, PASS, ROW, VISIT
from surveys.uploads.values import cell_text


def _titles(scope: str) -> dict[str, tuple[str, str]]:
    """The fields of the field sheet in the words of the pages."""
    return {
        one.stored_as: (one.title, PLAIN_UNITS.get(one.unit, one.unit))
        for one in FIELD_COLUMNS
        if one.scope == scope
    }


# What of a visit is shown and can be brought back: the words of the pages, and the unit.
VISIT_FIELDS: dict[str, tuple[str, str]] = {
    "station_id": (marked("station"), ""),
    "visit_date": (marked("day"), ""),
    "method_id": (marked("method"), ""),
    "reach_length_m": (marked("reach length"), "m"),
    "mean_width_m": (marked("mean width"), "m"),
    "stop_nets": (marked("stop nets"), ""),
    "water_temp_c": (marked("water temperature"), "°C"),
    "conductivity_us_cm": (marked("conductivity"), "µS/cm"),
    "dissolved_oxygen_mg_l": (marked("dissolved oxygen"), "mg/L"),
    "ph": (marked("pH"), ""),
    "turbidity_ntu": (marked("turbidity"), "NTU"),
    "discharge_m3_s": (marked("discharge"), "m³/s"),
    "crew_lead": (marked("crew lead"), ""),
    "notes": (marked("notes"), ""),
    **_titles(VISIT),
}
PASS_FIELDS: dict[str, tuple[str, str]] = {
    "effort_s": (marked("current-on time"), "s"),
    "biomass_g": (marked("total weight"), "g"),
    **_titles(PASS),
}
CATCH_FIELDS: dict[str, tuple[str, str]] = {
    "count": (marked("fish"), ""),
    "young_of_year": (marked("fish of the year"), ""),
    "anomalies": (marked("fish with anomalies"), ""),
    "biomass_g": (marked("batch weight"), "g"),
    **_titles(ROW),
}
ORIGINS = {
    "begun": marked("begun by hand"),
    "desk": marked("typed at the desk"),
    "device": marked("sent from a device"),
    "restored": marked("an earlier state brought back"),
    "voucher": marked("a voucher that was confirmed"),
}
# What a crew looked at is told by its short words: in whole sentences nobody would see what was changed.
SHORT_CHECKS = (
    marked("trained"),
    marked("first aid"),
    marked("gloves and waders"),
    marked("gear tested"),
    marked("public away"),
    marked("weather and water"),
    marked("conductivity"),
    marked("emergency"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What a visit held. Passes by number, catches by pass number and key of the taxon."""

    values: dict[str, Any]
    passes: dict[int, tuple[Any, ...]]
    catches: dict[tuple[int, int], tuple[Any, ...]]

    @property
    def fish(self) -> int:
        return sum(fields[0] for fields in self.catches.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Altered:
    """One value before and after, in words; empty text for nothing. ``number`` and ``taxon`` say of which
    pass and which fish, where it is not of the visit as a whole."""

    title: str
    before: str
    after: str
    unit: str = ""
    number: int | None = None
    taxon: str = ""

    @property
    def what(self) -> str:
        """What was changed, in the reader's language."""
        value = told(self.title) + (f", {self.unit}" if self.unit else "")
        if self.number is None:
            return value
        where = worded("pass {number}", number=self.number)
        if self.taxon:
            where = worded("pass {number}, {taxon}", number=self.number, taxon=told(self.taxon))
        return f"{where}: {value}" if self.title else where


class Words:
    """Keys of stations, methods and taxa as names, read once for all states."""

    def __init__(self, states: list[Contents]) -> None:
        stations = {one.values["station_id"] for one in states}
        methods = {one.values["method_id"] for one in states}
        taxa = {taxon for one in states for _, taxon in one.catches}
        self.named: dict[str, dict[int, str]] = {
            "station_id": dict(Station.objects.filter(pk__in=stations).values_list("pk", "code")),
            "method_id": dict(SamplingMethod.objects.filter(pk__in=methods).values_list("pk", "code")),
        }
        self.taxa = {
            pk: one.common_name or one.scientific_name for pk, one in Taxon.objects.in_bulk(taxa).items()
        }

    def value(self, name: str, value: Any) -> str:
        if name in self.named:
            return self.named[name].get(value, marked("no longer in the list"))
        if isinstance(value, bool):
            return marked("yes") if value else ""
        if name in LABELS and value:
            return value_label(name, value)
        return f"{value:g}" if isinstance(value, float) else cell_text(value)

    def taxon(self, key: int) -> str:
        return self.taxa.get(key, marked("a taxon no longer in the list"))

    def altered(self, old: Contents, new: Contents) -> list[Altered]:
        found = [
            Altered(
                title=title,
                unit=unit,
                before=self.value(name, old.values[name]),
                after=self.value(name, new.values[name]),
            )
            for name, (title, unit) in VISIT_FIELDS.items()
            if old.values[name] != new.values[name]
        ]
        for number in sorted(old.passes.keys() | new.passes.keys()):
            if (number in old.passes) != (number in new.passes):
                before, after = ("", marked("made")) if number in new.passes else (marked("made"), "")
                found.append(Altered(title="", number=number, before=before, after=after))
            found += self._fields(number, "", PASS_FIELDS, old.passes.get(number), new.passes.get(number))
        keys = sorted(old.catches.keys() | new.catches.keys(), key=lambda key: (key[0], self.taxon(key[1])))
        for key in keys:
            taxon = self.taxon(key[1])
            found += self._fields(key[0], taxon, CATCH_FIELDS, old.catches.get(key), new.catches.get(key))
        return found

    def _fields(
        self,
        number: int,
        taxon: str,
        names: dict[str, tuple[str, str]],
        old: tuple[Any, ...] | None,
        new: tuple[Any, ...] | None,
    ) -> list[Altered]:
        nothing = (None,) * len(names)
        return [
            Altered(
                title=title,
                unit=unit,
                number=number,
                taxon=taxon,
                before=self.value(name, a),
                after=self.value(name, b),
            )
            for (name, (title, unit)), a, b in zip(names.items(), old or nothing, new or nothing, strict=True)
            if a != b and (self.value(name, a) or self.value(name, b))
        ]
