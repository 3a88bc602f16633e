"""What the checks say so that nobody is surprised; it asks for nothing and refuses nothing. Pure code."""

from typing import Final

from surveys.rules.rule import CATCH, EARLIER, FILES, HANDING_IN, LISTS, NOTE, VALUES, Rule
from surveys.said import marked

# Code, what it is about, title, why it is said.
_SAID: Final = (
    (
        "heading_spelling",
        FILES,
        marked("A heading spelled another way"),
        marked("It is read as the column named beside it."),
    ),
    (
        "formulas",
        FILES,
        marked("Formulas in a workbook"),
        marked(
            "The results stored with them are read; nothing is worked out. Look whether they are up to date."
        ),
    ),
    (
        "other_sheets",
        FILES,
        marked("More sheets than the first"),
        marked(
            "Only the first is read. Where the others hold visits too, send the workbook as an older file."
        ),
    ),
    (
        "separator",
        FILES,
        marked("Another separator than the comma"),
        marked("The file is read with the separator named beside it. Check that no text was cut."),
    ),
    (
        "station_spelling",
        VALUES,
        marked("A station’s code spelled another way"),
        marked(
            "Small and capital letters do not matter in a file of visits. In a list of stations the code is "
            "refused, because a code never changes."
        ),
    ),
    (
        "name_confirmed",
        VALUES,
        marked("A name a person said the meaning of"),
        marked("The fish are stored under the taxon that was chosen for this file."),
    ),
    (
        "taxon_created",
        VALUES,
        marked("A new taxon"),
        marked(
            "It is added to the list with all its traits unknown. Have them filled in, or it counts in no measure "
            "that rests on traits."
        ),
    ),
    (
        "zero_count",
        CATCH,
        marked("A taxon with count 0"),
        marked("It is read and not stored: a taxon that was not caught has no row."),
    ),
    (
        "weight_worked_out",
        CATCH,
        marked("A net weight that was worked out"),
        marked("It is the weight with the container less that of the container."),
    ),
    (
        "reach_assumed",
        HANDING_IN,
        marked("A reach length that was assumed"),
        marked(
            "Neither file nor station gives one, so 75 m is taken. Give the length that was fished if it was another."
        ),
    ),
    (
        "mean_width_m_empty",
        HANDING_IN,
        marked("No mean width typed"),
        marked("Without it no density by area can be worked out."),
    ),
    (
        "taxon_new_to_station",
        EARLIER,
        marked("A taxon new to the station"),
        marked("Check the name against its look-alikes."),
    ),
    (
        "record_changed",
        LISTS,
        marked("A record of a list was changed"),
        marked("The list that was loaded holds another value than was stored; the new one stands."),
    ),
    (
        "score_would_change",
        LISTS,
        marked("Scores that change with a list"),
        marked("Traits decide scores. Look at the scores named beside it."),
    ),
)

TELLING: Final = tuple(
    Rule(code=code, about=about, title=title, explanation=explanation, level=NOTE)
    for code, about, title, explanation in _SAID
)
