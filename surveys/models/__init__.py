"""The records: places, taxa, visits and uploads."""

from surveys.models.checks import CheckRuleSetting
from surveys.models.crew import CrewMember
from surveys.models.entry import EntryReceipt, VisitQuestion
from surveys.models.field_words import BottomVisible, ConductivityBasis, SafetyCheck, StopNets, Waveform
from surveys.models.mapping import ColumnMapping, MappedFile
from surveys.models.places import SamplingMethod, Station, StationVersion, Watershed
from surveys.models.season import NotSampled, NotSampledKind, Permit, PlannedVisit, SeasonClose
from surveys.models.taxa import Rank, Taxon, TaxonAlias, Tolerance, TrophicGuild
from surveys.models.uploads import Upload, UploadAnswer, UploadFinding, UploadName, UploadStatus
from surveys.models.visits import (
    GEAR_LIMITS,
    REACH_LIMITS,
    WATER_LIMITS,
    Catch,
    RemovalPass,
    Visit,
    VisitStatus,
    VisitStep,
)
from surveys.models.vouchers import Voucher, VoucherKind

__all__ = [
    "GEAR_LIMITS",
    "REACH_LIMITS",
    "WATER_LIMITS",
    "BottomVisible",
    "Catch",
    "CheckRuleSetting",
    "ColumnMapping",
    "ConductivityBasis",
    "CrewMember",
    "EntryReceipt",
    "MappedFile",
    "NotSampled",
    "NotSampledKind",
    "Permit",
    "PlannedVisit",
    "Rank",
    "RemovalPass",
    "SafetyCheck",
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
    "UploadName",
    "UploadStatus",
    "Visit",
    "VisitQuestion",
    "VisitStatus",
    "VisitStep",
    "Voucher",
    "VoucherKind",
    "Watershed",
    "Waveform",
]
