"""Fish with anomalies are a share of the fish looked at, and few fish looked at say little."""

import pytest

from surveys.models import Catch, Visit
from surveys.queries import visit_records
from tests.factories import make_visit
from trends.anomaly_share import anomaly_sentence

pytestmark = pytest.mark.django_db


def sentence(visit: Visit) -> str:
    return anomaly_sentence(visit_records(Visit.objects.filter(pk=visit.pk))[0])


def test_what_nobody_looked_for_is_not_none() -> None:
    assert sentence(make_visit()) == (
        "Nobody noted anomalies at this visit. Not looked at is not the same as none."
    )


def test_none_among_few_fish_has_a_wide_upper_limit() -> None:
    """0 of 10: the exact upper limit is 1 - 0.025^(1/10) = 30.8 % (Clopper & Pearson 1934; arithmetic)."""
    visit = make_visit(passes=[{"Creek Chub": 10}])
    Catch.objects.update(anomalies=0)

    assert sentence(visit) == "Anomalies: 0 of 10 fish looked at, 0.0 % (95 % limits 0.0 to 30.8 %)."


def test_fish_that_were_not_looked_at_do_not_thin_the_share() -> None:
    visit = make_visit(passes=[{"Creek Chub": 10, "Mottled Sculpin": 40}])
    Catch.objects.filter(taxon__common_name="Creek Chub").update(anomalies=1)

    assert sentence(visit).startswith("Anomalies: 1 of 10 fish looked at, 10.0 %")
    assert sentence(visit).endswith("They were not noted for the other 40.")


def test_a_visit_without_fish_has_no_share() -> None:
    assert sentence(make_visit(passes=[{}])) == ""
