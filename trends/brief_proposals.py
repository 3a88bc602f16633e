"""What is asked by kind of proposal, what a record of fish can say to it, and what it cannot."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One kind of proposal. ``works`` says that something will be built or dug, so before and after matter."""

    key: str
    name: str
    asked: str
    can_say: str
    cannot_say: str
    measures: tuple[str, ...]
    works: bool = True


_COMMON = ("index_score", "native_richness", "intolerant_share_pct", "tolerant_share_pct")

PROPOSALS: tuple[Proposal, ...] = (
    Proposal(
        key="general",
        name="No proposal: how the creek is doing",
        asked="How is this creek doing, and is it getting better or worse?",
        can_say="Its present rating, its direction with how sure that is, and which fish are there.",
        cannot_say="Why it is so, and whether the water is safe for people.",
        measures=_COMMON,
        works=False,
    ),
    Proposal(
        key="trail",
        name="Trail beside or across the creek",
        asked="Is this one of the better reaches, and is there a fish that trampling, silt or lost shade would hurt?",
        can_say="The present rating and its history, sensitive fish that were met, and which stations lie below.",
        cannot_say="What this trail will do before it is there.",
        measures=("index_score", "intolerant_share_pct", "benthic_richness", "native_richness"),
    ),
    Proposal(
        key="road",
        name="Road crossing or culvert",
        asked="Are there fish above it, and is the upper reach poorer than the lower one?",
        can_say="Which fish were met at each station over the years, along the creek from the mouth upwards.",
        cannot_say="That a crossing is the reason for a difference, or whether single fish can pass it.",
        measures=("index_score", "native_richness", "benthic_richness", "total_catch"),
    ),
    Proposal(
        key="stormwater",
        name="Storm-water work",
        asked="Will it show in the fish, and how long must we wait to know?",
        can_say="How large a change could be seen after so many years, against stations where nothing was built.",
        cannot_say="Quick proof. In a suburb studied three years before and three after, no change in the life of the "
        "streams could be seen (Roy et al. 2014, PLoS ONE).",
        measures=_COMMON,
    ),
    Proposal(
        key="building",
        name="Houses, shops or other building",
        asked="Is the creek already slipping, is it one of the last good ones, and what did earlier building go with?",
        can_say="Rating, direction, place among the county's creeks, and what else happened when others built.",
        cannot_say="How much hard surface is safe. For scale: in Maryland's Eastern Piedmont fish were tied most "
        "closely to urban land above a quarter of the area (Morgan & Cushman 2005, J. N. Am. Benthol. Soc. "
        "24:643-655).",
        measures=_COMMON,
    ),
    Proposal(
        key="restoration",
        name="Stream restoration",
        asked="Did the fish come back, or could they?",
        can_say="How much of a change could be seen after so many years, and which fish live near enough to come in.",
        cannot_say="Recovery from one good year.",
        measures=("index_score", "native_richness", "benthic_richness", "intolerant_share_pct"),
    ),
    Proposal(
        key="acquisition",
        name="Park acquisition or priority list",
        asked="Which creeks first?",
        can_say="Rating, direction, how sure it is and the years behind it, side by side.",
        cannot_say="What the land is worth.",
        measures=_COMMON,
        works=False,
    ),
)

BY_KEY: dict[str, Proposal] = {p.key: p for p in PROPOSALS}
