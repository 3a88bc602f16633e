"""What is asked by kind of proposal, what a record of fish can say to it, and what it cannot."""

from dataclasses import dataclass

from surveys.language import told
from surveys.said import marked


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One kind of proposal. ``works`` says that something will be built or dug, so before and after matter.

    Its words are read in the language of the reader.
    """

    key: str
    english_name: str
    english_asked: str
    english_can_say: str
    english_cannot_say: str
    measures: tuple[str, ...]
    works: bool = True

    @property
    def name(self) -> str:
        return told(self.english_name)

    @property
    def asked(self) -> str:
        return told(self.english_asked)

    @property
    def can_say(self) -> str:
        return told(self.english_can_say)

    @property
    def cannot_say(self) -> str:
        return told(self.english_cannot_say)


_COMMON = ("index_score", "native_richness", "intolerant_share_pct", "tolerant_share_pct")

PROPOSALS: tuple[Proposal, ...] = (
    Proposal(
        key="general",
        english_name=marked("No proposal: how the creek is doing"),
        english_asked=marked("How is this creek doing, and is it getting better or worse?"),
        english_can_say=marked(
            "Its present rating, its direction with how sure that is, and which fish are there."
        ),
        english_cannot_say=marked("Why it is so, and whether the water is safe for people."),
        measures=_COMMON,
        works=False,
    ),
    Proposal(
        key="trail",
        english_name=marked("Trail beside or across the creek"),
        english_asked=marked(
            "Is this one of the better reaches, and is there a fish that trampling, silt or lost shade would hurt?"
        ),
        english_can_say=marked(
            "The present rating and its history, sensitive fish that were met, and which stations lie below."
        ),
        english_cannot_say=marked("What this trail will do before it is there."),
        measures=("index_score", "intolerant_share_pct", "benthic_richness", "native_richness"),
    ),
    Proposal(
        key="road",
        english_name=marked("Road crossing or culvert"),
        english_asked=marked("Are there fish above it, and is the upper reach poorer than the lower one?"),
        english_can_say=marked(
            "Which fish were met at each station over the years, along the creek from the mouth upwards."
        ),
        english_cannot_say=marked(
            "That a crossing is the reason for a difference, or whether single fish can pass it."
        ),
        measures=("index_score", "native_richness", "benthic_richness", "total_catch"),
    ),
    Proposal(
        key="stormwater",
        english_name=marked("Storm-water work"),
        english_asked=marked("Will it show in the fish, and how long must we wait to know?"),
        english_can_say=marked(
            "How large a change could be seen after so many years, against stations where nothing was built."
        ),
        english_cannot_say=marked(
            "Quick proof. In a suburb studied three years before and three after, no change in the life of the "
            "streams could be seen (Roy et al. 2014, PLoS ONE)."
        ),
        measures=_COMMON,
    ),
    Proposal(
        key="building",
        english_name=marked("Houses, shops or other building"),
        english_asked=marked(
            "Is the creek already slipping, is it one of the last good ones, and what did earlier building go with?"
        ),
        english_can_say=marked(
            "Rating, direction, place among the county's creeks, and what else happened when others built."
        ),
        english_cannot_say=marked(
            "How much hard surface is safe. For scale: in Maryland's Eastern Piedmont fish were tied most "
            "closely to urban land above a quarter of the area (Morgan & Cushman 2005, J. N. Am. Benthol. Soc. "
            "24:643-655)."
        ),
        measures=_COMMON,
    ),
    Proposal(
        key="restoration",
        english_name=marked("Stream restoration"),
        english_asked=marked("Did the fish come back, or could they?"),
        english_can_say=marked(
            "How much of a change could be seen after so many years, and which fish live near enough to come in."
        ),
        english_cannot_say=marked("Recovery from one good year."),
        measures=("index_score", "native_richness", "benthic_richness", "intolerant_share_pct"),
    ),
    Proposal(
        key="acquisition",
        english_name=marked("Park acquisition or priority list"),
        english_asked=marked("Which creeks first?"),
        english_can_say=marked("Rating, direction, how sure it is and the years behind it, side by side."),
        english_cannot_say=marked("What the land is worth."),
        measures=_COMMON,
        works=False,
    ),
)

BY_KEY: dict[str, Proposal] = {p.key: p for p in PROPOSALS}
