"""Every caution that the site raises by itself, in order of its code."""

from surveys.said import marked
from trends.glossary.caution_entry import CautionEntry
from trends.glossary.cautions_record import RECORD
from trends.glossary.cautions_verdict import VERDICT
from trends.outcomes import Level

CAUTIONS: tuple[CautionEntry, ...] = tuple(sorted((*RECORD, *VERDICT), key=lambda entry: entry.code))

LEVEL_MEANING: dict[Level, str] = {
    "stop": marked("no direction is stated"),
    "warn": marked("the direction is stated with this beside it"),
    "note": marked("listed for the reader"),
}
