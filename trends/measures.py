"""What is measured at a visit and followed over the years: names, units, direction, formula, source.

One home for each fact about a measure. Pages, charts, files and the methods page read it from here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from surveys.language import marked, told

Better = Literal["higher", "lower"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One number that a visit gives. Its words are read in the language of the reader.

    ``better`` says which direction is good, where that is agreed; None where rising and falling
    are neither good nor bad. ``per_area`` measures stop at a year whose length or width is in doubt.
    """

    key: str
    english_name: str
    english_short: str
    english_plain: str
    english_unit: str
    better: Better
    decimals: int
    english_formula: str
    source: str
    per_area: bool = False
    share: bool = False
    full_scale: tuple[float, float] | None = None
    # A score by an index method: it has that method's scale, classes and versions.
    is_index: bool = False

    @property
    def name(self) -> str:
        return told(self.english_name)

    @property
    def short(self) -> str:
        return told(self.english_short)

    @property
    def plain(self) -> str:
        """How it is named inside a sentence."""
        return told(self.english_plain)

    @property
    def unit(self) -> str:
        return told(self.english_unit)

    @property
    def formula(self) -> str:
        return told(self.english_formula)

    @property
    def axis_title(self) -> str:
        return f"{self.name} ({self.unit})" if self.unit else self.name


INDEX = Measure(
    key="index_score",
    english_name=marked("Fish index score"),
    english_short=marked("Index"),
    english_plain=marked("fish health"),
    english_unit=marked("points"),
    better="higher",
    decimals=2,
    english_formula=marked(
        "The points of the method's metrics, put together as the method says; see the method's page."
    ),
    source="The index method named beside the score",
    is_index=True,
)

# Where a species lives whose places are withheld, the index that everybody reads is made of the fish that are
# listed (see ``trends.public_figures``); those who may see all places have this one beside it.
INDEX_ALL_FISH = Measure(
    key="index_score_all_fish",
    english_name=marked("Fish index score, all fish"),
    english_short=marked("Index, all fish"),
    english_plain=marked("fish health (all fish counted)"),
    english_unit=marked("points"),
    better="higher",
    decimals=2,
    english_formula=marked(
        "The same score made of all fish, those whose places are withheld among them; not published. It is "
        "followed where such a fish lives, and elsewhere the two are one."
    ),
    source="The index method named beside the score",
    is_index=True,
)

MEASURES: tuple[Measure, ...] = (
    INDEX,
    Measure(
        key="native_richness",
        english_name=marked("Native species"),
        english_short=marked("Native species"),
        english_plain=marked("the number of native species"),
        english_unit=marked("species"),
        better="higher",
        decimals=0,
        english_formula=marked(
            "Number of species caught in all passes that are native here; hybrids and groups above "
            "the species are not counted."
        ),
        source="Common practice; native status from the taxon list",
    ),
    Measure(
        key="richness",
        english_name=marked("Species"),
        english_short=marked("Species"),
        english_plain=marked("the number of species"),
        english_unit=marked("species"),
        better=None,
        decimals=0,
        english_formula=marked(
            "Number of species caught in all passes, native or not; hybrids and groups above the "
            "species are not counted."
        ),
        source="Common practice",
    ),
    Measure(
        key="total_catch",
        english_name=marked("Total catch"),
        english_short=marked("Catch"),
        english_plain=marked("the number of fish caught"),
        english_unit=marked("fish"),
        better=None,
        decimals=0,
        english_formula=marked("All fish counted in all passes of the visit."),
        source="Common practice",
    ),
    Measure(
        key="first_pass_catch",
        english_name=marked("Catch of the first pass"),
        english_short=marked("First pass"),
        english_plain=marked("the number of fish caught in the first pass"),
        english_unit=marked("fish"),
        better=None,
        decimals=0,
        english_formula=marked(
            "All fish counted in pass 1; comparable between years with different numbers of passes."
        ),
        source="Common practice",
    ),
    Measure(
        key="density_per_100_m2",
        english_name=marked("Fish caught per 100 m²"),
        english_short=marked("Density"),
        english_plain=marked("the number of fish for the area fished"),
        english_unit=marked("fish per 100 m²"),
        better=None,
        decimals=1,
        english_formula=marked("100 × total catch / (reach length × mean width)."),
        source="Common practice",
        per_area=True,
    ),
    Measure(
        key="biomass_g_per_m2",
        english_name=marked("Fish weight per m²"),
        english_short=marked("Biomass"),
        english_plain=marked("the weight of fish for the area fished"),
        english_unit=marked("g per m²"),
        better=None,
        decimals=2,
        english_formula=marked(
            "Weight of all passes / (reach length × mean width); the pass total where one was "
            "weighed, else the sum of the batch weights if every taxon was weighed."
        ),
        source="Common practice",
        per_area=True,
    ),
    Measure(
        key="intolerant_share_pct",
        english_name=marked("Intolerant fish"),
        english_short=marked("Intolerant"),
        english_plain=marked("the share of fish that bear little disturbance"),
        english_unit=marked("% of fish"),
        better="higher",
        decimals=1,
        english_formula=marked("100 × fish of intolerant taxa / fish whose tolerance is known."),
        source="Tolerance from the taxon list; classes after Barbour et al. 1999, EPA 841-B-99-002",
        share=True,
        full_scale=(0, 100),
    ),
    Measure(
        key="tolerant_share_pct",
        english_name=marked("Tolerant fish"),
        english_short=marked("Tolerant"),
        english_plain=marked("the share of fish that bear disturbance"),
        english_unit=marked("% of fish"),
        better="lower",
        decimals=1,
        english_formula=marked("100 × fish of tolerant taxa / fish whose tolerance is known."),
        source="Tolerance from the taxon list; classes after Barbour et al. 1999, EPA 841-B-99-002",
        share=True,
        full_scale=(0, 100),
    ),
    Measure(
        key="benthic_richness",
        english_name=marked("Bottom-dwelling species"),
        english_short=marked("Benthic species"),
        english_plain=marked("the number of bottom-dwelling species"),
        english_unit=marked("species"),
        better="higher",
        decimals=0,
        english_formula=marked(
            "Number of species caught that live on the bottom (sculpins, darters, madtoms, lampreys)."
        ),
        source="Trait from the taxon list; after Barbour et al. 1999, EPA 841-B-99-002",
    ),
)

# In the order they are offered to those who may see all places; where the first exists it is theirs.
EVERY_MEASURE: tuple[Measure, ...] = (INDEX_ALL_FISH, *MEASURES)
BY_KEY: dict[str, Measure] = {m.key: m for m in EVERY_MEASURE}


def leading(offered: Sequence[Measure]) -> Measure:
    """The measure shown where none is asked for: the index that this reader may see, else the first."""
    return next((m for m in offered if m.is_index), offered[0] if offered else INDEX)


# Measures that are kept and shown for a visit but not followed over the years.
GUILDS = (
    "invertivore",
    "insectivore",
    "omnivore",
    "generalist",
    "herbivore",
    "top predator",
    "filter feeder",
)
