"""Cautions on how the sampling was done and by what: C06-C14, C16."""

import itertools
from collections import defaultdict
from collections.abc import Iterator
from statistics import median

from surveys.said import marked, said
from trends.cautions import limits
from trends.cautions.reach_size import LENGTH, WIDTH, in_doubt
from trends.cautions.situation import Situation, caution, percent, years_words
from trends.outcomes import Caution, way_of
from trends.record import VisitValue

# Numbers that a missed fish makes smaller; shares and scores are less touched.
CATCH_MEASURES = frozenset({"total_catch", "density_per_100_m2", "biomass_g_per_m2"})


def method_changed(s: Situation) -> Iterator[Caution]:
    outcome = s.outcome
    methods = {p.method for p in outcome.periods}
    if len(methods) < 2 and not outcome.breaks:
        return
    if outcome.apart:
        # The current method ran on at other stations, so the creek keeps its line; these years stand apart.
        current = way_of(outcome.current.method) if outcome.current else ""
        for period in outcome.apart:
            places = ", ".join(period.stations)
            yield caution(
                "C06",
                "warn",
                said(
                    "{places} used {method_name}, {first_year} to {last_year}; those years are tested apart and "
                    "are in no line.",
                    places=places,
                    method_name=period.method_name,
                    first_year=period.first_year,
                    last_year=period.last_year,
                ),
                said(
                    "Until {year} some stations were laid out in another way. Those years are kept apart.",
                    year=period.last_year,
                )
                if way_of(period.method) == current
                else said(
                    "Until {year} some stations were sampled in another way. Those years are kept apart.",
                    year=period.last_year,
                ),
                stations=list(period.stations),
                years=[period.first_year, period.last_year],
                methods=sorted(methods),
            )
        return
    named = "; ".join(
        said("{method}, {first} to {last}", method=p.method_name, first=p.first_year, last=p.last_year)
        for p in outcome.periods
    )
    when = years_words(outcome.breaks) if outcome.breaks else said("between stations")
    what, public = _what_changed(methods)
    yield caution(
        "C06",
        "stop",
        said(
            "{what} ({when}): {named}. No verdict and no line runs across the change; each part stands alone.",
            what=what,
            when=when,
            named=named,
        ),
        said("{public} ({when}). Years before and after are not joined.", public=public, when=when),
        breaks=list(outcome.breaks),
        methods=sorted(methods),
    )


def _what_changed(methods: set[str]) -> tuple[str, str]:
    """What keeps the years apart: the way of sampling, a station laid out anew, or both."""
    laid_out = any("@" in one for one in methods)
    if len({way_of(one) for one in methods}) < 2 and laid_out:
        return said("A station was laid out anew"), said("A station was laid out anew")
    if laid_out:
        return (
            said("The sampling method changed and a station was laid out anew"),
            said("The way of sampling changed and a station was laid out anew"),
        )
    return said("The sampling method changed"), said("The way of sampling changed")


def gear_changed(s: Situation) -> Iterator[Caution]:
    """Another gear comes with another method; another current or more anodes are noted at the visit.

    What is not noted is not compared: a year without it is no change.
    """
    years: set[int] = set()
    gears: set[str] = set()
    for station in s.stations:
        before: dict[str, str] = {}
        for v in s.visits_of(station):
            anodes = _anodes(v.anodes)
            for kind, words in (("unit", v.gear), ("current", v.waveform), ("anodes", anodes)):
                if words and before.get(kind, words) != words:
                    years.add(v.date.year)
                    gears |= {before[kind], words}
                if words:
                    before[kind] = words
    if years:
        yield caution(
            "C07",
            "warn",
            said(
                "The gear changed in {years}: {gears}.",
                years=years_words(years),
                gears="; ".join(sorted(gears)),
            ),
            said("Other gear was used from {years} on.", years=years_words(years)),
            years=sorted(years),
            gears=sorted(gears),
        )


def _anodes(number: int | None) -> str:
    if not number:
        return ""
    return said("1 anode") if number == 1 else said("{n} anodes", n=number)


def size_changed(s: Situation) -> Iterator[Caution]:
    found: dict[str, set[int]] = {LENGTH: set(), WIDTH: set()}
    sizes = ((LENGTH, limits.LENGTH_DIFFERS), (WIDTH, limits.WIDTH_DIFFERS))
    for station in s.stations:
        visits = s.visits_of(station)
        doubts = in_doubt(visits)
        for v in visits:
            for word in doubts.get(v.visit_id, ()):
                found[word].add(v.date.year)
    told = [
        said(
            "more than {limit} {word} than usual in {years}",
            limit=percent(limit),
            word=word,
            years=years_words(found[word]),
        )
        for word, limit in sizes
        if found[word]
    ]
    if told:
        staff = said("The reach was {sizes}.", sizes="; ".join(told))
        if s.measure.per_area:
            staff += " " + said("Numbers for the area are not used for these years.")
        every = found[LENGTH] | found[WIDTH]
        yield caution(
            "C08",
            "warn",
            staff,
            said("The stretch fished was of another size in {every}.", every=years_words(every)),
            years=sorted(every),
            length_years=sorted(found[LENGTH]),
            width_years=sorted(found[WIDTH]),
            length_limit=limits.LENGTH_DIFFERS,
            width_limit=limits.WIDTH_DIFFERS,
        )


def passes_differ(s: Situation) -> Iterator[Caution]:
    years: set[int] = set()
    common: set[int] = set()
    for station in s.stations:
        by_method: dict[str, set[int]] = defaultdict(set)
        for v in s.visits_of(station):
            by_method[v.method].add(v.passes)
        for v in s.visits_of(station):
            least = min(by_method[v.method])
            if v.passes > least:
                years.add(v.date.year)
                common.add(least)
    if not years:
        return
    k = max(min(common), 1)
    if s.measure.key == "first_pass_catch":
        used = said("Only the first pass is counted here, so these years stay comparable.")
    elif s.measure.is_index:
        used = said("The index counts no more passes than its method asks for.")
    else:
        used = (
            said("More passes catch more fish; all years share the first pass.")
            if k == 1
            else said("More passes catch more fish; all years share the first {k} passes.", k=k)
        )
    yield caution(
        "C09",
        "warn",
        said("More passes than in other years in {years}. {used}", years=years_words(years), used=used),
        said("More fishing was done in {years} than in other years.", years=years_words(years)),
        years=sorted(years),
        common_passes=k,
    )


def not_closed(s: Situation) -> Iterator[Caution]:
    open_years = {v.date.year for v in s.visits if v.stop_nets not in ("both", "")}
    breached = {v.date.year for v in s.visits if v.net_breach} - open_years
    told = []
    if open_years:
        told.append(
            said("The reach was not closed by nets at both ends in {years}.", years=years_words(open_years))
        )
    if breached:
        told.append(said("A breach of the nets is noted in {years}.", years=years_words(breached)))
    if told:
        both = open_years | breached
        yield caution(
            "C10",
            "note",
            " ".join(told),
            said("Fish could leave the stretch while it was fished in {both}.", both=years_words(both)),
            years=sorted(both),
            breached=sorted(breached),
        )


def effort_unusual(s: Situation) -> Iterator[Caution]:
    years: set[int] = set()
    for station in s.stations:
        known = [(v.date.year, v.effort_s_per_pass) for v in s.visits_of(station) if v.effort_s_per_pass]
        if len(known) < 3:
            continue
        usual = median(e for _, e in known)
        years |= {
            year
            for year, effort in known
            if not limits.EFFORT_LEAST * usual <= effort <= limits.EFFORT_MOST * usual
        }
    if years:
        yield caution(
            "C11",
            "warn",
            said(
                "Current-on time of a pass outside {effort_least} to {effort_most} times the station's median in "
                "{years}.",
                effort_least=f"{limits.EFFORT_LEAST:g}",
                effort_most=f"{limits.EFFORT_MOST:g}",
                years=years_words(years),
            ),
            said("Much more or less time was spent fishing in {years}.", years=years_words(years)),
            years=sorted(years),
            least=limits.EFFORT_LEAST,
            most=limits.EFFORT_MOST,
        )


def season_differs(s: Situation) -> Iterator[Caution]:
    outside = {v.date.year for v in s.visits if not v.in_season}
    far: set[int] = set()
    for station in s.stations:
        used = [v for v in s.visits_of(station) if v.in_season]
        if len(used) < 3:
            continue
        usual = median(v.date.timetuple().tm_yday for v in used)
        far |= {v.date.year for v in used if abs(v.date.timetuple().tm_yday - usual) > limits.DAYS_OFF}
    staff, public = [], []
    if outside:
        staff.append(
            said(
                "Visits outside the season of their method in {years} are shown but not used.",
                years=years_words(outside),
            )
        )
        public.append(
            said(
                "Some visits in {years} were made in another season and are not compared.",
                years=years_words(outside),
            )
        )
    if far:
        staff.append(
            said(
                "More than {days} days from the station's usual date in {years}.",
                days=limits.DAYS_OFF,
                years=years_words(far),
            )
        )
        public.append(
            said(
                "Some visits in {years} were much earlier or later in the year than usual.",
                years=years_words(far),
            )
        )
    if staff:
        yield caution(
            "C12",
            "warn",
            " ".join(staff),
            " ".join(public),
            years=sorted(outside | far),
            out_of_season=sorted(outside),
            days=limits.DAYS_OFF,
        )


def people_changed(s: Situation) -> Iterator[Caution]:
    """The crew's lead changed at every station in the year of the largest step. No name is told."""
    points = s.points
    steps = [(abs((b.value or 0) - (a.value or 0)), a.year, b.year) for a, b in itertools.pairwise(points)]
    if len(points) < limits.LEAST_YEARS or not steps or max(steps)[0] == 0:
        return
    _, before, year = max(steps)
    # Who named the fish says more than who led; where it is noted in both years, it decides.
    for field, words in (
        ("identifier", marked("somebody new named the fish")),
        ("crew_lead", marked("somebody new led the crew")),
    ):
        pairs = []
        for station in s.stations:
            person = {v.date.year: name for v in s.visits_of(station) if (name := _person(v, field))}
            if before in person and year in person:
                pairs.append((person[before], person[year]))
        if not pairs:
            continue
        earlier = {_person(v, field) for v in s.visits if v.date.year < year}
        if all(a != b and b not in earlier for a, b in pairs):
            yield caution(
                "C13",
                "note",
                said(
                    "The largest step is from {before} to {year}, when {words}.",
                    before=before,
                    year=year,
                    words=words,
                ),
                said("The largest step was in {year}; other people fished then.", year=year),
                year=year,
                previous=before,
            )
        return


def _person(visit: VisitValue, field: str) -> str:
    return str(getattr(visit, field)).strip().casefold()


def no_depletion(s: Situation) -> Iterator[Caution]:
    if s.measure.key not in CATCH_MEASURES:
        return
    years = set()
    for v in s.visits:
        rose = any(b >= a and b > 0 for a, b in zip(v.pass_catches, v.pass_catches[1:], strict=False))
        closed = v.stop_nets in ("both", "")
        if rose or (closed and len(v.pass_catches) > 1 and v.removal_usable is False):
            years.add(v.date.year)
    if years:
        yield caution(
            "C14",
            "note",
            said(
                "A later pass caught as many fish or more, or no removal estimate could be made, in {years}.",
                years=years_words(years),
            ),
            said(
                "In {years} the catch did not fall from pass to pass, so more fish may have been missed.",
                years=years_words(years),
            ),
            years=sorted(years),
        )


def index_changed(s: Situation) -> Iterator[Caution]:
    if s.mixed_index:
        used = sorted({f"{v.index_method} {v.index_version}".strip() for v in s.visits if v.index_method})
        yield caution(
            "C16",
            "stop",
            said(
                "The scores come from different index methods or versions ({used}); they are not joined.",
                used="; ".join(used),
            ),
            marked("The stations here are rated in different ways, so they are not shown as one line."),
            methods=used,
        )


RULES = (
    method_changed,
    gear_changed,
    size_changed,
    passes_differ,
    not_closed,
    effort_unusual,
    season_differs,
    people_changed,
    no_depletion,
    index_changed,
)
