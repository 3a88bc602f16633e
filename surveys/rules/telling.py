"""What the checks say so that nobody is surprised; it asks for nothing and refuses nothing. Pure code."""

from typing import Final

from surveys.rules.rule import CATCH, EARLIER, FILES, HANDING_IN, LISTS, NOTE, VALUES, Rule

# Code, what it is about, title, why it is said.
_SAID: Final = (
    ("heading_spelling", FILES, "A heading spelled another way", "It is read as the column named beside it."),
    (
        "formulas",
        FILES,
        "Formulas in a workbook",
        "The results stored with them are read; nothing is worked out. Look whether they are up to date.",
    ),
    (
        "other_sheets",
        FILES,
        "More sheets than the first",
        "Only the first is read. Where the others hold visits too, send the workbook as an older file.",
    ),
    (
        "separator",
        FILES,
        "Another separator than the comma",
        "The file is read with the separator named beside it. Check that no text was cut.",
    ),
    (
        "station_spelling",
        VALUES,
        "A station’s code spelled another way",
        "Small and capital letters do not matter in a file of visits. In a list of stations the code is "
        "refused, because a code never changes.",
    ),
    (
        "name_confirmed",
        VALUES,
        "A name a person said the meaning of",
        "The fish are stored under the taxon that was chosen for this file.",
    ),
    (
        "taxon_created",
        VALUES,
        "A new taxon",
        "It is added to the list with all its traits unknown. Have them filled in, or it counts in no measure "
        "that rests on traits.",
    ),
    (
        "zero_count",
        CATCH,
        "A taxon with count 0",
        "It is read and not stored: a taxon that was not caught has no row.",
    ),
    (
        "weight_worked_out",
        CATCH,
        "A net weight that was worked out",
        "It is the weight with the container less that of the container.",
    ),
    (
        "reach_assumed",
        HANDING_IN,
        "A reach length that was assumed",
        "Neither file nor station gives one, so 75 m is taken. Give the length that was fished if it was another.",
    ),
    (
        "mean_width_m_empty",
        HANDING_IN,
        "No mean width typed",
        "Without it no density by area can be worked out.",
    ),
    (
        "taxon_new_to_station",
        EARLIER,
        "A taxon new to the station",
        "Check the name against its look-alikes.",
    ),
    (
        "record_changed",
        LISTS,
        "A record of a list was changed",
        "The list that was loaded holds another value than was stored; the new one stands.",
    ),
    (
        "score_would_change",
        LISTS,
        "Scores that change with a list",
        "Traits decide scores. Look at the scores named beside it.",
    ),
)

TELLING: Final = tuple(
    Rule(code=code, about=about, title=title, explanation=explanation, level=NOTE)
    for code, about, title, explanation in _SAID
)
