"""Cautions on what was caught and what was done to the fish: C15, C17, C20, C34-C37, C39."""

from collections.abc import Iterator
from statistics import median

import numpy as np

from surveys.said import marked, said
from trends.cautions import limits
from trends.cautions.situation import Situation, caution, years_words
from trends.common_level import COUNTED, groups_of
from trends.measures import INDEX
from trends.outcomes import Caution
from trends.stats.kendall import direction_of

MOVED_FISH = {
    "stocking": marked("{title} (stocking, introduction or removal, {year})"),
    "die-off": marked("{title} (fish die-off, {year})"),
}
# Numbers that hang on which names the fish were held under.
NAMED = frozenset({"richness", "native_richness", "benthic_richness"})
RICHNESS = frozenset({"richness", "native_richness"})


def not_made(s: Situation) -> Iterator[Caution]:
    key = s.measure.key
    missing = {v.date.year: v.reasons[key] for v in s.visits if v.reasons.get(key)}
    if missing:
        example = missing[max(missing)]
        yield caution(
            "C15",
            "note",
            said(
                "{name} could not be made for some visits of {missing}: {example}.",
                name=s.measure.english_name,
                missing=years_words(missing),
                example=example,
            ),
            said("This number could not be made for some visits of {missing}.", missing=years_words(missing)),
            years=sorted(missing),
        )


def names_changed(s: Situation) -> Iterator[Caution]:
    """A genus in some years and one of its species in others, or what was told apart only later.

    After two taxa were merged every year is read on the level they share, so that raises nothing.
    """
    if s.measure.key not in NAMED and not s.measure.is_index:
        return
    groups = [
        group
        for station in s.stations
        for group in groups_of(s.visits_of(station), s.record.held_to_genus, s.record.splits)
    ]
    mixed = [g for g in groups if not g.told_apart]
    genera = sorted({g.name for g in mixed})
    less_exactly = {year for g in groups for year in g.years}
    staff: list[str] = []
    public: list[str] = []
    if mixed:
        staff.append(
            said(
                "Held only to genus in {years}, to species in other years: {genera}.",
                years=years_words({year for g in mixed for year in g.years}),
                genera=", ".join(genera),
            )
        )
    told_apart = {(g.name, g.told_apart): g.years for g in groups if g.told_apart}
    for (one, other), years in told_apart.items():
        staff.append(
            said(
                "{other} is told from {one} only after {year}; before, both stand as {one}.",
                other=other,
                one=one,
                year=years[-1],
            )
        )
    if groups and s.measure.key in COUNTED:
        staff.append(
            marked(
                "Here they are counted alike in every year, so that the years can be compared; the page of a visit "
                "keeps its own number."
            )
        )
        public.append(
            said(
                "Some fish were named less exactly in {years}; here they are counted alike in every year.",
                years=years_words(less_exactly),
            )
        )
    elif groups:
        staff.append(marked("The number of species in the index is comparable only on the level they share."))
        public.append(
            said(
                "Some fish were named less exactly in {years}, which changes the number of species.",
                years=years_words(less_exactly),
            )
        )
    doubtful = {v.date.year for v in s.visits if v.named_with_doubt}
    if doubtful:
        staff.append(
            said(
                "Fish were named with doubt in {years}; they count under the name noted.",
                years=years_words(doubtful),
            )
        )
        public.append(said("The name of some fish was in doubt in {years}.", years=years_words(doubtful)))
    if staff:
        yield caution(
            "C17",
            "warn",
            " ".join(staff),
            " ".join(public),
            genera=genera,
            told_apart=[list(pair) for pair in told_apart],
            years=sorted(less_exactly | doubtful),
            in_doubt=sorted(doubtful),
        )


def fish_moved(s: Situation) -> Iterator[Caution]:
    years = [v.date.year for v in s.visits]
    if not years:
        return
    notes = [
        n
        for n in s.record.notes
        if n.category in MOVED_FISH
        and s.concerns(n)
        and n.starts_on.year <= max(years)
        and (n.ends_on or n.starts_on).year >= min(years)
    ]
    if notes:
        told = "; ".join(said(MOVED_FISH[n.category], title=n.title, year=n.starts_on.year) for n in notes)
        yield caution(
            "C20",
            "warn",
            said("Also in these years: {told}. Numbers can rise or fall for that alone.", told=told),
            said("Also in these years: {told}.", told=told),
            notes=[n.pk for n in notes],
        )


def places_withheld(s: Situation) -> Iterator[Caution]:
    """For every station of such a watershed alike, so that it points to none of them."""
    if not s.record.guarded:
        return
    staff = marked(
        "For the public, places of sensitive species in this watershed are withheld and lists shortened, by rule."
    )
    public = marked(
        "Lists of fish here may be shortened by rule: where exactly some species live is not published."
    )
    if s.measure is INDEX:
        staff = said(
            "{shortened} This score is made of the fish in the public lists, so that it may be published; what "
            "becomes of the others shows only in the score of all fish.",
            shortened=staff,
        )
        public = said(
            "{shortened} The score is made of the fish in the public lists; what becomes of the others does not "
            "show in it.",
            shortened=public,
        )
    yield caution("C34", "note", staff, public)


def noisy_measure(s: Situation) -> Iterator[Caution]:
    if s.measure.per_area:
        yield caution(
            "C35",
            "note",
            marked(
                "Weight and numbers for an area vary more from year to year than counts do (George, Stich & "
                "Baldigo 2021)."
            ),
            marked("This number varies much from year to year, so changes are harder to see."),
        )


def newcomers(s: Situation) -> Iterator[Caution]:
    if s.measure.key not in RICHNESS:
        return
    by_year: dict[int, list[tuple[float, float]]] = {}
    for v in s.visits:
        every, own = v.values.get("richness"), v.values.get("native_richness")
        if v.in_season and every is not None and own is not None:
            by_year.setdefault(v.date.year, []).append((every, own))
    if len(by_year) < limits.LEAST_YEARS:
        return
    years = np.array(sorted(by_year), dtype=float)
    total = np.array([median(t for t, _ in by_year[int(y)]) for y in years])
    native = np.array([median(n for _, n in by_year[int(y)]) for y in years])
    if np.ptp(total) == 0:
        return
    s_all, sure_all = direction_of(years, total)
    s_native, sure_native = direction_of(years, native)
    rises = s_all > 0 and sure_all >= limits.DIRECTION_CONFIDENCE
    native_rises = s_native > 0 and sure_native >= limits.DIRECTION_CONFIDENCE
    if rises and not native_rises:
        yield caution(
            "C36",
            "warn",
            said(
                "The number of species rises (confidence {sure_all}); that of native species does not (limit "
                "{direction_confidence}). The gain is in newcomers.",
                sure_all=f"{sure_all:.2f}",
                direction_confidence=f"{limits.DIRECTION_CONFIDENCE:g}",
            ),
            marked("There are more kinds of fish, but not more native ones: the gain is in newcomers."),
            confidence_all=round(sure_all, 3),
            confidence_native=round(sure_native, 3),
            limit=limits.DIRECTION_CONFIDENCE,
        )


def few_examined(s: Situation) -> Iterator[Caution]:
    if not s.measure.is_index:
        return
    few = {
        v.date.year: v.total_catch
        for v in s.visits
        if v.anomaly_metric and v.total_catch is not None and 0 < v.total_catch < limits.FISH_FOR_ANOMALIES
    }
    if few:
        yield caution(
            "C37",
            "warn",
            said(
                "The share of fish with anomalies rests on fewer than {fish_for_anomalies} fish in {few}.",
                fish_for_anomalies=limits.FISH_FOR_ANOMALIES,
                few=years_words(few),
            ),
            said("Few fish could be looked at in {few}.", few=years_words(few)),
            years=sorted(few),
            least=limits.FISH_FOR_ANOMALIES,
        )


def poor_catching(s: Situation) -> Iterator[Caution]:
    unseen = {v.date.year for v in s.visits if v.bottom_visible == "no"}
    years: set[int] = set()
    for station in s.stations:
        visits = s.visits_of(station)
        cloudy = [(v.date.year, v.turbidity_ntu) for v in visits if v.turbidity_ntu is not None]
        flows = [(v.date.year, v.discharge_m3_s) for v in visits if v.discharge_m3_s is not None]
        for known, times, least in (
            (cloudy, limits.TURBIDITY_TIMES, limits.TURBIDITY_LEAST_NTU),
            (flows, limits.FLOW_TIMES, 0.0),
        ):
            if len(known) >= 3:
                usual = median(value for _, value in known)
                years |= {year for year, value in known if value > times * usual and value > least}
    told = []
    if years:
        told.append(
            said(
                "Poor catching conditions in {years}: turbidity above {times} times the station's median and "
                "{ntu} NTU, "
                "or flow above {flow} times the median.",
                years=years_words(years),
                times=f"{limits.TURBIDITY_TIMES:g}",
                ntu=f"{limits.TURBIDITY_LEAST_NTU:g}",
                flow=f"{limits.FLOW_TIMES:g}",
            )
        )
    if unseen:
        told.append(said("The bottom could not be seen in {years}.", years=years_words(unseen)))
    if told:
        yield caution(
            "C39",
            "note",
            " ".join(told),
            said("High or cloudy water made catching hard in {years}.", years=years_words(years | unseen)),
            years=sorted(years | unseen),
            bottom_not_seen=sorted(unseen),
            turbidity_times=limits.TURBIDITY_TIMES,
            turbidity_least_ntu=limits.TURBIDITY_LEAST_NTU,
            flow_times=limits.FLOW_TIMES,
        )


RULES = (
    not_made,
    names_changed,
    fish_moved,
    places_withheld,
    noisy_measure,
    newcomers,
    few_examined,
    poor_catching,
)
