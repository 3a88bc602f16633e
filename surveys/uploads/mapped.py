"""Files of another layout: kept as they came, read by a mapping, and handed to the usual check as a season
file. One transaction each."""

import hashlib
import uuid
from collections.abc import Sequence
from pathlib import PurePath
from typing import Any

from django.conf import settings
from django.db import transaction

from surveys.check_settings import rules_in_force
from surveys.models import ColumnMapping, MappedFile, Upload, UploadStatus
from surveys.said import said
from surveys.uploads.commit import NotTaken, check_upload, take
from surveys.uploads.findings import ERROR, Finding, has_errors
from surveys.uploads.mapping import Mapped, convert
from surveys.uploads.mapping_proposal import fits, propose
from surveys.uploads.mapping_spec import FileMapping, from_plain
from surveys.uploads.reader import RawSheet, read_sheets
from surveys.uploads.store import read_known

MOST_FILES = 60


def sheets_of(name: str, content: bytes) -> tuple[tuple[RawSheet, ...], tuple[Finding, ...]]:
    return read_sheets(
        name, content, limit_bytes=settings.UPLOAD_LIMIT_BYTES, limit_rows=settings.UPLOAD_LIMIT_ROWS
    )


def receive_files(files: Sequence[tuple[str, bytes]], *, by: Any) -> uuid.UUID:
    """Keep files as they came and read those that a kept mapping fits; returns the mark of the batch."""
    batch = uuid.uuid4()
    kept = [(mapping, from_plain(mapping.spec)) for mapping in ColumnMapping.objects.order_by("-changed_at")]
    for name, content in files:
        file = MappedFile.objects.create(
            batch=batch,
            file_name=name[-255:],
            sha256=hashlib.sha256(content).hexdigest(),
            content=content,
            sent_by=by,
        )
        sheets, findings = sheets_of(file.file_name, content)
        if has_errors(findings):
            file.findings = [finding.as_dict() for finding in findings]
            file.save(update_fields=["findings"])
            continue
        found = next(((one, spec) for one, spec in kept if fits(spec, sheets)), None)
        if found:
            read_by(file, found[1], name=found[0].name, by=by)
    return batch


def proposal(file: MappedFile, sheets: Sequence[RawSheet]) -> FileMapping:
    """The mapping the file was read by, else one guessed from its headings."""
    return from_plain(file.spec) if file.spec else propose(sheets, set(read_known([]).taxa))


def keep_mapping(file: MappedFile, mapping: FileMapping, *, name: str, by: Any) -> int:
    """Keep a mapping by name, and read by it every waiting file of the batch that it fits.

    Returns
    -------
    int : number of files that were read
    """
    with transaction.atomic():
        ColumnMapping.objects.update_or_create(
            name=name, defaults={"spec": mapping.as_plain(), "made_by": by}
        )
    number = 0
    for other in MappedFile.objects.filter(batch=file.batch):
        if other.upload and other.upload.status != UploadStatus.CHECKED:
            continue
        sheets, findings = sheets_of(other.file_name, bytes(other.content))
        if other.pk == file.pk or (not has_errors(findings) and not other.upload and fits(mapping, sheets)):
            read_by(other, mapping, name=name, by=by)
            number += 1
    return number


def read_by(file: MappedFile, mapping: FileMapping, *, name: str, by: Any) -> Mapped:
    """Read one file by a mapping; where nothing is wrong with that, check what it gave as a season file."""
    sheets, findings = sheets_of(file.file_name, bytes(file.content))
    mapped = convert(sheets, mapping)
    told = rules_in_force().raised([*findings, *mapped.findings])
    if not mapped.rows and not has_errors(told):
        told.append(
            Finding(
                level=ERROR,
                code="no_row",
                message=said("By this mapping the file holds no catch."),
                remedy=said("Say which columns hold station, day, taxon and count."),
            )
        )
    with transaction.atomic():
        file.mapping_name, file.spec = name, mapping.as_plain()
        file.findings = [finding.as_dict() for finding in told]
        file.sources = [list(source) for source in mapped.sources]
        file.upload = None
        if not has_errors(told):
            file.upload, _ = check_upload(f"{PurePath(file.file_name).stem}.csv", mapped.as_csv(), by=by)
        file.save()
    return mapped


def take_batch(batch: uuid.UUID, *, by: Any) -> tuple[list[Upload], list[tuple[Upload, str]]]:
    """Take every checked file of a batch, each whole or not at all.

    Returns
    -------
    The uploads taken, and those left with the reason.
    """
    taken: list[Upload] = []
    left: list[tuple[Upload, str]] = []
    for file in MappedFile.objects.filter(batch=batch, upload__status=UploadStatus.CHECKED):
        assert file.upload is not None
        try:
            done = take(file.upload, by=by)
        except NotTaken as refused:
            left.append((file.upload, str(refused)))
        else:
            if done.changed:
                taken.append(file.upload)
    return taken, left
