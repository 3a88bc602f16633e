"""The rules that ask about a visit against those made to the same station before. Pure code."""

from typing import Final

from surveys.rules.rule import EARLIER, PROPOSAL, ask, limit
from surveys.said import marked

ASKING_EARLIER: Final = (
    ask(
        "out_of_season",
        EARLIER,
        marked("Outside the season of the method"),
        marked(
            "The visit lies outside the season of its method and will not stand for its year. Check date and "
            "method; keep it if it was made in another season."
        ),
        source=marked("The season that is stored with the sampling method."),
    ),
    ask(
        "unusual_day",
        EARLIER,
        marked("Far from the usual day of the station"),
        marked(
            "Fish differ through the season, so visits are compared best near the same day. Check day and month; "
            "keep it if the visit was early or late. Stations without a usual day are not asked about."
        ),
        limit("days", marked("asks beyond a distance of"), 30, 0, 183, marked("days"), whole=True),
        limit("visits", marked("earlier visits before a day is usual"), 3, 2, 100, whole=True),
        limit(
            "spread",
            marked("no usual day where the middle half of visits spreads beyond"),
            60,
            0,
            366,
            marked("days"),
        ),
    ),
    ask(
        "method_differs",
        EARLIER,
        marked("Another method than last time"),
        marked(
            "Years sampled by different methods are not joined in one trend. Check the code; keep it if the "
            "method was changed."
        ),
    ),
    ask(
        "reach_length_m_differs",
        EARLIER,
        marked("Reach length differs from the station’s"),
        marked("Another reach holds other fish. Check the measurement; keep it if that is what was fished."),
        limit("percent", marked("asks beyond a difference of"), 10, 0, 1_000, "%"),
    ),
    ask(
        "mean_width_m_differs",
        EARLIER,
        marked("Mean width differs from the station’s"),
        marked("Densities rest on the width. Check the measurement; keep it if the water was high or low."),
        limit("percent", marked("asks beyond a difference of"), 30, 0, 1_000, "%"),
    ),
    ask(
        "unusual_count",
        EARLIER,
        marked("Far more fish than ever before"),
        marked(
            "The count of a taxon is far above the largest in a pass at this station so far. Check it against the "
            "field sheet; keep it if it is right."
        ),
        limit("times", marked("asks above the largest count so far by a factor of"), 10, 1, 10_000),
    ),
    ask(
        "readings_repeated",
        EARLIER,
        marked("Readings equal to those of last time"),
        marked(
            "So many equal readings in two years are rarely chance: they may have been copied. Check them against "
            "the field sheet; keep them if they were measured anew."
        ),
        limit("readings", marked("asks from"), 3, 1, 7, marked("equal readings on"), whole=True),
    ),
    ask(
        "basis_differs",
        EARLIER,
        marked("Conductivity of another kind than last time"),
        marked(
            "Conductivity of the water as it is and conductivity worked out for 25 °C are not compared with each "
            "other. Check what the meter shows."
        ),
    ),
    ask(
        "taxon_new_to_watershed",
        EARLIER,
        marked("A taxon new to the watershed"),
        marked(
            "It may be a name mistyped or a fish mistaken for its look-alike, or news. Keep it if a voucher or a "
            "photograph confirms it."
        ),
        source=PROPOSAL,
    ),
    ask(
        "taxon_missing",
        EARLIER,
        marked("A taxon missing that was always there"),
        marked("A line of the sheet may have been left out. Keep it if none was caught."),
        limit(
            "visits",
            marked("earlier visits, all with the taxon, before it asks"),
            5,
            2,
            100,
            marked("visits"),
            whole=True,
        ),
    ),
    ask(
        "richness_drop",
        EARLIER,
        marked("Far fewer taxa than usual"),
        marked("Perhaps only a part of the sheet was typed. Keep it if so few were caught."),
        limit("percent", marked("asks at or below"), 50, 1, 100, marked("% of the usual number")),
        limit("visits", marked("earlier visits before a number is usual"), 3, 1, 100, whole=True),
        limit("usual", marked("only where usual are at least"), 4, 1, 100, marked("taxa")),
    ),
)
