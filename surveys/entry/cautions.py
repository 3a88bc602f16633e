"""Published cautions for work with electricity in water, shown for orientation before a visit.

Only passages that were read in the source named beside them stand here. The site proposes no setting
and clears nobody to work.
"""

from dataclasses import dataclass

from surveys.said import marked

STANDING_LINE = marked(
    "These are published cautions, for orientation only. Local rules and codes, the terms of your permit, "
    "your employer’s safety programme, the maker’s manual and the judgement of the trained crew leader come "
    "first. This site keeps the record of a visit. It trains nobody, proposes no setting, and does not say "
    "that a crew may go."
)


@dataclass(frozen=True, slots=True)
class Caution:
    words: str
    source: str


_USGS = "U.S. Geological Survey, Open-File Report 93-104 (1993)"
_UNBC = "University of Northern British Columbia, Policy for the Use of Backpack Electrofishing Units"
_MAKER = "A maker’s manual for backpack units"
_RELOCATION = "California salmonid relocation measures (NOAA Restoration Center and state permits)"

FOR_PEOPLE = (
    Caution(
        marked(
            "A current that stuns fish can stop a person’s breathing or heart. Take every part that carries "
            "current as deadly."
        ),
        f"{_USGS}, p. 16",
    ),
    Caution(
        marked(
            "Everyone holds a current CPR certificate and is trained on the unit; one named person is "
            "responsible for safety."
        ),
        f"{_USGS}, p. 16",
    ),
    Caution(
        marked(
            "A written checklist is gone through before work, and the way to medical help is written down."
        ),
        f"{_USGS}, p. 16",
    ),
    Caution(marked("Nobody fishes alone: two at the least, one of them leading."), f"{_UNBC}, section 2 (a)"),
    Caution(
        marked(
            "Only units made for the trade, in good order and unaltered; checked each day, a first-aid kit "
            "beside them."
        ),
        f"{_USGS}, p. 16; {_UNBC}, sections 1-2",
    ),
    Caution(
        marked("Waders that do not breathe, insulated rubber gloves, polarised glasses, a brimmed hat."),
        "U.S. EPA, small-stream method 2013/14 (NEMI summary 12302)",
    ),
    Caution(
        marked(
            "Stop at once when water gets into gloves or waders. Power off before anyone steps in or out, or "
            "touches an electrode or a plug. No deeper than can be waded safely."
        ),
        f"{_MAKER}, p. 23",
    ),
    Caution(
        marked(
            "Nobody on the bank. If people, dogs or cattle come near, stop and wait; current also travels along "
            "pipes, culverts and sheet piling."
        ),
        f"{_MAKER}, p. 23",
    ),
    Caution(
        marked(
            "People with heart trouble or a pacemaker, and those who are pregnant, do not work with the unit."
        ),
        f"{_MAKER}, p. 23; Australian Code of Electrofishing Practice (1997), section 1",
    ),
)

FOR_FISH = (
    Caution(
        marked(
            "Large American eels caught with pulsed direct current at 30 Hz were hurt in the spine far more "
            "often than trapped ones (60 against 15 of 100)."
        ),
        "Injury of American eels captured by electrofishing and trap-netting, North American Journal of "
        "Fisheries Management (abstract)",
    ),
    Caution(
        marked(
            "Hold fish in cool, shaded, aerated water under a lid, with a thermometer in it; large and small "
            "apart, not crowded."
        ),
        _RELOCATION,
    ),
    Caution(
        marked("Work up the catch of one pass before the next begins."),
        "U.S. Geological Survey, Open-File Report 02-150 (NEMI summary 12237)",
    ),
    Caution(
        marked("At least half an hour between passes."),
        "Stream guide held by the Colorado Water Conservation Board, document 133521, p. 28",
    ),
    Caution(
        marked("Let every fish swim upright before it is released; count and report the dead."), _RELOCATION
    ),
)
