"""How many fish of each kind the demo's creeks hold, in good and in poor condition.

Densities and weights are invented so that the catches look like those of small creeks; they are no
measurements. Traits are not here: they stand in ``fixtures/taxa.csv`` with their source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Kind:
    """Fish per m2 at condition 1 and 0, mean weight of a grown fish, share of young, ease of capture."""

    name: str
    good: float
    poor: float
    weight_g: float
    young: float = 0.15
    ease: float = 1.0
    least_catchment_km2: float = 0.0
    only: tuple[str, ...] = ()


PIEDMONT = (
    Kind("Rhinichthys atratulus", 0.40, 0.085, 2.2, 0.30),
    Kind("Rhinichthys cataractae", 0.24, 0.002, 4.2, 0.12, 0.9),
    Kind("Clinostomus funduloides", 0.24, 0.001, 3.0, 0.18),
    Kind("Semotilus atromaculatus", 0.09, 0.070, 12.0, 0.22),
    Kind("Catostomus commersonii", 0.045, 0.016, 48.0, 0.15),
    Kind("Campostoma anomalum", 0.13, 0.006, 8.0, 0.10, least_catchment_km2=8),
    Kind("Exoglossum maxillingua", 0.05, 0.0008, 10.0, 0.12, least_catchment_km2=6),
    Kind("Luxilus cornutus", 0.13, 0.003, 9.0, 0.12, least_catchment_km2=6),
    Kind("Nocomis micropogon", 0.03, 0.0004, 21.0, 0.10, least_catchment_km2=14),
    Kind("Notropis hudsonius", 0.03, 0.002, 4.0, 0.10, least_catchment_km2=20),
    Kind("Notropis procne", 0.05, 0.002, 1.6, 0.10, least_catchment_km2=12),
    Kind("Cyprinella analostana", 0.03, 0.004, 3.0, 0.10, least_catchment_km2=18),
    Kind("Cottus caeruleomentum", 0.27, 0.00008, 4.0, 0.20, 0.75),
    Kind("Etheostoma olmstedi", 0.09, 0.0009, 2.0, 0.20, 0.8),
    Kind("Etheostoma flabellare", 0.07, 0.0001, 1.6, 0.20, 0.8),
    Kind("Percina peltata", 0.02, 0.00003, 3.5, 0.10, 0.8, 12),
    Kind("Noturus insignis", 0.03, 0.00015, 9.0, 0.12, 0.7),
    Kind("Hypentelium nigricans", 0.022, 0.00008, 65.0, 0.15, 1.0, 9),
    Kind("Lepomis auritus", 0.030, 0.018, 19.0, 0.20),
    Kind("Lepomis gibbosus", 0.006, 0.010, 15.0, 0.20),
    Kind("Lepomis cyanellus", 0.002, 0.035, 14.0, 0.25),
    Kind("Lepomis macrochirus", 0.002, 0.028, 12.0, 0.25),
    Kind("Pimephales notatus", 0.018, 0.035, 2.8, 0.15),
    Kind("Pimephales promelas", 0.0002, 0.008, 2.4, 0.15),
    Kind("Anguilla rostrata", 0.028, 0.006, 62.0, 0.0, 0.7),
    Kind("Micropterus dolomieu", 0.007, 0.0003, 85.0, 0.3, 1.0, 12),
    Kind("Micropterus nigricans", 0.0008, 0.003, 60.0, 0.4),
    Kind("Ameiurus natalis", 0.0015, 0.004, 52.0, 0.2, 0.8),
    Kind("Fundulus diaphanus", 0.001, 0.009, 3.0, 0.1),
    Kind("Carassius auratus", 0.00001, 0.002, 70.0, 0.0),
    Kind("Salmo trutta", 0.007, 0.00001, 95.0, 0.2, only=("OSTR-03", "OSTR-04")),
    Kind("Salvelinus fontinalis", 0.030, 0.00001, 38.0, 0.3, only=("OSTR-04",)),
)

COASTAL_PLAIN = (
    Kind("Umbra pygmaea", 0.14, 0.06, 3.5, 0.2),
    Kind("Anguilla rostrata", 0.11, 0.05, 48.0, 0.0, 0.7),
    Kind("Aphredoderus sayanus", 0.08, 0.02, 5.0, 0.15),
    Kind("Erimyzon oblongus", 0.04, 0.0006, 42.0, 0.2),
    Kind("Etheostoma olmstedi", 0.16, 0.02, 1.9, 0.2, 0.8),
    Kind("Noturus gyrinus", 0.05, 0.004, 5.0, 0.1, 0.7),
    Kind("Lampetra aepyptera", 0.05, 0.002, 3.0, 0.0, 0.6),
    Kind("Enneacanthus gloriosus", 0.06, 0.02, 2.6, 0.2),
    Kind("Lepomis auritus", 0.04, 0.05, 17.0, 0.2),
    Kind("Lepomis gibbosus", 0.04, 0.06, 14.0, 0.2),
    Kind("Lepomis macrochirus", 0.02, 0.07, 12.0, 0.25),
    Kind("Notemigonus crysoleucas", 0.03, 0.06, 7.0, 0.2),
    Kind("Esox americanus", 0.03, 0.01, 35.0, 0.2),
    Kind("Semotilus corporalis", 0.06, 0.01, 14.0, 0.2),
    Kind("Hybognathus regius", 0.02, 0.004, 4.0, 0.1),
    Kind("Notropis bifrenatus", 0.02, 0.0005, 1.1, 0.1, only=("LUMM-01",)),
    Kind("Gambusia holbrooki", 0.03, 0.22, 0.6, 0.2),
    Kind("Ameiurus nebulosus", 0.01, 0.02, 55.0, 0.2, 0.8),
)

POOLS = {"eastern_piedmont": PIEDMONT, "coastal_plain": COASTAL_PLAIN}
