"""The records: places, taxa, visits and uploads."""

from surveys.models.entry import EntryReceipt, VisitQuestion
from surveys.models.mapping import ColumnMapping, MappedFile
from surveys.models.places import SamplingMethod, Station, StationVersion, Watershed
from surveys.models.season import NotSampled, NotSampledKind, Permit, PlannedVisit, SeasonClose
from surveys.models.taxa import Rank, Taxon, TaxonAlias, Tolerance, TrophicGuild
from surveys.models.uploads import Upload, UploadAnswer, UploadFinding, UploadStatus
from surveys.models.visits import (
    REACH_LIMITS,
    WATER_LIMITS,
    Catch,
    RemovalPass,
    StopNets,
    Visit,
    VisitStatus,
    VisitStep,
)

__all__ = [
    "REACH_LIMITS",
    "WATER_LIMITS",
    "Catch",
    "ColumnMapping",
    "EntryReceipt",
    "MappedFile",
    "NotSampled",
    "NotSampledKind",
    "Permit",
    "PlannedVisit",
    "Rank",
    "RemovalPass",
    "SamplingMethod",
    "SeasonClose",
    "Station",
    "StationVersion",
    "StopNets",
    "Taxon",
    "TaxonAlias",
    "Tolerance",
    "TrophicGuild",
    "Upload",
    "UploadAnswer",
    "UploadFinding",
    "UploadStatus",
    "Visit",
    "VisitQuestion",
    "VisitStatus",
    "VisitStep",
    "Watershed",
]
