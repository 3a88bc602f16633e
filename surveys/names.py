"""Names that come near a spelling that is not on the list, by the letters they share.

Nothing is settled here: whatever is found is shown to a person, who says what is meant.
"""

from collections.abc import Collection, Mapping
from typing import Any

from django.db import connection

from surveys.said import said
from surveys.uploads.known import NearTaxon
from surveys.uploads.values import fold

MOST_NEAR = 5

# One look-up per kind of name, each by its trigram index. "%" takes names that share three in ten of
# their groups of three letters (the database's own limit).
_NEAR = """
SELECT asked.text, near.taxon_id, taxon.scientific_name, taxon.common_name, near.name, near.kind,
       similarity(upper(near.name), upper(asked.text)) AS alike
FROM unnest(%s::text[]) AS asked(text)
CROSS JOIN LATERAL (
    SELECT id AS taxon_id, scientific_name AS name, 'scientific name' AS kind
    FROM surveys_taxon WHERE upper(scientific_name) %% upper(asked.text)
    UNION ALL
    SELECT id, common_name, 'common name' FROM surveys_taxon WHERE upper(common_name) %% upper(asked.text)
    UNION ALL
    SELECT id, code, 'code' FROM surveys_taxon WHERE upper(code) %% upper(asked.text)
    UNION ALL
    SELECT taxon_id, name, 'other name' FROM surveys_taxonalias WHERE upper(name) %% upper(asked.text)
) AS near
JOIN surveys_taxon AS taxon ON taxon.id = near.taxon_id
ORDER BY asked.text, alike DESC, taxon.scientific_name
"""


def near_names(texts: Collection[str], *, most: int = MOST_NEAR) -> dict[str, tuple[NearTaxon, ...]]:
    """The taxa whose names come nearest to each text, the nearest first. One query for all texts.

    Parameters
    ----------
    texts : names as they were written
    most : taxa per text

    Returns
    -------
    Folded text -> taxa, each once, by the name of it that comes nearest. A text near nothing is left out.
    """
    wanted = sorted({folded for text in texts if (folded := fold(text))})
    if not wanted:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_NEAR, [wanted])
        rows = cursor.fetchall()
    found: dict[str, dict[int, NearTaxon]] = {}
    for text, key, scientific, common, name, kind, alike in rows:
        of_text = found.setdefault(text, {})
        if key not in of_text and len(of_text) < most:
            of_text[key] = NearTaxon(
                key=key,
                scientific_name=scientific,
                common_name=common,
                name=name,
                kind=kind,
                alike=float(alike),
            )
    return {text: tuple(of_text.values()) for text, of_text in found.items()}


def taxa_named(names: Mapping[str, str], known: Mapping[str, tuple[int, ...]]) -> dict[str, int]:
    """What a person said each name means, as keys of taxa by folded name.

    Parameters
    ----------
    names : name as written -> any name of the taxon that is meant
    known : folded names of the list -> the taxa they stand for

    Raises
    ------
    UnclearName : a meaning that is not on the list, or that two taxa share
    """
    settled: dict[str, int] = {}
    for written, meant in names.items():
        keys = known.get(fold(meant), ())
        if len(keys) != 1:
            names_said = {"written": repr(written), "written_meaning": repr(meant)}
            raise UnclearName(
                said(
                    "{written} cannot stand for {written_meaning}: two taxa share it. "
                    "Write the scientific name.",
                    **names_said,
                )
                if keys
                else said(
                    "{written} cannot stand for {written_meaning}: it is not on the list of taxa. "
                    "Write the scientific name.",
                    **names_said,
                )
            )
        settled[fold(written)] = keys[0]
    return settled


class UnclearName(Exception):  # noqa: N818 - the name says what happened
    """A meaning that names no single taxon; the message says which."""


def as_plain(near: Collection[NearTaxon]) -> list[dict[str, Any]]:
    """Near taxa for a page that asks while a person types."""
    return [
        {
            "taxon": one.key,
            "scientific_name": one.scientific_name,
            "common_name": one.common_name,
            "name": one.name,
            "kind": one.kind,
            "alike": round(one.alike, 3),
            "words": one.words,
        }
        for one in near
    ]
