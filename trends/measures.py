"""What is measured at a visit and followed over the years: names, units, direction, formula, source.

One home for each fact about a measure. Pages, charts, files and the methods page read it from here.
"""

from dataclasses import dataclass
from typing import Literal

Better = Literal["higher", "lower"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One number that a visit gives.

    ``better`` says which direction is good, where that is agreed; None where rising and falling
    are neither good nor bad. ``per_area`` measures stop at a year whose length or width is in doubt.
    """

    key: str
    name: str
    short: str
    plain: str
    unit: str
    better: Better
    decimals: int
    formula: str
    source: str
    per_area: bool = False
    share: bool = False
    full_scale: tuple[float, float] | None = None

    @property
    def axis_title(self) -> str:
        return f"{self.name} ({self.unit})" if self.unit else self.name


INDEX = Measure(
    key="index_score",
    name="Fish index score",
    short="Index",
    plain="fish health",
    unit="points",
    better="higher",
    decimals=2,
    formula="The points of the method's metrics, put together as the method says; see the method's page.",
    source="The index method named beside the score",
)

MEASURES: tuple[Measure, ...] = (
    INDEX,
    Measure(
        key="native_richness",
        name="Native species",
        short="Native species",
        plain="the number of native species",
        unit="species",
        better="higher",
        decimals=0,
        formula="Number of species caught in all passes that are native here; hybrids and groups above "
        "the species are not counted.",
        source="Common practice; native status from the taxon list",
    ),
    Measure(
        key="richness",
        name="Species",
        short="Species",
        plain="the number of species",
        unit="species",
        better=None,
        decimals=0,
        formula="Number of species caught in all passes, native or not; hybrids and groups above the "
        "species are not counted.",
        source="Common practice",
    ),
    Measure(
        key="total_catch",
        name="Total catch",
        short="Catch",
        plain="the number of fish caught",
        unit="fish",
        better=None,
        decimals=0,
        formula="All fish counted in all passes of the visit.",
        source="Common practice",
    ),
    Measure(
        key="first_pass_catch",
        name="Catch of the first pass",
        short="First pass",
        plain="the number of fish caught in the first pass",
        unit="fish",
        better=None,
        decimals=0,
        formula="All fish counted in pass 1; comparable between years with different numbers of passes.",
        source="Common practice",
    ),
    Measure(
        key="density_per_100_m2",
        name="Fish caught per 100 m²",
        short="Density",
        plain="the number of fish for the area fished",
        unit="fish per 100 m²",
        better=None,
        decimals=1,
        formula="100 × total catch / (reach length × mean width).",
        source="Common practice",
        per_area=True,
    ),
    Measure(
        key="biomass_g_per_m2",
        name="Fish weight per m²",
        short="Biomass",
        plain="the weight of fish for the area fished",
        unit="g per m²",
        better=None,
        decimals=2,
        formula="Weight of all passes / (reach length × mean width); the pass total where one was "
        "weighed, else the sum of the batch weights if every taxon was weighed.",
        source="Common practice",
        per_area=True,
    ),
    Measure(
        key="intolerant_share_pct",
        name="Intolerant fish",
        short="Intolerant",
        plain="the share of fish that bear little disturbance",
        unit="% of fish",
        better="higher",
        decimals=1,
        formula="100 × fish of intolerant taxa / fish whose tolerance is known.",
        source="Tolerance from the taxon list; classes after Barbour et al. 1999, EPA 841-B-99-002",
        share=True,
        full_scale=(0, 100),
    ),
    Measure(
        key="tolerant_share_pct",
        name="Tolerant fish",
        short="Tolerant",
        plain="the share of fish that bear disturbance",
        unit="% of fish",
        better="lower",
        decimals=1,
        formula="100 × fish of tolerant taxa / fish whose tolerance is known.",
        source="Tolerance from the taxon list; classes after Barbour et al. 1999, EPA 841-B-99-002",
        share=True,
        full_scale=(0, 100),
    ),
    Measure(
        key="benthic_richness",
        name="Bottom-dwelling species",
        short="Benthic species",
        plain="the number of bottom-dwelling species",
        unit="species",
        better="higher",
        decimals=0,
        formula="Number of species caught that live on the bottom (sculpins, darters, madtoms, lampreys).",
        source="Trait from the taxon list; after Barbour et al. 1999, EPA 841-B-99-002",
    ),
)

BY_KEY: dict[str, Measure] = {m.key: m for m in MEASURES}

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
