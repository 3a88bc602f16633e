"""A closed season is locked in the database too: a row of it is refused whatever way the change comes.

The pages and commands refuse first, in their own words (``surveys.season``). These triggers hold the rule
where nobody asked: in a shell, in the administration pages, in code written later. They take the lock
that closing a season takes, so that a change on its way and a close never pass each other.
"""

import pgtrigger

SEASON_LOCK = 7_205_002
# Looked up from the row as it was, as it becomes, or both.
_OF_A_PASS = "SELECT visit_date FROM surveys_visit WHERE id = {row}.visit_id"
_OF_A_CATCH = (
    "SELECT v.visit_date FROM surveys_visit v JOIN surveys_removalpass p ON p.visit_id = v.id "
    "WHERE p.id = {row}.removal_pass_id"
)
_FUNC = f"""
    PERFORM pg_advisory_xact_lock_shared({SEASON_LOCK});
    FOR locked IN
        SELECT c.year FROM surveys_seasonclose c
        WHERE c.reopened_at IS NULL AND c.year IN ({{years}})
    LOOP
        RAISE EXCEPTION 'The season % is closed and locked. It can be opened again, with a reason.', locked
            USING ERRCODE = 'integrity_constraint_violation';
    END LOOP;
    RETURN {{returned}};
"""


def _years(day: str, rows: tuple[str, ...]) -> str:
    return ", ".join(f"(SELECT EXTRACT(YEAR FROM ({day.format(row=row)}))::int)" for row in rows)


def _locked(name: str, day: str, operation: pgtrigger.Operation, *rows: str, unlike: tuple[str, ...] = ()):
    returned = "NEW" if "NEW" in rows else "OLD"
    # A write that changes nothing, or only who a row hangs on, is no change to the season.
    changed = pgtrigger.AnyChange(exclude=list(unlike)) if operation is pgtrigger.Update else None
    return pgtrigger.Trigger(
        name=name,
        when=pgtrigger.Before,
        operation=operation,
        declare=[("locked", "int")],
        condition=changed,
        func=_FUNC.format(years=_years(day, rows), returned=returned),
    )


def _triggers(day: str, unlike: tuple[str, ...] = ()) -> list[pgtrigger.Trigger]:
    return [
        _locked("closed_season_insert", day, pgtrigger.Insert, "NEW"),
        _locked("closed_season_update", day, pgtrigger.Update, "OLD", "NEW", unlike=unlike),
        _locked("closed_season_delete", day, pgtrigger.Delete, "OLD"),
    ]


def visit_locks() -> list[pgtrigger.Trigger]:
    """A person or a file that leaves the records may be taken off a visit; all else stays."""
    return _triggers("{row}.visit_date", ("entered_by", "upload"))


def pass_locks() -> list[pgtrigger.Trigger]:
    return _triggers(_OF_A_PASS)


def catch_locks() -> list[pgtrigger.Trigger]:
    return _triggers(_OF_A_CATCH)


def layout_locks() -> list[pgtrigger.Trigger]:
    return _triggers("{row}.valid_from", ("by",))
