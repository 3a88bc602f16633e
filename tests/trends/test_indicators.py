"""Indicators of one visit: values, zero against unknown, and reasons."""

import pytest

from surveys.models import Visit
from surveys.queries import visit_records
from tests.factories import make_station, make_taxon, make_visit
from trends.indicators import VisitIndicators, visit_indicators

pytestmark = pytest.mark.django_db


def indicators_of(visit: Visit) -> VisitIndicators:
    return visit_indicators(visit_records(Visit.objects.filter(pk=visit.pk))[0])


def test_counts_and_shares_of_a_small_catch() -> None:
    visit = make_visit(
        passes=[{"Creek Chub": 12, "Brook Trout": 4}, {"Creek Chub": 4}],
        reach_length_m=75,
        mean_width_m=4,
    )
    made = indicators_of(visit)
    values = {key: one.value for key, one in made.indicators.items()}
    assert values["total_catch"] == 20
    assert values["first_pass_catch"] == 16
    assert values["richness"] == 2
    assert values["native_richness"] == 2
    # By hand: 4 of 20 fish are intolerant, 16 tolerant; 20 fish on 300 m2.
    assert values["intolerant_share_pct"] == pytest.approx(20.0)
    assert values["tolerant_share_pct"] == pytest.approx(80.0)
    assert values["density_per_100_m2"] == pytest.approx(100 * 20 / 300)
    assert made.tolerance == {"intolerant": 4, "moderate": 0, "tolerant": 16}
    assert made.guilds["generalist"] == 16


def test_a_visit_without_fish_is_zero_and_its_shares_are_unknown() -> None:
    made = indicators_of(make_visit(passes=[{}, {}], mean_width_m=3)).indicators
    assert made["total_catch"].value == 0
    assert made["richness"].value == 0
    assert made["density_per_100_m2"].value == 0
    assert made["tolerant_share_pct"].value is None
    assert "no fish" in made["tolerant_share_pct"].reason


def test_a_visit_without_passes_has_no_numbers() -> None:
    made = indicators_of(make_visit(passes=[])).indicators
    assert {one.value for one in made.values()} == {None}


def test_density_without_a_width_says_what_is_missing() -> None:
    made = indicators_of(make_visit(mean_width_m=None)).indicators
    assert made["density_per_100_m2"].value is None
    assert made["density_per_100_m2"].reason == "the mean width is not known"


def test_a_trait_that_is_not_known_is_not_taken_for_no() -> None:
    make_taxon("Notropis amoenus", native=None)
    made = indicators_of(make_visit(passes=[{"Notropis amoenus": 3}])).indicators
    assert made["richness"].value == 1
    assert made["native_richness"].value is None
    assert "Notropis amoenus" in made["native_richness"].reason


def test_hybrids_and_groups_are_fish_but_no_species() -> None:
    make_taxon("Lepomis cyanellus x gibbosus", hybrid=True, rank="hybrid", native=True)
    make_taxon("Lampetra sp.", rank="genus", native=True)
    made = indicators_of(
        make_visit(passes=[{"Lepomis cyanellus x gibbosus": 2, "Lampetra sp.": 3, "Creek Chub": 1}])
    ).indicators
    assert made["total_catch"].value == 6
    assert made["richness"].value == 1


def test_the_pass_total_goes_before_batches_and_batches_must_be_complete() -> None:
    visit = make_visit(passes=[{"Creek Chub": 12, "Brook Trout": 4}, {"Creek Chub": 4}], mean_width_m=4)
    first, second = visit.passes.all()
    first.biomass_g = 250
    first.save()
    assert indicators_of(visit).indicators["biomass_g_per_m2"].reason == "pass 2 was not weighed"
    second.catches.update(biomass_g=50)
    assert indicators_of(visit).indicators["biomass_g_per_m2"].value == pytest.approx(300 / 300)


def test_two_passes_give_the_published_two_pass_estimate() -> None:
    """Seber & Le Cren 1967, as eq. 13-16 in Bohlin et al. 1989: N = c1^2/(c1-c2), by hand for 60, 25."""
    made = indicators_of(make_visit(passes=[{"Creek Chub": 60}, {"Creek Chub": 25}], stop_nets="both"))
    assert made.removal_total.usable
    assert made.removal_total.n_hat == pytest.approx(3600 / 35)
    assert made.removal_total.standard_error == pytest.approx((60**2 * 25**2 * 85 / 35**4) ** 0.5)
    assert made.removal_total.lower is not None and made.removal_total.lower >= 85


def test_open_nets_forbid_an_estimate_and_say_so() -> None:
    made = indicators_of(make_visit(stop_nets="upstream"))
    assert not made.removal_total.usable
    assert "nets" in made.removal_total.reason
    assert made.removal_total.lower == 17


def test_nets_that_were_not_recorded_are_mentioned_beside_the_estimate() -> None:
    made = indicators_of(make_visit(passes=[{"Creek Chub": 60}, {"Creek Chub": 25}], stop_nets=""))
    assert made.removal_total.usable
    assert "nets_not_recorded" in made.removal_total.cautions


def test_a_catch_that_does_not_fall_gives_a_reason() -> None:
    made = indicators_of(make_visit(passes=[{"Creek Chub": 5}, {"Creek Chub": 9}], stop_nets="both"))
    assert not made.removal_total.usable
    assert made.removal_total.n_hat is None
    assert made.removal_total.reason


@pytest.mark.parametrize("catches", [(20, 25, 18), (20, 20, 3), (20, 8, 21)])
def test_a_later_pass_as_large_as_the_first_forbids_an_estimate(catches: tuple[int, ...]) -> None:
    """Common practice, no source: without depletion there is no removal estimate, whatever the formula says."""
    made = indicators_of(make_visit(passes=[{"Creek Chub": c} for c in catches], stop_nets="both"))
    assert not made.removal_total.usable
    assert "did not fall" in made.removal_total.reason
    assert made.removal_total.lower == sum(catches)


def test_few_fish_in_late_passes_do_not_forbid_an_estimate() -> None:
    made = indicators_of(
        make_visit(passes=[{"Creek Chub": 30}, {"Creek Chub": 2}, {"Creek Chub": 2}], stop_nets="both")
    )
    assert made.removal_total.usable


def test_reading_many_visits_takes_as_many_queries_as_reading_one(django_assert_num_queries: object) -> None:
    station = make_station()
    for year in range(2010, 2014):
        make_visit(station, f"{year}-07-01")
    with django_assert_num_queries(4):  # type: ignore[operator]
        visit_records(Visit.objects.filter(station=station))
