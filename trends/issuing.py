"""Briefs that were handed out: kept with their words and data, and compared with today's when opened."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from surveys.models import Watershed
from surveys.said import marked, said
from trends import brief
from trends.models import IssuedBrief

LONGEST_ANSWER = 600
# The very same brief, asked for by the same person within this time, is a form sent twice.
SAME_CLICK = datetime.timedelta(minutes=1)


class NotIssued(Exception):  # noqa: N818 - an answer to the person
    """The brief could not be issued; the message says why."""


def issue_brief(
    watershed: Watershed,
    params: dict[str, list[str]],
    *,
    by: Any,
    title: str = "",
    answers: Mapping[str, str] | None = None,
    seen_hash: str = "",
) -> IssuedBrief:
    """Keep a brief as it stands now. One sent twice, by a second click, is kept once.

    Parameters
    ----------
    answers : what the planner writes beside a caution, by its code; a caution itself always stays
    seen_hash : hash of the brief the planner looked at; another one now means that the data moved on
    """
    with transaction.atomic():
        # Two requests of one double click wait for each other here.
        Watershed.objects.select_for_update().get(pk=watershed.pk)
        content, _ = brief.for_creek(watershed, params)
        if content is None:
            raise NotIssued(marked("There is no accepted visit to write a brief about."))
        found = brief.content_hash(content)
        if seen_hash and seen_hash != found:
            raise NotIssued(
                marked(
                    "The data changed while you were reading. Look at the brief as it is now, then issue it."
                )
            )
        codes = {c["code"] for c in content["cautions"]}
        kept = {
            code: " ".join(text.split())[:LONGEST_ANSWER]
            for code, text in (answers or {}).items()
            if code in codes and text.strip()
        }
        told = {
            "watershed": watershed,
            "title": " ".join(title.split())[:200],
            "answers": kept,
            "content_hash": found,
            "issued_by": by,
        }
        just_now = timezone.now() - SAME_CLICK
        if once := IssuedBrief.objects.filter(**told, issued_at__gte=just_now).first():
            return once
        return IssuedBrief.objects.create(
            **told,
            content=content,
            data_version=content["data_version"],
            issued_by_name=by.get_full_name() or by.get_username(),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Since:
    """Whether a brief still fits: what is kept is unaltered, and the data are as they were."""

    unaltered: bool
    data_changed: bool
    now: str

    @property
    def words(self) -> str:
        if not self.unaltered:
            return marked(
                "The stored brief does not match its own hash. It was altered outside this site; do not rely on it."
            )
        if self.data_changed:
            return said(
                "The data have changed since: this brief rests on an older version, today's is {version}. It shows "
                "what was known when it was issued.",
                version=self.now,
            )
        return marked("The data are the same today.")


def since_issue(one: IssuedBrief) -> Since:
    now = brief.data_version(one.watershed)
    return Since(
        unaltered=brief.content_hash(one.content) == one.content_hash,
        data_changed=now != one.data_version,
        now=now,
    )
