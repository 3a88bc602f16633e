"""What the checks find, and the pages of their rules in each state, are wholly in the reader's language: read in a
made-up one."""

import datetime
import re
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import translation

from surveys.check_settings import change_rule
from surveys.entry.checking import WORDS
from surveys.language import told
from surveys.rules import RULES
from surveys.uploads.checks import check_season
from surveys.uploads.columns import SEASON_FILE
from surveys.uploads.known import EarlierVisit, Known, KnownMethod, KnownStation, MeanWeights, NearTaxon
from surveys.uploads.reader import read_table
from tests.factories import season_csv
from tests.made_up_language import data_words, left_over, made_up_language, not_given_out

__all__ = ["made_up_language"]  # fixture

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("made_up_language")]

WIDE = {"lightest": 0.5, "heaviest": 900.0, "times": 3.0, "batches": 10.0}
# The account, and the framework's own Spanish.
TYPED = re.compile(r"administrator-\d+|Este campo es obligatorio|Introduzca un número")


def address(name: str, *keys: object) -> str:
    with translation.override("es"):
        return reverse(f"surveys:{name}", args=keys)


def left(response: HttpResponse) -> list[str]:
    data = re.compile(f"{data_words().pattern}|{TYPED.pattern}")
    return list(not_given_out(response, data))


@pytest.fixture
def desk(signed_in) -> Client:
    return signed_in("administrator")


class TestPages:
    @pytest.fixture(autouse=True)
    def changed(self, person) -> None:
        by = person("administrator")
        for limits, off in (({"times": 5.0}, False), (WIDE, False)):
            change_rule(RULES["unusual_weight"], limits=limits, off=off, reason="Large carp", by=by)
        change_rule(RULES["method_differs"], limits={}, off=True, reason="One crew", by=None)
        change_rule(RULES["crew_lead_empty"], limits={}, off=True, reason="No names", by=by)
        change_rule(RULES["crew_lead_empty"], limits={}, off=False, reason="Names again", by=by)

    def test_of_all_rules_say_what_is_set_otherwise(self, desk: Client) -> None:
        assert left(desk.get(address("check_rules"))) == []

    def test_of_all_rules_are_for_those_too_who_cannot_set_them(self, signed_in) -> None:
        assert left(signed_in("biologist").get(address("check_rules"))) == []

    @pytest.mark.parametrize("key", ["unusual_weight", "method_differs", "crew_lead_empty", "fast_pulses"])
    def test_of_one_rule_say_what_was_set(self, desk: Client, key: str) -> None:
        assert left(desk.get(address("check_rule", key))) == []

    @pytest.mark.parametrize(
        "sent",
        [
            {"action": "set"},
            {"action": "back"},
            {"action": "set", "limit_lightest": "-1", "limit_batches": "2.5", "reason": "x"},
        ],
        ids=["empty", "back without a reason", "beyond what may be set"],
    )
    def test_of_a_form_say_its_faults(self, desk: Client, sent: dict[str, str]) -> None:
        response = desk.post(address("check_rule", "unusual_weight"), sent)
        assert response.status_code == 422
        assert left(response) == []

    def test_say_that_a_rule_was_set(self, desk: Client) -> None:
        sent = {"limit_days": "20", "reason": "x", "action": "set"}
        for _ in range(2):
            response = desk.post(address("check_rule", "calibration_old"), sent, follow=True)
            assert response.redirect_chain[0][0].startswith("/es/")
            assert left(response) == []


LAST = {"water_temp_c": 18.5, "ph": 7.4, "turbidity_ntu": 4.1, "conductivity_basis": "ambient", "anodes": 1}
METHOD = KnownMethod(key=1, code="two-pass", season_starts="06-01", season_ends="08-31")
JULY = tuple(datetime.date(year, 7, 12) for year in range(2018, 2024))
KNOWN = Known(
    today=datetime.date(2024, 12, 31),
    stations={
        "mill-01": KnownStation(
            key=1,
            code="MILL-01",
            method=METHOD,
            reach_length_m=75,
            mean_width_m=3,
            earlier_dates=JULY,
            last_method="one-pass",
            most={11: 2},
            history=tuple((day, frozenset({11, 12, 13, 14, 15})) for day in JULY),
            watershed_taxa=frozenset({11, 13}),
            earlier=(EarlierVisit(date=datetime.date(2023, 7, 12), method=1, values=LAST),),
        ),
        "new-01": KnownStation(key=2, code="NEW-01", method=METHOD),
    },
    taxa={"creek chub": (11,), "american eel": (12,), "dace": (11, 13)},
    taxon_names={11: "Semotilus", 12: "Anguilla", 13: "Rhinichthys", 14: "Cottus", 15: "Notropis"},
    methods={"two-pass": METHOD},
    default_method=None,
    near={
        "creek chup": (
            NearTaxon(
                key=11,
                scientific_name="Semotilus",
                common_name="",
                name="Creek Chub",
                kind="common name",
                alike=0.9,
            ),
        )
    },
    mean_weights={11: MeanWeights(least=4, most=12, batches=20)},
)
BASE = {"station": "MILL-01", "visit_date": "2024-07-16", "pass": 1, "taxon": "Creek Chub", "count": 5}
FILES: dict[str, list[dict[str, Any]]] = {
    "names and codes": [
        {"station": "mill-01", "taxon": "Creek Chup"},
        {"station": "MILL-02", "taxon": "Dace"},
        {"taxon": "Snark", "method": "two-pas"},
        {"station": "NEW-01", "taxon": "American Eel"},
    ],
    "days and numbers": [
        {"visit_date": "2027-01-01"},
        {"visit_date": "03/04/2024"},
        {"visit_date": "13/04/2024"},
        {"visit_date": "45000"},
        {"visit_date": "soon"},
        {"visit_date": "2024-02-30"},
        {"visit_date": "1850-02-20"},
        {"count": "-1"},
        {"count": "2.5"},
        {"count": "many"},
        {"count": "", "biomass_g": "1,5"},
        {"biomass_g": "heavy", "effort_s": "30", "ph": "20", "water_temp_c": "31", "crew_size": "1"},
        {"started_at": "25:00", "stop_nets": "left", "bottom_visible": "no", "widths_m": "3; 300"},
    ],
    "weights and fish": [
        {"young_of_year": 6, "anomalies": 7, "biomass_g": 900},
        {"taxon": "American Eel", "gross_g": 100, "tare_g": 120, "count": 0, "biomass_g": 5},
        {"taxon": "no fish", "count": 1, "pass": 2},
        {"pass": 2, "gross_g": 100, "tare_g": 20, "biomass_g": 50, "weighed": 9},
        {"pass": 3, "count": 9, "biomass_g": 0, "gross_g": 10, "released": 3, "in_main": 2},
        {"pass": 3, "count": 9, "pass_biomass_g": 5},
        {"pass": 5, "gross_g": 400, "tare_g": 300, "weighed": 2},
    ],
    "passes": [
        {"started_at": "09:00", "ended_at": "08:00", "reach_length_m": 75},
        {"pass": 2, "started_at": "08:50", "ended_at": "08:55", "effort_s": 900, "reach_length_m": 90},
        {"pass": 3, "started_at": "09:00", "waveform": "AC", "pulse_hz_last": 60, "taxon": "American Eel"},
        {"pass": 3, "taxon": "no fish", "count": 0, "netters": 2},
    ],
    "against the past": [
        {"water_temp_c": 18.5, "ph": 7.4, "turbidity_ntu": 4.1, "conductivity_basis": "25 C", "anodes": 2},
        {"mean_width_m": 9, "widths_m": "3; 4", "calibrated_on": "2024-05-01", "method": "two-pass"},
        {"visit_date": "2024-10-16", "calibrated_on": "2024-11-01", "count": 90},
    ],
}
# What stands in the files, and what is the same in every language.
IN_A_FILE = re.compile(
    "|".join(
        [
            r"'(?!no fish)[^']*'",
            *sorted((rf"\b{c.name}\b" for c in SEASON_FILE), key=len, reverse=True),
            *(word for one in FILES.values() for row in one for word in map(str, row.values())),
            r"NEW-01|MILL-01|two-pass|one-pass|both, upstream, downstream, none|deg C",
            *KNOWN.taxon_names.values(),
            "Creek Chub",
        ]
    )
)


@pytest.mark.parametrize("name", FILES)
def test_what_is_found_in_a_file_is_told_whole(name: str) -> None:
    content = season_csv(*({**BASE, **row} for row in FILES[name]))
    findings = check_season(read_table("season.csv", content), KNOWN).findings
    with translation.override("es"):
        said = [(f.code, told(words)) for f in findings for words in (f.message, f.remedy, f.place)]
    assert len({f.code for f in findings}) >= 5
    assert [(code, rest) for code, words in said if (rest := left_over(words, IN_A_FILE))] == []


@pytest.mark.parametrize(
    ("file", "content"),
    [
        ("a.csv", b""),
        ("a.ods", b"x"),
        ("a.doc", b"x"),
        ("a", b"x"),
        ("a.csv", b"PK\x03\x04"),
        ("a.csv", b"\xff\xfea"),
        ("a.csv", b"a\x00b"),
        ("a.csv", b"station,count\n\xe9,1\n"),
        ("a.csv", b'station,count\n"a,1\n'),
        ("a.csv", b"station;count\na;1;2\n"),
        ("a.csv", b"moon,sun\n1,2\n"),
        ("a.csv", b"station,coutn,Count ,count,\nA,1,2,3,4\n"),
        ("a.csv", b"Season of 2024,,,,,\nstation,visit_date,pass,taxon,count,method\n"),
        ("a.csv", b"station,count\n"),
    ],
)
def test_why_a_file_is_not_read_is_told_whole(file: str, content: bytes) -> None:
    findings = check_season(read_table(file, content), KNOWN).findings
    with translation.override("es"):
        said = [told(words) for f in findings for words in (f.message, f.remedy, f.place)]
    assert said
    data = re.compile(
        r"'[^']*'|coutn|moon|sun|\.ods|\.doc|station, visit_date, pass, taxon, count|" + IN_A_FILE.pattern
    )
    assert [rest for words in said if (rest := left_over(words, data))] == []


def test_every_field_of_a_sheet_has_its_name_in_the_language() -> None:
    with translation.override("es"):
        assert [name for name, words in WORDS.items() if words != "pH" and told(words) == words] == []
