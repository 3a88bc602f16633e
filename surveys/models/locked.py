"""A closed season is locked in the database too: a row of it is refused whatever way the change comes.

The pages and commands refuse first, in their own words (``surveys.season``). These triggers hold the rule
where nobody asked: in a shell, in the administration pages, in code written later. They take the lock
that closing a season takes, so that a change on its way and a close never pass each other.

They look once at all rows of a statement, after it: a season of a hundred thousand rows comes in by one.
"""

import pgtrigger

SEASON_LOCK = 7_205_002
# Where the day of a row is found; ``touched`` are the rows of the statement.
_OF_A_PASS = "JOIN surveys_visit v ON v.id = touched.visit_id"
_OF_A_CATCH = (
    "JOIN surveys_removalpass p ON p.id = touched.removal_pass_id JOIN surveys_visit v ON v.id = p.visit_id"
)
_FUNC = """
    PERFORM pg_advisory_xact_lock_shared({lock});
    SELECT c.year INTO locked FROM surveys_seasonclose c
    WHERE c.reopened_at IS NULL AND c.year IN (
        SELECT EXTRACT(YEAR FROM {day})::int FROM ({touched}) AS touched {join}
    )
    ORDER BY c.year LIMIT 1;
    IF locked IS NOT NULL THEN
        RAISE EXCEPTION 'The season % is closed and locked. It can be opened again, with a reason.', locked
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NULL;
"""
_BOTH = "SELECT {side}.* FROM was FULL JOIN now ON was.id = now.id WHERE {changed}"


def _changed(unlike: tuple[str, ...]) -> str:
    """A write that changes nothing, or only who a row hangs on, is no change to the season."""
    if not unlike:
        return "was.* IS DISTINCT FROM now.*"
    names = ", ".join(f"'{name}'" for name in unlike)
    return f"to_jsonb(was.*) - ARRAY[{names}] IS DISTINCT FROM to_jsonb(now.*) - ARRAY[{names}]"


def _locked(
    operation: pgtrigger.Operation, day: str, join: str, touched: str, **rows: str
) -> pgtrigger.Trigger:
    return pgtrigger.Trigger(
        name=f"closed_season_{str(operation).lower()}",
        level=pgtrigger.Statement,
        when=pgtrigger.After,
        operation=operation,
        referencing=pgtrigger.Referencing(**rows),
        declare=[("locked", "int")],
        func=_FUNC.format(lock=SEASON_LOCK, day=day, touched=touched, join=join),
    )


def _triggers(day: str, join: str = "", unlike: tuple[str, ...] = ()) -> list[pgtrigger.Trigger]:
    changed = _changed(unlike)
    both = " UNION ALL ".join(_BOTH.format(side=side, changed=changed) for side in ("was", "now"))
    return [
        _locked(pgtrigger.Insert, day, join, "SELECT * FROM now", new="now"),
        _locked(pgtrigger.Update, day, join, both, old="was", new="now"),
        _locked(pgtrigger.Delete, day, join, "SELECT * FROM was", old="was"),
    ]


def visit_locks() -> list[pgtrigger.Trigger]:
    """A person or a file that leaves the records may be taken off a visit; all else stays."""
    return _triggers("touched.visit_date", unlike=("entered_by_id", "upload_id"))


def pass_locks() -> list[pgtrigger.Trigger]:
    return _triggers("v.visit_date", _OF_A_PASS)


def catch_locks() -> list[pgtrigger.Trigger]:
    return _triggers("v.visit_date", _OF_A_CATCH)


def layout_locks() -> list[pgtrigger.Trigger]:
    return _triggers("touched.valid_from", unlike=("by_id",))
