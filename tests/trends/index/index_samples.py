"""Catches used by the tests of the index: invented, with the layout of the worked scorings."""

from __future__ import annotations

from typing import Any


def piedmont(**changes: Any) -> dict[str, Any]:
    """A catch of 20 fish, 9 of them tolerant: 45 %, exactly on a cut point."""
    sample: dict[str, Any] = {
        "method": "maryland_fish_2005",
        "stratum": "eastern_piedmont",
        "reach_m": 75,
        "mean_width_m": 4,
        "catchment_acres": 1850,
        "biomass_g_per_pass": [1800, 600],
        "species": {
            "Semotilus atromaculatus": {"passes": [7, 2], "tolerance": "tolerant", "feeding": "generalist"},
            "Clinostomus funduloides": {
                "passes": [6, 0], "tolerance": "intolerant", "feeding": "invertivore", "lithophil": 1,
            },
            "Cottus caeruleomentum": {
                "passes": [4, 1], "tolerance": "moderate", "feeding": "insectivore", "benthic": 1,
            },
        },
    }  # fmt: skip
    sample.update(changes)
    return sample


def coldwater(species: dict[str, Any]) -> dict[str, Any]:
    return {"method": "wisconsin_coldwater_1996", "species": species}


RICHNESS = {
    "total_species": {"maximum": 12},
    "darters": {"maximum": 3},
    "sunfishes": {"maximum": 3},
    "suckers": {"maximum": 3},
    "intolerants": {"maximum": 3},
}
NUMBER = {"individuals": {"bands": [
    {"points": 5, "at_least": 100}, {"points": 3, "at_least": 50}, {"points": 1, "otherwise": True},
]}}  # fmt: skip
