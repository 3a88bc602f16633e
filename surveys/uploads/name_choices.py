"""What a person said the names of a file mean: kept with the file, used whenever it is read again."""

from collections.abc import Collection, Mapping
from typing import Any

import pghistory
from django.db import transaction

from surveys.models import Taxon, TaxonAlias, Upload, UploadName, UploadStatus
from surveys.said import said
from surveys.uploads.plan import Plan, prepare
from surveys.uploads.values import fold

_LONGEST_NAME = 200  # of another name on the list of taxa


def names_of(upload: Upload) -> dict[str, int]:
    """What was said of the names of an upload: folded name -> key of the taxon."""
    if upload._state.adding:
        return {}
    return dict(upload.names.values_list("name", "taxon_id"))


def prepare_upload(upload: Upload) -> Plan:
    """The plan of a file that was sent, with what was said of its names."""
    return prepare(upload.file_name, bytes(upload.content), names=names_of(upload))


def store_names(upload: Upload, plan: Plan, names: Mapping[str, int], *, by: Any) -> None:
    """Keep what was said of names that stand in the file."""
    written = {fold(one.value): one.value for one in plan.findings if one.code == "name_confirmed"}
    for name in names.keys() & written.keys():
        UploadName.objects.update_or_create(
            upload=upload, name=name, defaults={"written": written[name], "taxon_id": names[name], "by": by}
        )


def keep_names(
    upload: Upload, meant: Mapping[str, int | None], *, by: Any, remember: Collection[str] = ()
) -> Plan:
    """Keep what a person said of names in a file that waits, and read the file again.

    Parameters
    ----------
    meant : folded name -> key of the taxon, or None where the file is to be corrected
    remember : folded names that are to be other names of their taxon from now on

    Returns
    -------
    Plan : of the file as it reads now; nothing is changed once the file is taken or laid aside
    """
    with transaction.atomic():
        locked = Upload.objects.select_for_update().get(pk=upload.pk)
        plan = prepare_upload(locked)
        if locked.status != UploadStatus.CHECKED:
            return plan
        written = {fold(one.text): one.text for one in plan.open_names}
        written |= {one.name: one.written for one in locked.names.all()}
        for name in meant.keys() & written.keys():
            key = meant[name]
            if key is None:
                locked.names.filter(name=name).delete()
                continue
            UploadName.objects.update_or_create(
                upload=locked,
                name=name,
                defaults={
                    "written": written[name],
                    "taxon_id": key,
                    "by": by,
                    "remembered": name in remember and _remember(written[name], key, locked),
                },
            )
        return prepare_upload(locked)


def _remember(written: str, key: int, upload: Upload) -> bool:
    """Add a spelling to the other names of a taxon, unless some taxon goes by it already."""
    name = " ".join(written.split())
    taken = (
        Taxon.objects.filter(scientific_name__iexact=name).exists()
        or TaxonAlias.objects.filter(name__iexact=name).exists()
    )
    if taken or len(name) > _LONGEST_NAME:
        return False
    with pghistory.context(reason=said("a spelling in the file {written}", written=upload.file_name)):
        TaxonAlias.objects.create(taxon_id=key, name=name)
    return True
