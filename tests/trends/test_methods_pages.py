"""The methods pages: every number explained, with the thresholds that the code itself uses."""

import re
from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from django.test import Client
from django.urls import reverse
from django.utils import translation

import trends.cautions
from surveys import language
from surveys.models import Catch, Taxon, Visit
from tests.factories import make_station, make_visit
from trends import assessments, glossary, scale_drawings
from trends.index import load_method, score_sample
from trends.index.method import CHECK_FIRST, method_codes
from trends.index.points import Band
from trends.index.results import to_plain
from trends.measures import MEASURES
from trends.method_pages import method_view
from trends.templatetags.index_tags import how_combined, metric_rows

pytestmark = pytest.mark.django_db


def _page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.fixture
def methods_page(client: Client) -> str:
    return _page(client, reverse("trends:methods"))


def test_every_measure_has_its_anchor_formula_and_source(methods_page: str) -> None:
    for measure in MEASURES:
        assert f'id="{measure.key}"' in methods_page
        assert measure.source.split(";")[0] in methods_page


def _raised() -> dict[str, str]:
    """Codes and levels as they stand in the code that raises them; a level may be decided as it runs."""
    sources = Path(trends.cautions.__file__).parent.glob("*.py")
    found = (re.findall(r'"(C\d\d)",\s+"(\w+)"', path.read_text()) for path in sources)
    return {code: level for pairs in found for code, level in pairs}


def test_every_caution_of_the_code_is_listed_with_its_level() -> None:
    raised = _raised()
    assert "C24" in raised
    listed = {entry.code: entry.level for entry in glossary.CAUTIONS}
    assert {code: listed.get(code) for code in raised} == raised | {"C18": listed["C18"]}


def test_no_caution_is_listed_that_the_code_never_raises() -> None:
    assert {entry.code for entry in glossary.CAUTIONS} == set(_raised()) | {"C18"}


def test_every_caution_has_an_anchor(methods_page: str) -> None:
    for entry in glossary.CAUTIONS:
        assert f'<li id="{entry.code}">' in methods_page


def test_the_words_for_certainty_show_the_limits_of_the_policy(methods_page: str) -> None:
    # p = 2 (1 - confidence): 0.95 is p 0.10 and 0.85 is p 0.30 (McBride 2019, from memory).
    assert f"{assessments.VERY_LIKELY:.2f} or more" in methods_page
    rows = {row.certainty: row for row in glossary.CERTAINTY}
    assert rows["very_likely"].p_value == "0.10 or less"
    assert rows["likely"].p_value == "0.10 to 0.30"
    assert rows["leaning"].public == "we can't tell yet"


def test_anchors_are_unique(methods_page: str) -> None:
    anchors = re.findall(r'\bid="([^"]+)"', methods_page)
    assert sorted(anchors) == sorted(set(anchors))


@pytest.mark.parametrize(
    "anchor",
    ["removal", "steady", "years-needed", "many-tests", "hybrids", "genus-level", "sensitive-places"],
)
def test_the_anchors_that_other_pages_lead_to_are_there(methods_page: str, anchor: str) -> None:
    assert f'id="{anchor}"' in methods_page


def test_every_index_method_is_linked_with_its_standing(methods_page: str) -> None:
    for code in method_codes():
        assert reverse("trends:method", args=[code]) in methods_page
    assert "Not usable" in methods_page


@pytest.mark.parametrize("code", method_codes())
def test_a_method_page_shows_each_metric_with_its_provenance(client: Client, code: str) -> None:
    page = _page(client, reverse("trends:method", args=[code]))
    method = load_method(code)
    for stratum in method.strata.values():
        for metric in stratum.metrics:
            assert f'id="{stratum.code}-{metric.id}"' in page
            assert metric.provenance.standing.capitalize() in page
    assert (CHECK_FIRST in page) == method.needs_check
    assert "style=" not in page.split("<main", 1)[1]


def test_an_incomplete_method_says_what_is_missing(client: Client) -> None:
    page = _page(client, reverse("trends:method", args=["new_jersey_north"]))
    assert "Not usable" in page
    assert "All cut points." in page


def test_a_method_that_waits_for_figures_says_so(client: Client) -> None:
    page = _page(client, reverse("trends:method", args=["karr_midwest_1986"]))
    assert "Not usable" in page
    assert "leaves some figures to each region" in page


def test_the_gaps_between_rating_words_are_named() -> None:
    # Karr et al. 1986, second-hand: 58-60, 48-52, 40-44, 28-34, 12-22 leave four gaps.
    assert len(method_view(load_method("karr_midwest_1986")).gaps) == 4


def test_whole_number_classes_that_touch_leave_no_gap() -> None:
    # Sums of 0, 10 and 20 move in tens: 60-80 and 90-100 touch.
    assert method_view(load_method("wisconsin_coldwater_1996")).gaps == ()


@pytest.mark.parametrize("address", ["/methods/no_such_method/", "/methods/no_such_method.yaml"])
def test_an_unknown_method_is_not_found(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404


def test_a_method_can_be_taken_home_as_its_file(client: Client) -> None:
    answer = client.get(reverse("trends:method_file", args=["maryland_fish_2005"]))
    assert answer.status_code == 200
    assert 'filename="maryland_fish_2005.yaml"' in answer["Content-Disposition"]
    assert yaml.safe_load(answer.content)["code"] == "maryland_fish_2005"


@pytest.mark.parametrize("name", ["methods", "method"])
def test_the_methods_pages_are_read_only(client: Client, name: str) -> None:
    address = reverse(f"trends:{name}", args=["maryland_fish_2005"] if name == "method" else [])
    assert client.post(address).status_code == 405


def test_the_methods_page_asks_only_what_stands_on_the_shelf(
    client: Client, django_assert_num_queries: object
) -> None:
    # Versions, what is chosen for each stratum, trait lists, and checks: one question each.
    with django_assert_num_queries(4):  # type: ignore[operator]
        client.get(reverse("trends:methods"))


class TestScales:
    """Cut points as drawn: the picture must put every value where the scale puts it."""

    def test_a_value_of_its_own_is_a_dot(self) -> None:
        # 0 fish earn 1 point, anything above 3: a stretch of no width would not be seen.
        bands = (
            Band(points=Fraction(5), at_least=Fraction(2)),
            Band(points=Fraction(3), above=Fraction(0)),
            Band(points=Fraction(1)),
        )
        assert scale_drawings.cut_points(bands, "species", "a scale").count("<circle") == 1

    def test_stretches_cover_the_scale_and_earn_what_the_bands_say(self) -> None:
        metric = load_method("maryland_fish_2005").strata["eastern_piedmont"].metrics[2]
        steps = scale_drawings.stretches(metric.scale.bands, Fraction(0), Fraction(100))
        assert [(float(s.low), float(s.high), float(s.points or 0)) for s in steps] == [
            (0, 45, 5),
            (45, 68, 3),
            (68, 100, 1),
        ]

    def test_a_scale_without_limits_is_not_drawn(self) -> None:
        assert scale_drawings.cut_points((), "%", "a scale") == ""


def test_the_words_of_the_index_table_lead_from_points_to_score() -> None:
    method = load_method("wisconsin_coldwater_1996")
    sample = {
        "stratum": "coldwater",
        "n_passes": 1,
        "species": {
            "Salvelinus fontinalis": {
                "count": 30, "tolerance": "intolerant", "feeding": "top predator", "family": "Salmonidae",
                "stenotherm": True,
            },
            "Cottus cognatus": {
                "count": 10, "tolerance": "intolerant", "feeding": "insectivore", "family": "Cottidae",
                "stenotherm": True,
            },
        },
    }  # fmt: skip
    index = to_plain(score_sample(method, sample))
    index["metrics"] = dict(sorted(index["metrics"].items(), key=lambda item: len(item[0])))
    assert [row.result["id"] for row in metric_rows(index, method)] == [
        m.id for m in method.strata["coldwater"].metrics
    ]
    # Arithmetic by hand: all five metrics lie in their best band, 20 points each.
    assert how_combined(index, method) == "20 + 20 + 20 + 20 + 20 = 100"


def test_the_visit_page_shows_each_step_and_what_decides(client: Client) -> None:
    station = make_station("W-1", stratum="Eastern Piedmont", catchment_km2=8.0, mean_width_m=3.0)
    visit = make_visit(station, passes=[{"Creek Chub": 12, "Mottled Sculpin": 5}], mean_width_m=3.0)
    weigh(visit)
    Taxon.objects.update(benthic=False, lithophilic=False)
    page = _page(client, visit.get_absolute_url())
    assert CHECK_FIRST in page
    assert reverse("trends:method", args=["maryland_fish_2005"]) + "#eastern_piedmont-tolerant" in page
    # 12 of 17 fish are tolerant, 70.59 %; 68 is the limit of the next band (arithmetic).
    assert "12 / 17" in page
    assert "2.59 percentage points from the next band" in page


def weigh(visit: Visit) -> None:
    """Weights, without which this stratum has no score."""
    for one in Catch.objects.filter(removal_pass__visit=visit):
        one.biomass_g = 10.0 * one.count
        one.save()


USABLE = ["maryland_fish_2005", "wisconsin_coldwater_1996", "karr_midwest_1986", "ohio_modified_well_being"]


@pytest.mark.parametrize("code", USABLE)
def test_what_a_usable_method_says_of_its_metrics_is_said_in_spanish_too(code: str) -> None:
    method = load_method(code)
    words = {method.summary, method.region, method.formula}
    for stratum in method.strata.values():
        words |= {stratum.name}
        for metric in stratum.metrics:
            words |= {metric.name, metric.plain, metric.formula, metric.unit}
            words |= {rule.reason for rule in metric.measure.rules}
    with translation.override("es"):
        left = {text for text in words if "lang=" in language.own_words(text)}
    assert left == set()


def test_the_page_of_a_method_says_conditions_and_cut_points_in_spanish(client: Client) -> None:
    page = _page(client, "/es/methods/maryland_fish_2005/")
    assert "número esperado: 1.69 × log10(área de captación en acres) − 3.33" in page.casefold()
    assert "<td>cualquier otro valor</td>" in page
    assert (
        "Donde no se capturó ningún pez y el área de captación es de 300 o más acres: la puntuación es 1."
        in page
    )
    # What the file says of its sources stays as it is, and says that it is English.
    assert '<span lang="en">Metrics, cut points, equations and rating words are from memory' in page


def test_an_exception_says_where_it_holds_and_where_it_is_known_from(client: Client) -> None:
    page = re.sub(r"\s+", " ", _page(client, "/methods/maryland_fish_2005/"))
    assert (
        "In the strata Coastal Plain, Eastern Piedmont and Warmwater Highlands. Where no fish were caught: the "
        "score is 1." in page
    )
    assert "Only where there is a value for Benthic species, adjusted for catchment size." in page
    assert "That no fish gives 1.0 is from memory." in page
    exceptions = page[page.index("Exceptions") : page.index("Trait list")]
    assert "From memory, medium confidence." in exceptions
