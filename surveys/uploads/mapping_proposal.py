"""What the headings of a file most likely mean: the mapping a person starts from. Pure code."""

import re
from collections.abc import Collection, Sequence

from surveys.uploads.mapping import find_sheet, unique_headings
from surveys.uploads.mapping_spec import (
    HEADINGS,
    OF_PASS,
    PASS_VALUES,
    SPECIES,
    VISIT_KEY,
    FileMapping,
    Role,
    SheetMapping,
)
from surveys.uploads.reader import RawSheet
from surveys.uploads.values import fold

# Words that stand for a column in older files; only whole headings are compared.
OTHER_WORDS: dict[str, tuple[str, ...]] = {
    "station": ("site", "site code", "site id", "station code", "station id", "stn", "location"),
    "visit_date": ("date", "visit date", "sample date", "sampling date", "day", "survey date"),
    "pass": ("pass no", "pass number", "run", "run no", "removal", "sweep"),
    "taxon": ("species", "fish", "common name", "scientific name", "name", "species code"),
    "count": ("number", "no", "n", "total", "caught", "number caught", "abundance", "fish count"),
    "young_of_year": ("yoy", "young of year", "young", "0+"),
    "biomass_g": ("weight", "weight g", "biomass", "batch weight", "wt", "wt g"),
    "anomalies": ("delt", "anomaly", "lesions"),
    "effort_s": ("effort", "shock time", "seconds", "time on", "current on s", "on time s"),
    "pass_biomass_g": ("total weight", "total biomass", "pass weight"),
    "reach_length_m": ("length", "reach", "reach length", "reach m", "length m"),
    "mean_width_m": ("width", "mean width", "avg width", "width m"),
    "stop_nets": ("nets", "block nets", "stop net"),
    "water_temp_c": ("temp", "temperature", "water temp", "water temperature", "temp c"),
    "conductivity_us_cm": ("conductivity", "cond", "spc", "conductance"),
    "dissolved_oxygen_mg_l": ("do", "dissolved oxygen", "do mg/l", "oxygen"),
    "turbidity_ntu": ("turbidity", "turb", "ntu"),
    "discharge_m3_s": ("discharge", "flow", "q"),
    "air_temp_c": ("air temp", "air temperature", "air"),
    "bottom_visible": ("bottom seen", "clarity"),
    "weather": ("sky", "weather conditions"),
    "meters": ("meter", "meter serial", "meter id"),
    "calibrated_on": ("calibrated", "calibration date", "date calibrated"),
    "widths_m": ("widths", "transect widths"),
    "identifier": ("identified by", "id by", "det"),
    "crew_size": ("crew no", "number of crew", "people"),
    "started_at": ("start", "start time", "time start", "time in"),
    "ended_at": ("end", "end time", "time end", "time out"),
    "gear_unit": ("gear", "unit", "shocker", "backpack", "unit no"),
    "waveform": ("current", "current type", "output"),
    "anodes": ("no anodes", "anode", "number of anodes"),
    "netters": ("no netters", "netter", "number of netters"),
    "volts_first": ("volts", "voltage", "v"),
    "pulse_hz_first": ("hz", "frequency", "pulse rate", "pps"),
    "pulse_width_ms_first": ("pulse width", "ms"),
    "gross_g": ("gross", "gross weight", "gross wt"),
    "tare_g": ("tare", "tare weight", "bucket weight"),
    "weighed": ("no weighed", "number weighed"),
    "released": ("no released", "released alive", "alive"),
    "died": ("dead", "mortalities", "morts", "no dead"),
    "kept": ("retained", "no kept", "vouchered"),
    "crew_lead": ("crew", "leader", "lead", "crew leader"),
    "notes": ("remarks", "comments", "comment", "remark"),
    VISIT_KEY: ("visit", "visit id", "visit no", "sample id", "event id", "survey id"),
}
_PASS = re.compile(
    r"(?:(?P<words>.*?)\s*)?(?:pass|run|p|sweep)\s*#?(?P<number>[1-9])(?:\s*(?P<after>.*))?"
    r"|(?P<ordinal>[1-9])(?:st|nd|rd|th) (?:pass|run|sweep)"
)
MOST_TITLE_LINES = 8


def plain(heading: str) -> str:
    """A heading as it is compared: lower case, signs as blanks."""
    return " ".join(re.sub(r"[_()\[\].,:#]+", " ", fold(heading)).split())


_MEANING = {
    **{plain(word): name for name, words in OTHER_WORDS.items() for word in words},
    **{plain(name): name for name in HEADINGS},
}


def propose(sheets: Sequence[RawSheet], taxa: Collection[str]) -> FileMapping:
    """A first mapping of a file.

    Parameters
    ----------
    taxa : folded names by which a taxon is known; such a heading is a column per species
    """
    return FileMapping(sheets=tuple(_sheet(one, taxa) for one in sheets))


def _sheet(sheet: RawSheet, taxa: Collection[str]) -> SheetMapping:
    """The line with most headings that are understood, and what they mean."""
    best = SheetMapping(sheet=sheet.name, heading_line=sheet.first_line, roles={})
    most = -1
    for line in range(sheet.first_line, min(sheet.first_line + MOST_TITLE_LINES, len(sheet.rows)) + 1):
        if not any(cell.strip() for cell in sheet.rows[line - 1]):
            continue
        labels = unique_headings(sheet.table(line).headings)
        roles = {label: _role(label, taxa) for label in labels}
        understood = sum(bool(role.role) for role in roles.values())
        if understood > most:
            best, most = SheetMapping(sheet=sheet.name, heading_line=line, roles=_once(roles)), understood
    return best


def _role(heading: str, taxa: Collection[str]) -> Role:
    words = plain(heading)
    if words in _MEANING:
        return Role(role=_MEANING[words])
    if fold(heading) in taxa:
        return Role(role=SPECIES)
    found = _PASS.fullmatch(words)
    if found:
        number = found["number"] or found["ordinal"]
        rest = plain(f"{found['words'] or ''} {found['after'] or ''}")
        if not rest:
            return Role(role=OF_PASS, number=number)
        if rest in taxa:
            return Role(role=SPECIES, taxon=rest, number=number)
        if _MEANING.get(rest) in PASS_VALUES:
            return Role(role=OF_PASS, number=number, holds=_MEANING[rest])
    return Role()


def _once(roles: dict[str, Role]) -> dict[str, Role]:
    """A meaning that two headings share is left to the first; the person decides on the other."""
    seen: set[Role] = set()
    kept = {}
    for heading, role in roles.items():
        twice = role in seen and role.role not in ("", SPECIES)
        kept[heading] = Role() if twice else role
        seen.add(role)
    return kept


def fits(mapping: FileMapping, sheets: Sequence[RawSheet]) -> bool:
    """Whether every heading that a kept mapping needs is in the file."""
    for one in mapping.sheets:
        needed = {fold(heading) for heading, role in one.roles.items() if role.role}
        if not needed:
            continue
        sheet = find_sheet(sheets, one.sheet)
        if sheet is None:
            return False
        there = {fold(label) for label in unique_headings(sheet.table(one.heading_line).headings)}
        if not needed <= there:
            return False
    return any(role.role for one in mapping.sheets for role in one.roles.values())
