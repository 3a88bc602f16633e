"""Cells of the Darwin Core tables that are put into words: of a taxon, a place, a crew, the weather of its year."""

import datetime
from collections.abc import Iterable
from typing import Any

from surveys.models import Taxon, Visit, Voucher
from trends.models import LandUseNote, NoteCategory
from trends.note_dates import span

Row = dict[str, Any]
WATER_NAMES = {
    "water_temp_c": "water temperature",
    "conductivity_us_cm": "specific conductance",
    "dissolved_oxygen_mg_l": "dissolved oxygen",
    "ph": "pH",
    "turbidity_ntu": "turbidity",
    "discharge_m3_s": "discharge",
}
# Specific conductance is by definition that at 25 degrees C. Where nobody noted which of the two the meter
# showed, the name of before stands, so that a record keeps its identifier, and the remark says so.
CONDUCTIVITY_WORDS = {
    "25 C": ("specific conductance", "Worked out for 25 degrees C."),
    "ambient": ("electrical conductivity", "At the water's own temperature."),
    "": ("specific conductance", "Whether it was worked out for 25 degrees C was not recorded."),
}
# What a note may be of to count as an extreme condition of the weather or the water.
EXTREMES = (NoteCategory.DROUGHT, NoteCategory.FLOOD)


def name_of(voucher: Voucher) -> Taxon:
    """What the fish is: as it was confirmed, or else as it was called at the creek."""
    return voucher.confirmed_as or voucher.taxon


def netters(numbers: set[int | None]) -> str:
    """How many people netted fish; nothing where it is not on record or differs between passes."""
    (number,) = numbers if len(numbers) == 1 else (None,)
    if number is None:
        return ""
    return f"{number} netters" if number != 1 else "1 netter"


def extreme_conditions(notes: Iterable[LandUseNote], visit: Visit) -> str:
    """Droughts and floods that may have touched the visit, such as "drought: Dry summer", parted by bars."""
    touching = [
        note
        for note in notes
        if note.station_id in (None, visit.station_id) and _within(visit.visit_date, span(note))
    ]
    # A bar in a title would part it in two.
    return " | ".join(f"{note.category}: {note.title.replace('|', '/')}" for note in touching)


def _within(day: datetime.date, days: tuple[datetime.date, datetime.date]) -> bool:
    return days[0] <= day <= days[1]


def habitat(visit: Visit) -> str:
    """The kind of water in words, made of what is on record for the visit and its station."""
    station = visit.station
    known = (
        ("stratum {}", station.stratum.replace("_", " ") or None),
        ("catchment {:g} km2", station.catchment_km2),
        ("elevation {:g} m", station.elevation_m),
        ("mean wetted width {:g} m", visit.mean_width_m),
    )
    return "; ".join(["Stream reach", *(words.format(value) for words, value in known if value is not None)])


def taxon_cells(taxon: Taxon) -> Row:
    means = {True: "native", False: "introduced", None: ""}[taxon.native]
    return {
        "basisOfRecord": "HumanObservation",
        "scientificName": taxon.scientific_name,
        "scientificNameAuthorship": taxon.authorship,
        "taxonRank": "" if taxon.hybrid else taxon.rank,
        "kingdom": "Animalia",
        "family": taxon.family,
        "vernacularName": taxon.common_name,
        "taxonID": f"urn:lsid:itis.gov:itis_tsn:{taxon.itis_tsn}" if taxon.itis_tsn else "",
        "establishmentMeans": means,
        # How far a fish that was brought here has come is not on record, so nothing is said of it.
        "degreeOfEstablishment": "native" if taxon.native else "",
    }
