"""From a method file to a version in use: kept as a draft, published, taken in or out of use, chosen."""

import datetime
import hashlib
from collections import Counter
from typing import Any

import pghistory
from django.db import transaction
from django.utils import timezone

from surveys.models import Station, Visit
from surveys.said import marked, said
from trends.index import Method, load_method
from trends.index.method import method_codes
from trends.judged_anew import methods_changed
from trends.models import IndexMethodVersion, MethodCheck, StratumMethod
from trends.shelf import Shelf, shelf, stratum_id


class NotPublished(Exception):  # noqa: N818 - the name says what happened
    """A step that the rules do not allow; the message says how to go on."""


def keep_draft(method: Method, text: str, *, by: Any) -> IndexMethodVersion:
    """Keep a checked method file as a draft; a draft of the same code and version is replaced.

    Raises
    ------
    NotPublished : the code and version are those of a published or a shipped version
    """
    if method.code in method_codes() and load_method(method.code).version == method.version:
        raise NotPublished(
            said(
                "Version {written_version} of {written_code} is the one that came with the program and stays as it "
                "is. Give the file another version.",
                written_version=method.version,
                written_code=method.code,
            )
        )
    with transaction.atomic():
        row = (
            IndexMethodVersion.objects.select_for_update()
            .filter(code=method.code, version=method.version)
            .first()
        ) or IndexMethodVersion(code=method.code, version=method.version)
        if row.published_at is not None:
            raise NotPublished(
                said(
                    "Version {written_version} of {written_code} is published and stays as it is. Give the file "
                    "another version.",
                    written_version=method.version,
                    written_code=method.code,
                )
            )
        row.title, row.text, row.brought_by = method.title, text, by
        row.digest = hashlib.sha256(text.encode()).hexdigest()
        row.save()
    return row


def publish(
    draft: IndexMethodVersion,
    *,
    by: Any,
    note: str,
    in_use: bool,
    applies_from: datetime.date | None = None,
) -> int:
    """Publish a draft, and say from which visits on it scores.

    Returns
    -------
    int : number of visits to be scored anew; the scores they had are kept as earlier scores

    Raises
    ------
    NotPublished : published already, or it cannot give a score and is to be used
    """
    with transaction.atomic(), pghistory.context(reason=note):
        row = IndexMethodVersion.objects.select_for_update().get(pk=draft.pk)
        if row.published_at is not None:
            raise NotPublished(marked("This version is published already."))
        row.published_at, row.published_by, row.note = timezone.now(), by, note
        return _set_use(row, in_use=in_use, applies_from=applies_from)


def change_use(
    version: IndexMethodVersion, *, reason: str, in_use: bool, applies_from: datetime.date | None = None
) -> int:
    """Take a published version in or out of use, or let it begin on another day."""
    with transaction.atomic(), pghistory.context(reason=reason):
        row = IndexMethodVersion.objects.select_for_update().get(pk=version.pk)
        if row.published_at is None:
            raise NotPublished(marked("A draft scores nothing. Publish it first."))
        return _set_use(row, in_use=in_use, applies_from=applies_from)


def _set_use(row: IndexMethodVersion, *, in_use: bool, applies_from: datetime.date | None) -> int:
    from trends.shelf import draft_method

    if in_use and not draft_method(row).usable:
        raise NotPublished(
            marked(
                "This method cannot give a score as it stands, so it can be published but not used. "
                "Its page says what is missing."
            )
        )
    row.in_use, row.applies_from = in_use, applies_from if in_use else None
    row.save()
    return methods_changed()


def discard_draft(draft: IndexMethodVersion) -> None:
    """Drop a draft. What is published stays, since scores may name it."""
    with transaction.atomic():
        row = IndexMethodVersion.objects.select_for_update().get(pk=draft.pk)
        if row.published_at is not None:
            raise NotPublished(
                marked("A published version is kept, since scores may name it. It can be taken out of use.")
            )
        row.delete()


# --- the method of each stratum ---------------------------------------------------------------------


def strata_here() -> dict[str, int]:
    """Strata that stations or choices name, by their id, with the number of accepted visits."""
    found: Counter[str] = Counter(dict.fromkeys(StratumMethod.objects.values_list("stratum", flat=True), 0))
    for words in Station.objects.exclude(stratum="").order_by().values_list("stratum", flat=True).distinct():
        found[stratum_id(words)] += 0
    for words in Visit.objects.accepted().order_by().values_list("station__stratum", flat=True):
        if words:
            found[stratum_id(words)] += 1
    return dict(sorted(found.items()))


def methods_with(stratum: str, standing: Shelf) -> list[Method]:
    """Usable methods in use today that have a stratum of this name."""
    held = [standing.on(code, datetime.date.today()) for code in standing.codes()]
    methods = [one.method() for one in held if one is not None]
    return [
        method
        for method in methods
        if method.usable and any(stratum_id(code) == stratum for code in method.strata)
    ]


def choose_methods(choices: dict[str, str | None], *, by: Any) -> int:
    """Choose the method of some strata: a code, "" for none, None for the rule without a choice.

    Returns
    -------
    int : number of visits to be scored anew
    """
    with transaction.atomic():
        standing = shelf()
        for stratum, code in choices.items():
            if code and code not in {method.code for method in methods_with(stratum, standing)}:
                raise NotPublished(
                    said(
                        "{written_code} has no usable version in use for the stratum {written_stratum}.",
                        written_code=code,
                        written_stratum=stratum,
                    )
                )
            if code is None:
                StratumMethod.objects.filter(stratum=stratum).delete()
            else:
                StratumMethod.objects.update_or_create(
                    stratum=stratum, defaults={"method_code": code, "chosen_by": by}
                )
        return methods_changed()


def record_check(check: MethodCheck, *, by: Any) -> None:
    """Write down that a named person compared a version's figures with the report."""
    check.recorded_by = by
    check.full_clean()
    check.save()
