"""The rules that ask about more than one value: within a row, a pass, a visit, and against the past. Pure code."""

from typing import Any, Final

from surveys.rules.rule import (
    ASK,
    CATCH,
    EARLIER,
    FILES,
    HANDING_IN,
    LISTS,
    PASSES,
    PROPOSAL,
    RECORD,
    Limit,
    Rule,
)

_SHEET = "Check it against the field sheet; keep it if it is right."


def _ask(code: str, about: str, title: str, explanation: str, *limits: Limit, **more: Any) -> Rule:
    more.setdefault("source", PROPOSAL if limits else RECORD)
    return Rule(
        code=code, about=about, title=title, explanation=explanation, level=ASK, limits=limits, **more
    )


def _limit(
    name: str, title: str, default: float, least: float, most: float, unit: str = "", *, whole: bool = False
) -> Limit:
    return Limit(name=name, title=title, default=default, least=least, most=most, unit=unit, whole=whole)


_CATCH: Final = (
    _ask(
        "weight_without_fish",
        CATCH,
        "A weight without fish",
        "A batch with a weight has fish: a count was left out, or the weight belongs to another row. "
        + _SHEET,
    ),
    _ask(
        "fish_without_weight",
        CATCH,
        "Fish that weigh nothing",
        "A weight of 0 g beside fish mostly means that they were not weighed. Leave the cell empty then: empty "
        "is not zero.",
    ),
    _ask(
        "unusual_weight",
        CATCH,
        "Mean weight of a fish",
        "A fish far too light or too heavy points to a slipped unit, to tare that was not taken off, or to fish "
        "that were not all weighed. It is compared with fixed bounds, and with the mean weights of the taxon "
        "in the batches weighed at these stations before. Check tare and unit of the scale; keep it if it is "
        "right.",
        _limit("lightest", "asks below, for any fish", 0.01, 0, 1_000, "g"),
        _limit("heaviest", "asks above, for any fish", 20_000, 1, 1_000_000, "g"),
        _limit("times", "asks beyond the earlier mean weights by a factor of", 3, 1, 1_000),
        _limit("batches", "batches weighed before it compares", 10, 1, 10_000, whole=True),
    ),
    _ask(
        "net_differs",
        CATCH,
        "Net weight and its parts differ",
        "The weight with the container less that of the container is the net weight. Correct one of the three, "
        "or leave the net weight empty: it is worked out then.",
        _limit("grams", "asks beyond a difference of", 0.5, 0, 10_000, "g"),
        _limit("percent", "or, where that is more,", 0.5, 0, 100, "% of the net weight"),
    ),
    _ask(
        "weighed_without_weight",
        CATCH,
        "Fish weighed, but no weight",
        "It is said how many fish were weighed, but not what they weighed. " + _SHEET,
    ),
    _ask(
        "batches_above_pass",
        CATCH,
        "Batches weigh more than their pass",
        "The batches of a pass cannot weigh more than the pass. Check tare, unit and the pass of each batch; "
        "keep it if the sheet says so.",
        _limit("percent", "asks above the pass total by", 0.5, 0, 100, "%"),
    ),
    _ask(
        "batches_below_pass",
        CATCH,
        "Batches weigh less than their pass",
        "Where all fish of a pass were weighed by taxon, the batches make up its total. Look for a batch that "
        "was left out; keep it if the sheet says so.",
        _limit("percent", "asks below the pass total by", 5, 0, 100, "%"),
    ),
)

_PASSES: Final = (
    _ask(
        "later_pass_larger",
        PASSES,
        "A later pass caught more",
        "A removal estimate rests on catches that fall from pass to pass. Check the pass numbers. If it is "
        "right, keep it: the estimate says that it could not be made, or how uncertain it is.",
        source="The model of removal estimates; see how each number is made.",
    ),
    _ask(
        "pass_value_partly_blank",
        PASSES,
        "A value of a pass is empty in some rows",
        "A value of the whole pass stands in some of its rows only. It is taken for all; write it in each row "
        "if it holds for all.",
    ),
    _ask(
        "visit_value_partly_blank",
        HANDING_IN,
        "A value of a visit is empty in some rows",
        "A value of the whole visit stands in some of its rows only. It is taken for all; write it in each row "
        "if it holds for all.",
    ),
    _ask(
        "short_rest",
        PASSES,
        "A short rest between passes",
        "Fish that have not settled again are caught less easily, and the removal estimate comes out wrong. "
        "Keep it if the times are right.",
        _limit("minutes", "asks below", 30, 0, 24 * 60, "minutes"),
        source="“At least half an hour between removals”, in a European stream guide kept by the Colorado "
        "Water Conservation Board as document 133521, p. 28.",
    ),
    _ask(
        "fast_pulses",
        PASSES,
        "Fast pulses where eels, salmon or trout live",
        "Above this rate such fish are hurt more often. Check the setting against the field sheet and against "
        "what the permit says; keep it if it was so. No setting is proposed here: that is for the permit "
        "and the trained crew leader.",
        _limit("hertz", "asks above", 30, 0, 200, "pulses a second"),
        source="At 30 pulses a second 60 % of large American eels had damaged spines, against 15 % of those "
        "caught in traps (North American Journal of Fisheries Management; authors and year, Reynolds and "
        "Holliman 2004, from memory).",
        stays_on="It guards fish that are hurt easily: it is asked wherever such a rate is noted.",
    ),
    _ask(
        "calibration_old",
        PASSES,
        "Meters calibrated long ago",
        "Readings drift after a calibration. Check the day; keep it if it is right.",
        _limit("days", "asks beyond", 30, 0, 3_650, "days", whole=True),
    ),
    _ask(
        "width_differs_from_widths",
        PASSES,
        "Mean width and the widths differ",
        "The mean width is the mean of the widths at the transects. Check both; keep them if they are right.",
        _limit("percent", "asks beyond a difference of", 5, 0, 100, "%"),
    ),
    _ask(
        "gear_differs",
        EARLIER,
        "Other gear than last time",
        "A change of current, anodes or netters can look like a change of the creek. Keep it if it was so.",
        source=PROPOSAL,
    ),
)

_EARLIER: Final = (
    _ask(
        "out_of_season",
        EARLIER,
        "Outside the season of the method",
        "The visit lies outside the season of its method and will not stand for its year. Check date and "
        "method; keep it if it was made in another season.",
        source="The season that is stored with the sampling method.",
    ),
    _ask(
        "unusual_day",
        EARLIER,
        "Far from the usual day of the station",
        "Fish differ through the season, so visits are compared best near the same day. Check day and month; "
        "keep it if the visit was early or late. Stations without a usual day are not asked about.",
        _limit("days", "asks beyond a distance of", 30, 0, 183, "days", whole=True),
        _limit("visits", "earlier visits before a day is usual", 3, 2, 100, whole=True),
        _limit("spread", "no usual day where the middle half of visits spreads beyond", 60, 0, 366, "days"),
    ),
    _ask(
        "method_differs",
        EARLIER,
        "Another method than last time",
        "Years sampled by different methods are not joined in one trend. Check the code; keep it if the "
        "method was changed.",
    ),
    _ask(
        "reach_length_m_differs",
        EARLIER,
        "Reach length differs from the station’s",
        "Another reach holds other fish. Check the measurement; keep it if that is what was fished.",
        _limit("percent", "asks beyond a difference of", 10, 0, 1_000, "%"),
    ),
    _ask(
        "mean_width_m_differs",
        EARLIER,
        "Mean width differs from the station’s",
        "Densities rest on the width. Check the measurement; keep it if the water was high or low.",
        _limit("percent", "asks beyond a difference of", 30, 0, 1_000, "%"),
    ),
    _ask(
        "unusual_count",
        EARLIER,
        "Far more fish than ever before",
        "The count of a taxon is far above the largest in a pass at this station so far. Check it against the "
        "field sheet; keep it if it is right.",
        _limit("times", "asks above the largest count so far by a factor of", 10, 1, 10_000),
    ),
    _ask(
        "readings_repeated",
        EARLIER,
        "Readings equal to those of last time",
        "So many equal readings in two years are rarely chance: they may have been copied. Check them against "
        "the field sheet; keep them if they were measured anew.",
        _limit("readings", "asks from", 3, 1, 7, "equal readings on", whole=True),
    ),
    _ask(
        "basis_differs",
        EARLIER,
        "Conductivity of another kind than last time",
        "Conductivity of the water as it is and conductivity worked out for 25 °C are not compared with each "
        "other. Check what the meter shows.",
    ),
    _ask(
        "taxon_new_to_watershed",
        EARLIER,
        "A taxon new to the watershed",
        "It may be a name mistyped or a fish mistaken for its look-alike, or news. Keep it if a voucher or a "
        "photograph confirms it.",
        source=PROPOSAL,
    ),
    _ask(
        "taxon_missing",
        EARLIER,
        "A taxon missing that was always there",
        "A line of the sheet may have been left out. Keep it if none was caught.",
        _limit(
            "visits", "earlier visits, all with the taxon, before it asks", 5, 2, 100, "visits", whole=True
        ),
    ),
    _ask(
        "richness_drop",
        EARLIER,
        "Far fewer taxa than usual",
        "Perhaps only a part of the sheet was typed. Keep it if so few were caught.",
        _limit("percent", "asks at or below", 50, 1, 100, "% of the usual number"),
        _limit("visits", "earlier visits before a number is usual", 3, 1, 100, whole=True),
        _limit("usual", "only where usual are at least", 4, 1, 100, "taxa"),
    ),
)

_HANDING_IN: Final = (
    _ask(
        "visit_held",
        HANDING_IN,
        "The visit is already held with other values",
        "A file holds other values than the stored visit, and would replace them; or a typed visit has the "
        "day of another one. Look at the differences, and go on only if the new values are right.",
        stays_on="Nothing that is stored is replaced unasked.",
    ),
    _ask(
        "reach_length_m_empty",
        HANDING_IN,
        "No reach length typed",
        "Without the length of the reach no density can be worked out. Measure it anew, or keep it empty.",
    ),
    _ask(
        "stop_nets_empty",
        HANDING_IN,
        "Stop nets not said",
        "Whether the ends of the reach were closed decides how a removal estimate is read. Choose what was "
        "done.",
    ),
    _ask(
        "crew_lead_empty",
        HANDING_IN,
        "No crew lead named",
        "Somebody has to be asked when the visit is read later. Initials are enough; they are never published.",
        source=PROPOSAL,
    ),
)

_FILES: Final = (
    _ask(
        "unknown_column",
        FILES,
        "A column that is not known",
        "The heading comes near that of a column that the file does not have; as it stands, it is passed over. "
        "Rename it if that column is meant.",
    ),
    _ask(
        "no_heading",
        FILES,
        "A column without a heading",
        "What stands below an empty heading is passed over. Give it a heading, or delete the column.",
    ),
    _ask(
        "no_count_in_line",
        FILES,
        "A line without a count",
        "A line of a workbook has no count, so it makes no row. Write 0 where a taxon was looked for and not "
        "caught: empty is not zero.",
    ),
    _ask(
        "no_catch_on_record",
        FILES,
        "A visit or a pass without a catch",
        "A workbook names a visit or a pass but no fish. Add a row “no fish” with count 0 if it caught nothing.",
    ),
    _ask(
        "unusual_position",
        LISTS,
        "A position of 0 and 0",
        "Latitude 0 and longitude 0 is a place in the ocean. Leave both empty where the position is not known.",
    ),
)
_LISTS: Final = (
    _ask(
        "was_withdrawn",
        LISTS,
        "A note that was withdrawn",
        "A list of land-use notes holds one that a person withdrew. It is left out; write it anew if it holds.",
        stays_on="Nothing is left out of a list without a word.",
    ),
)

ASKING: Final = (*_CATCH, *_PASSES, *_EARLIER, *_HANDING_IN, *_FILES, *_LISTS)
