"""Cautions that belong to a page or a comparison: C24, C25, and C27-C30 for before and after."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from surveys.models import Station
from surveys.said import marked, said
from trends.cautions import limits
from trends.cautions.situation import Situation, caution
from trends.models import LandUseNote
from trends.outcomes import Caution

ALARM = 0.05
# What comes over impact and control alike, or is no change of the creek.
EVERYWHERE = frozenset({"survey", "drought", "flood"})


def same_stream(s: Situation) -> Iterator[Caution]:
    """Two stations of one stream in one statement: what happens at one may happen at the other."""
    used = set(s.period.stations) if s.period else set()
    streams = Counter(x.stream.strip().casefold() for x in s.stations if x.code in used)
    shared = {name for name, n in streams.items() if n > 1}
    if not shared:
        return
    chosen = [x for x in s.stations if x.code in used and x.stream.strip().casefold() in shared]
    named = ", ".join(sorted({x.stream for x in chosen}))
    yield caution(
        "C25",
        "warn",
        said(
            "{join} lie on the same stream ({named}), so they are not independent; the test allows for stations "
            "that move together.",
            join=", ".join(x.code for x in chosen),
            named=named,
        ),
        said(
            "{chosen} of the stations lie on the same stream and do not count as separate proofs.",
            chosen=len(chosen),
        ),
        stations=[x.code for x in chosen],
    )


RULES = (same_stream,)


def many_tests(tests: int) -> Caution | None:
    """C24: more than one test on a page, and how many would stand out by chance alone."""
    if tests < 2:
        return None
    by_chance = 1 - (1 - ALARM) ** tests
    return caution(
        "C24",
        "note",
        said(
            "{tests} tests on this page: {alarm} would stand out at p {alarm_2} by chance alone, and the chance "
            "of at least one is {by_chance} %. Words are decided by adjusted values.",
            tests=tests,
            alarm=f"{ALARM * tests:.1f}",
            alarm_2=f"{ALARM:g}",
            by_chance=f"{100 * by_chance:.0f}",
        ),
        said(
            "{tests} places are tested at once; some would stand out by chance alone, and the words allow for that.",
            tests=tests,
        ),
        tests=tests,
        expected=round(ALARM * tests, 2),
        chance_of_one=round(by_chance, 4),
    )


def no_control(controls: int) -> Caution | None:
    """C27: before and after without a control station."""
    if controls:
        return None
    return caution(
        "C27",
        "warn",
        marked("No control station: weather and the change cannot be told apart."),
        marked("There is nothing to compare with, so the weather cannot be told apart from the change."),
        controls=0,
    )


def few_years_a_side(before: int, after: int) -> Caution | None:
    """C28: too few comparable years before or after."""
    least = int(limits.LEAST_YEARS_A_SIDE)
    if min(before, after) >= least:
        return None
    return caution(
        "C28",
        "stop",
        said(
            "{before} comparable years before and {after} after; at least {least} are needed on each side.",
            before=before,
            after=after,
            least=least,
        ),
        marked("There are too few years before or after to say."),
        before=before,
        after=after,
        least=least,
        years_lacking_before=max(0, least - before),
        years_lacking_after=max(0, least - after),
    )


def weak_control(
    controls: Sequence[Station],
    impact: Sequence[Station],
    notes: Iterable[LandUseNote],
    drift_p: float | None,
    window: tuple[int, int],
    note: LandUseNote,
) -> Caution | None:
    """C29: a control with a note of its own, below the place itself, or not parallel before."""
    reasons: list[str] = []
    for one in notes:
        if one.pk == note.pk or one.category in EVERYWHERE:
            continue
        at = [
            c
            for c in controls
            if one.station_id == c.pk or (one.station_id is None and one.watershed_id == c.watershed_id)
        ]
        end = (one.ends_on or one.starts_on).year
        if at and one.starts_on.year <= window[1] and end >= window[0]:
            reasons.append(
                said(
                    "{stations}: {title}, {year}",
                    stations=", ".join(c.code for c in at),
                    title=one.title,
                    year=one.starts_on.year,
                )
            )
    for c in controls:
        below = [
            i
            for i in impact
            if i.stream.strip().casefold() == c.stream.strip().casefold()
            and i.river_km is not None
            and c.river_km is not None
            and c.river_km < i.river_km
        ]
        if below:
            reasons.append(said("{control} lies below {place}", control=c.code, place=below[0].code))
    if drift_p is not None and drift_p <= limits.CONTROL_DRIFT_P:
        reasons.append(
            said(
                "the difference already drifted before (p {p}, limit {limit})",
                p=f"{drift_p:.2f}",
                limit=f"{limits.CONTROL_DRIFT_P:g}",
            )
        )
    if not reasons:
        return None
    return caution(
        "C29",
        "warn",
        said("Weak control: {reasons}.", reasons="; ".join(reasons)),
        marked("The stations compared with were not untouched themselves."),
        reasons=reasons,
        drift_p=drift_p,
    )


def _whole_watershed(note: LandUseNote, station: Station) -> bool:
    return note.station_id is None and note.watershed_id == station.watershed_id


def confounded(note: LandUseNote, others: Iterable[LandUseNote]) -> Caution | None:
    """C30: other notes at the same place within the same few years."""
    last = (note.ends_on or note.starts_on).year
    near = []
    for one in others:
        if one.pk == note.pk or one.category == "survey":
            continue
        begins, ends = one.starts_on.year, (one.ends_on or one.starts_on).year
        gap = max(begins - last, note.starts_on.year - ends, 0)
        if gap < limits.CONFOUNDED_YEARS:
            near.append(one)
    if not near:
        return None
    named = "; ".join(f"{n.title} ({n.starts_on.year})" for n in near)
    return caution(
        "C30",
        "note",
        said(
            "Within {confounded_years} years also: {named}. They cannot be told apart.",
            confounded_years=limits.CONFOUNDED_YEARS,
            named=named,
        ),
        said("Also in these years: {named}. They cannot be told apart.", named=named),
        notes=[n.pk for n in near],
        years=limits.CONFOUNDED_YEARS,
    )
