# ruff: noqa: E501 - a table reads best with one record on a line
"""The invented county of the demo: its places, what happened there, and how its creeks fared.

Every name of a place or a person is made up. The positions lie in the open Atlantic, so that no real
creek is shown by mistake. Read by ``make_demo_data.py``; holds no code that draws random numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

COUNTY = "Quillomby County"
FIRST_YEAR, LAST_YEAR = 2005, 2024
NEXT_YEAR = 2025  # the season that the demo does not load, with two errors to be corrected
NO_SEASON = 2020
DROUGHT = 2016
OLD_METHOD, METHOD = "backpack-50m-two-pass", "backpack-75m-two-pass"

TARVANDLE, BRENDOWICK = "Tarvandle Run", "Brendowick Creek"
OSTRELWYN, LUMMERDANE = "Ostrelwyn Creek", "Lummerdane Branch"


@dataclass(frozen=True)
class Station:
    """One row of the station list, and what the data are made with.

    ``offset`` moves the condition of the station against its watershed's; ``day`` is the usual day of
    the year of a visit.
    """

    code: str
    watershed: str
    stream: str
    name: str
    latitude: float
    longitude: float
    river_km: float
    catchment_km2: float
    stratum: str
    width_m: float
    elevation_m: int
    control_for: str
    day: int
    first_year: int = FIRST_YEAR
    offset: float = 0.0


_P, _C = "eastern_piedmont", "coastal_plain"
STATIONS = (
    Station("TARV-01", TARVANDLE, "Tarvandle Run", "Below Quensil Yard", 37.2104, -70.6042, 1.8, 24.6, _P, 5.4, 58, "", 170, offset=-0.02),
    Station("TARV-02", TARVANDLE, "Tarvandle Run", "At the old ford", 37.2231, -70.6127, 4.6, 16.2, _P, 4.6, 71, "", 172, offset=0.03),
    Station("TARV-03", TARVANDLE, "Tarvandle Run", "Above the Orvendale crossing", 37.2352, -70.6246, 7.1, 9.3, _P, 3.6, 88, "", 175),
    Station("TARV-04", TARVANDLE, "Pellan Brook", "Below Pellanquist Rise", 37.2398, -70.6088, 7.9, 5.1, _P, 2.8, 97, "", 176, offset=-0.05),
    Station("BREN-01", BRENDOWICK, "Brendowick Creek", "Weir meadow", 37.2512, -70.5203, 1.2, 31.5, _P, 6.0, 49, "", 196, offset=0.03),
    Station("BREN-02", BRENDOWICK, "Brendowick Creek", "Middle of the restored reach", 37.2627, -70.5294, 3.9, 22.8, _P, 5.2, 60, "", 197),
    Station("BREN-03", BRENDOWICK, "Brendowick Creek", "Top of the restored reach", 37.2731, -70.5381, 5.8, 15.7, _P, 4.4, 69, "", 199),
    Station("BREN-04", BRENDOWICK, "Marl Fork", "Behind the Hesterwick school", 37.2806, -70.5262, 6.9, 7.4, _P, 3.1, 80, "", 201, 2007, -0.04),
    Station("OSTR-01", OSTRELWYN, "Ostrelwyn Creek", "Camp bridge", 37.3118, -70.6619, 2.4, 28.3, _P, 5.8, 84, "BREN-01", 214, offset=0.02),
    Station("OSTR-02", OSTRELWYN, "Ostrelwyn Creek", "Long pool", 37.3227, -70.6708, 5.0, 19.9, _P, 5.0, 97, "BREN-02", 215),
    Station("OSTR-03", OSTRELWYN, "Ostrelwyn Creek", "Below the twin oaks", 37.3344, -70.6822, 7.7, 12.4, _P, 4.1, 118, "BREN-03", 217, offset=-0.02),
    Station("OSTR-04", OSTRELWYN, "Sillabee Brook", "Spring head", 37.3401, -70.6667, 9.1, 6.2, _P, 3.0, 141, "TARV-04", 218, offset=0.02),
    Station("LUMM-01", LUMMERDANE, "Lummerdane Branch", "Reed landing", 37.1507, -70.5511, 2.0, 14.8, _C, 4.8, 9, "", 236, 2021),
    Station("LUMM-02", LUMMERDANE, "Lummerdane Branch", "Old mill pond outlet", 37.1615, -70.5576, 4.3, 8.9, _C, 3.7, 14, "", 237, 2021, -0.05),
)  # fmt: skip

# Stations that were fished over 50 m by the older method until this year, and over 75 m from then on.
LENGTHENED_FROM = {"TARV-03": 2011, "TARV-04": 2011}

# Visits that were not made, over and above the year without a season.
MISSED = {
    ("TARV-02", 2013),
    ("BREN-03", 2011),
    ("OSTR-04", 2018),
    ("OSTR-03", 2007),
    ("LUMM-01", 2023),
    ("LUMM-02", 2023),
}


def condition(watershed: str, year: int) -> float:
    """How well the creek does, 0 to 1, before the chance of stations and years.

    The losing creek holds until the roofs come and then falls; the recovering one stays low until the
    work of 2014 and then rises over eight years; the reference stays where it is.
    """
    if watershed == TARVANDLE:
        return 0.88 - 0.80 * min(max((year - 2008) / 14, 0.0), 1.0)
    if watershed == BRENDOWICK:
        return 0.24 + 0.60 * min(max((year - 2014) / 8, 0.0), 1.0)
    return {OSTRELWYN: 0.92, LUMMERDANE: 0.22}[watershed]


# Category, start, end, title, text, source, public. Dates may be a month, a year or a decade.
_DRY_SOURCE = "County weather summary (invented)"
NOTES: tuple[tuple[str, str, str, str, str, str, str, str, int], ...] = (
    *(
        (place, "", "survey", "2020-03", "2020-12", "No field season: crews could not travel together",
         "All field work of the year was called off.", "Programme diary (invented)", 1)
        for place in (TARVANDLE, BRENDOWICK, OSTRELWYN)
    ),
    *(
        (place, "", "drought", "2016-05", "2016-10", "Dry summer",
         "Flow fell below half of the usual from June on; some riffles stood dry.", _DRY_SOURCE, 1)
        for place in (TARVANDLE, BRENDOWICK, OSTRELWYN)
    ),
    (TARVANDLE, "", "building", "2008-04", "2012-09", "Pellanquist Rise: 310 houses and their streets",
     "Two thirds of the ground drains to Pellan Brook through one pond.", "Building permits 2008-044 to 2012-118 (invented)", 1),
    (TARVANDLE, "", "survey", "2011-06-01", "", "Reach at TARV-03 and TARV-04 lengthened from 50 m to 75 m",
     "Earlier years are kept apart from later ones.", "Programme diary (invented)", 1),
    (TARVANDLE, "TARV-03", "road", "2014-05-12", "2015-11-20", "Orvendale Parkway widened, crossing rebuilt",
     "New box culvert of 38 m below the station; sediment fence failed twice.", "Road office file 14-07 (invented)", 1),
    (TARVANDLE, "", "trail", "2016-09", "2017-03", "Creekside path paved",
     "3.1 km of asphalt within 15 m of the bank.", "Parks work order 2016-21 (invented)", 1),
    (TARVANDLE, "TARV-01", "building", "2017", "2019", "Warehouses and car parks at Quensil Yard",
     "11 ha of roof and asphalt.", "Building permits 2017-009 (invented)", 1),
    (TARVANDLE, "TARV-04", "stormwater", "2021-08-02", "2021-11-05", "Pond at Pellanquist Rise rebuilt",
     "Outlet changed so that small storms are held back longer.", "Storm-water report 2021 (invented)", 1),
    (TARVANDLE, "TARV-04", "pipe", "2022-06-11", "2022-06-13", "Sewer overflow into Pellan Brook",
     "Pump failed for two days; dead fish seen as far as the mouth of the brook.", "Utility incident 22-31 (invented)", 1),
    (BRENDOWICK, "", "building", "1970s", "1970s", "Most of the houses in the valley built",
     "Before storm-water rules; date known to the decade.", "Aerial photographs (invented)", 1),
    (BRENDOWICK, "", "stormwater", "2013", "2014", "Nine old ponds rebuilt to hold small storms",
     "", "Storm-water report 2014 (invented)", 1),
    (BRENDOWICK, "BREN-02", "channel", "2014-02-03", "2014-06-20", "Creek reconnected to its flood plain over 1.9 km",
     "Banks lowered, riffles and wood put in, 4 ha planted. BREN-02 and BREN-03 lie inside.", "Restoration plan as built (invented)", 1),
    (BRENDOWICK, "BREN-01", "dam", "2014-10-06", "2014-10-17", "Low weir taken out at Weir meadow",
     "Fish can swim up from the river again.", "Parks work order 2014-33 (invented)", 1),
    (BRENDOWICK, "BREN-04", "pipe", "2015-03", "2015-08", "Leaking sewer relined behind the school",
     "Access only through a private yard: ring the owner first.", "Utility project 15-02 (invented)", 0),
    (BRENDOWICK, "", "flood", "2018-09-09", "2018-09-11", "Flood after a tropical storm",
     "Highest water in the record of the bridge gauge.", _DRY_SOURCE, 1),
    (OSTRELWYN, "", "land", "2007-10", "", "Upper valley bought as a county park",
     "Forest and two old farms, 640 ha.", "Land register (invented)", 1),
    (OSTRELWYN, "OSTR-04", "stocking", "2003", "2009", "Brown trout stocked below the spring head",
     "About 200 a year; stopped in 2009.", "Angling club letters (invented)", 1),
    (OSTRELWYN, "OSTR-02", "land", "2015-06", "", "Farm vehicles ford the creek above the long pool",
     "Talked over with the tenant; not agreed yet.", "Ranger's note (invented)", 0),
    (LUMMERDANE, "", "survey", "2021-06-14", "", "Watershed added to the programme",
     "Two stations; not visited in 2023 for want of a crew.", "Programme diary (invented)", 1),
    (LUMMERDANE, "LUMM-02", "building", "2024-11", "", "Library and car park asked for above the mill pond",
     "Application received; nothing is built yet.", "Planning file 24-61 (invented)", 1),
)  # fmt: skip

# Year of the mapping: hard surfaces %, forest %.
LAND_COVER = {
    TARVANDLE: {2006: (9.4, 38.1), 2011: (15.2, 32.6), 2016: (18.9, 29.4), 2021: (24.3, 25.0)},
    BRENDOWICK: {2006: (21.8, 24.5), 2011: (22.4, 24.1), 2016: (22.9, 24.9), 2021: (23.1, 26.2)},
    OSTRELWYN: {2006: (2.6, 71.3), 2011: (2.7, 71.9), 2016: (2.8, 72.4), 2021: (2.9, 72.8)},
    LUMMERDANE: {2006: (10.1, 35.2), 2011: (11.0, 34.6), 2016: (11.6, 34.1), 2021: (12.4, 33.0)},
}

METHODS = (
    {
        "code": METHOD,
        "name": "Backpack, 75 m, two passes, nets at both ends",
        "gear": "one backpack electrofisher, two netters",
        "planned_passes": "2",
        "reach_rule": "75 m along the thalweg from the fixed lower mark",
        "season_starts": "06-01",
        "season_ends": "09-30",
        "description": "The method of the programme. Work in electrified water only under the permit, the "
        "safety plan and the trained crew lead of the county.",
        "is_default": "1",
    },
    {
        "code": OLD_METHOD,
        "name": "Backpack, 50 m, two passes, nets at both ends",
        "gear": "one backpack electrofisher, one netter",
        "planned_passes": "2",
        "reach_rule": "50 m along the thalweg from the fixed lower mark",
        "season_starts": "06-01",
        "season_ends": "09-30",
        "description": "Used at two narrow stations until 2010. Not joined with the 75 m method in one trend.",
        "is_default": "0",
    },
)
CREW = ("R. T.", "M. O.", "J. V.")  # initials of nobody; each leads for some years
