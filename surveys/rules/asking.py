"""The rules that ask about more than one value: within a row, a pass, a visit, a file or a list. Pure code."""

from typing import Final

from surveys.rules.asking_earlier import ASKING_EARLIER
from surveys.rules.rule import CATCH, EARLIER, FILES, HANDING_IN, LISTS, PASSES, PROPOSAL, ask, joined, limit
from surveys.said import marked

_SHEET = marked("Check it against the field sheet; keep it if it is right.")


_CATCH: Final = (
    ask(
        "weight_without_fish",
        CATCH,
        marked("A weight without fish"),
        joined(
            marked(
                "A batch with a weight has fish: a count was left out, or the weight belongs to another row."
            ),
            _SHEET,
        ),
    ),
    ask(
        "fish_without_weight",
        CATCH,
        marked("Fish that weigh nothing"),
        marked(
            "A weight of 0 g beside fish mostly means that they were not weighed. Leave the cell empty then: empty "
            "is not zero."
        ),
    ),
    ask(
        "unusual_weight",
        CATCH,
        marked("Mean weight of a fish"),
        marked(
            "A fish far too light or too heavy points to a slipped unit, to tare that was not taken off, or to fish "
            "that were not all weighed. It is compared with fixed bounds, and with the mean weights of the taxon "
            "in the batches weighed at these stations before. Check tare and unit of the scale; keep it if it is "
            "right."
        ),
        limit("lightest", marked("asks below, for any fish"), 0.01, 0, 1_000, "g"),
        limit("heaviest", marked("asks above, for any fish"), 20_000, 1, 1_000_000, "g"),
        limit("times", marked("asks beyond the earlier mean weights by a factor of"), 3, 1, 1_000),
        limit("batches", marked("batches weighed before it compares"), 10, 1, 10_000, whole=True),
    ),
    ask(
        "net_differs",
        CATCH,
        marked("Net weight and its parts differ"),
        marked(
            "The weight with the container less that of the container is the net weight. Correct one of the three, "
            "or leave the net weight empty: it is worked out then."
        ),
        limit("grams", marked("asks beyond a difference of"), 0.5, 0, 10_000, "g"),
        limit("percent", marked("or, where that is more,"), 0.5, 0, 100, marked("% of the net weight")),
    ),
    ask(
        "weighed_without_weight",
        CATCH,
        marked("Fish weighed, but no weight"),
        joined(marked("It is said how many fish were weighed, but not what they weighed."), _SHEET),
    ),
    ask(
        "batches_above_pass",
        CATCH,
        marked("Batches weigh more than their pass"),
        marked(
            "The batches of a pass cannot weigh more than the pass. Check tare, unit and the pass of each batch; "
            "keep it if the sheet says so."
        ),
        limit("percent", marked("asks above the pass total by"), 0.5, 0, 100, "%"),
    ),
    ask(
        "batches_below_pass",
        CATCH,
        marked("Batches weigh less than their pass"),
        marked(
            "Where all fish of a pass were weighed by taxon, the batches make up its total. Look for a batch that "
            "was left out; keep it if the sheet says so."
        ),
        limit("percent", marked("asks below the pass total by"), 5, 0, 100, "%"),
    ),
)

_PASSES: Final = (
    ask(
        "later_pass_larger",
        PASSES,
        marked("A later pass caught more"),
        marked(
            "A removal estimate rests on catches that fall from pass to pass. Check the pass numbers. If it is "
            "right, keep it: the estimate says that it could not be made, or how uncertain it is."
        ),
        source=marked("The model of removal estimates; see how each number is made."),
    ),
    ask(
        "pass_value_partly_blank",
        PASSES,
        marked("A value of a pass is empty in some rows"),
        marked(
            "A value of the whole pass stands in some of its rows only. It is taken for all; write it in each row "
            "if it holds for all."
        ),
    ),
    ask(
        "visit_value_partly_blank",
        HANDING_IN,
        marked("A value of a visit is empty in some rows"),
        marked(
            "A value of the whole visit stands in some of its rows only. It is taken for all; write it in each row "
            "if it holds for all."
        ),
    ),
    ask(
        "short_rest",
        PASSES,
        marked("A short rest between passes"),
        marked(
            "Fish that have not settled again are caught less easily, and the removal estimate comes out wrong. "
            "Keep it if the times are right."
        ),
        limit("minutes", marked("asks below"), 30, 0, 24 * 60, marked("minutes")),
        source=marked(
            "“At least half an hour between removals”, in a European stream guide kept by the Colorado "
            "Water Conservation Board as document 133521, p. 28."
        ),
    ),
    ask(
        "fast_pulses",
        PASSES,
        marked("Fast pulses where eels, salmon or trout live"),
        marked(
            "Above this rate such fish are hurt more often. Check the setting against the field sheet and against "
            "what the permit says; keep it if it was so. No setting is proposed here: that is for the permit "
            "and the trained crew leader."
        ),
        limit("hertz", marked("asks above"), 30, 0, 200, marked("pulses a second")),
        source=marked(
            "At 30 pulses a second 60 % of large American eels had damaged spines, against 15 % of those "
            "caught in traps (North American Journal of Fisheries Management; authors and year, Reynolds and "
            "Holliman 2004, from memory)."
        ),
        stays_on=marked("It guards fish that are hurt easily: it is asked wherever such a rate is noted."),
    ),
    ask(
        "calibration_old",
        PASSES,
        marked("Meters calibrated long ago"),
        marked("Readings drift after a calibration. Check the day; keep it if it is right."),
        limit("days", marked("asks beyond"), 30, 0, 3_650, marked("days"), whole=True),
    ),
    ask(
        "width_differs_from_widths",
        PASSES,
        marked("Mean width and the widths differ"),
        marked(
            "The mean width is the mean of the widths at the transects. Check both; keep them if they are right."
        ),
        limit("percent", marked("asks beyond a difference of"), 5, 0, 100, "%"),
    ),
    ask(
        "gear_differs",
        EARLIER,
        marked("Other gear than last time"),
        marked(
            "A change of current, anodes or netters can look like a change of the creek. Keep it if it was so."
        ),
        source=PROPOSAL,
    ),
)

_HANDING_IN: Final = (
    ask(
        "visit_held",
        HANDING_IN,
        marked("The visit is already held with other values"),
        marked(
            "A file holds other values than the stored visit, and would replace them; or a typed visit has the "
            "day of another one. Look at the differences, and go on only if the new values are right."
        ),
        stays_on=marked("Nothing that is stored is replaced unasked."),
    ),
    ask(
        "reach_length_m_empty",
        HANDING_IN,
        marked("No reach length typed"),
        marked(
            "Without the length of the reach no density can be worked out. Measure it anew, or keep it empty."
        ),
    ),
    ask(
        "stop_nets_empty",
        HANDING_IN,
        marked("Stop nets not said"),
        marked(
            "Whether the ends of the reach were closed decides how a removal estimate is read. Choose what was "
            "done."
        ),
    ),
    ask(
        "crew_lead_empty",
        HANDING_IN,
        marked("No crew lead named"),
        marked(
            "Somebody has to be asked when the visit is read later. Initials are enough; they are never published."
        ),
        source=PROPOSAL,
    ),
)

_FILES: Final = (
    ask(
        "unknown_column",
        FILES,
        marked("A column that is not known"),
        marked(
            "The heading comes near that of a column that the file does not have; as it stands, it is passed over. "
            "Rename it if that column is meant."
        ),
    ),
    ask(
        "no_heading",
        FILES,
        marked("A column without a heading"),
        marked("What stands below an empty heading is passed over. Give it a heading, or delete the column."),
    ),
    ask(
        "no_count_in_line",
        FILES,
        marked("A line without a count"),
        marked(
            "A line of a workbook has no count, so it makes no row. Write 0 where a taxon was looked for and not "
            "caught: empty is not zero."
        ),
    ),
    ask(
        "value_of_several",
        FILES,
        marked("One value for several catches"),
        marked(
            "A line of an older file holds several passes or taxa and one weight or effort for all of them. It is "
            "left out: with each of them it would be counted several times."
        ),
    ),
    ask(
        "no_catch_on_record",
        FILES,
        marked("A visit or a pass without a catch"),
        marked(
            "A workbook names a visit or a pass but no fish. Add a row “no fish” with count 0 if it caught nothing."
        ),
    ),
    ask(
        "unusual_position",
        LISTS,
        marked("A position of 0 and 0"),
        marked(
            "Latitude 0 and longitude 0 is a place in the ocean. Leave both empty where the position is not known."
        ),
    ),
    ask(
        "station_moves",
        LISTS,
        marked("A station with visits that a list moves"),
        marked(
            "A list gives another position to a station that has visits. As a correction it holds for all its years. A "
            "station that was really moved gets a new layout on its page, from the day of the move: years before and "
            "after are then kept apart."
        ),
        limit("metres", marked("asks beyond a distance of"), 50, 0, 100_000, "m"),
        source=PROPOSAL,
    ),
    ask(
        "watershed_comes_near",
        LISTS,
        marked("A new watershed with nearly the name of another"),
        marked(
            "A list of stations names a watershed that is not known, and its name comes near a known one. One "
            "letter too many would give a creek a second page with a part of its stations."
        ),
    ),
)
_LISTS: Final = (
    ask(
        "was_withdrawn",
        LISTS,
        marked("A note that was withdrawn"),
        marked(
            "A list of land-use notes holds one that a person withdrew. It is left out; write it anew if it holds."
        ),
        stays_on=marked("Nothing is left out of a list without a word."),
    ),
)

ASKING: Final = (*_CATCH, *_PASSES, *ASKING_EARLIER, *_HANDING_IN, *_FILES, *_LISTS)
