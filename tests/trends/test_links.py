"""No link of the public site leads nowhere: every address it names answers, every place on a page exists.

The walk starts at the front page and follows what it finds. A link with a question in it (``?from=2015``)
is followed from pages without one, so that choices on choices do not multiply without end.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import unquote, urldefrag, urlencode, urljoin, urlsplit

import pytest
from django.conf import settings as project
from django.contrib.staticfiles import finders
from django.core.cache import caches
from django.test import Client

from tests.factories import make_station, make_visit
from trends.models import LandUseNote
from trends.recompute import mark_all, recompute_marked

SITE = "http://testserver"
ADDRESSES = frozenset({"href", "xlink:href", "src", "poster", "formaction"})
NOT_PAGES = ("mailto:", "tel:", "data:", "javascript:")
MOST_HOPS = 5


class Links(HTMLParser):
    """The addresses that a page names, and the places on it that a link may name."""

    def __init__(self, address: str) -> None:
        super().__init__()
        self.address = address
        self.named: list[str] = []
        self.choices: dict[tuple[str, str, str], str] = {}
        self.form, self.form_action, self.select = "", "", ""
        self.places: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.named += [value for name, value in given.items() if name in ADDRESSES]
        # Scripts fetch what such an attribute names.
        self.named += [v for name, v in given.items() if name.startswith("data-") and v.startswith("/")]
        if place := given.get("id"):
            self.places.add(place)
        # A form that only asks is a bundle of links; one that changes something is not for a walk.
        if tag == "form":
            asks = given.get("method", "get").lower() == "get"
            self.form = given.get("aria-label") or given.get("class", "form") if asks else ""
            self.form_action = given.get("action", "")
        elif tag == "select":
            self.select = given.get("name", "")
        elif self.form and tag == "option" and self.select:
            self._choice(self.select, given.get("value", ""))
        elif self.form and given.get("type") in ("radio", "checkbox") and given.get("name"):
            self._choice(given["name"], given.get("value", "on"))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = ""

    def _choice(self, name: str, value: str) -> None:
        # A browser puts the answers in the place of a question that the address had, before its fragment.
        base, place = urldefrag(self.form_action)
        asked = f"{base.partition('?')[0]}?{urlencode({name: value})}"
        self.choices[self.form, name, value] = f"{asked}#{place}" if place else asked


@dataclass
class Walk:
    """What was found on the way: the places of each page, who led to what, and the faults."""

    places: dict[str, set[str]] = field(default_factory=dict)
    first_seen_on: dict[str, str] = field(default_factory=dict)
    to_places: dict[tuple[str, str], str] = field(default_factory=dict)
    tried: set[tuple[str, str, str]] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)


@pytest.fixture
def county(db: None) -> Iterator[None]:
    """Two creeks, one with a note, of which every kind of public page can be made; only one has a trend."""
    caches["pages"].clear()
    for code, creek, years in (
        ("WIL-01", "Willow Run", range(2014, 2024)),
        ("WIL-02", "Willow Run", range(2014, 2024)),
        ("ASH-01", "Ash Branch", range(2022, 2024)),
    ):
        station = make_station(
            code,
            watershed=creek,
            latitude=39.1,
            longitude=-77.25,
            stratum="eastern_piedmont",
            catchment_km2=9,
        )
        for year in years:
            fish = {"Creek Chub": 20 + year % 5, "Blacknose Dace": 8, "Mottled Sculpin": 3}
            make_visit(station, f"{year}-07-10", passes=[fish, {"Creek Chub": 4}], mean_width_m=4)
        if code == "WIL-01":
            LandUseNote.objects.create(
                watershed=station.watershed,
                category="trail",
                starts_on="2017-04-01",
                title="Trail paved",
                public=True,
            )
    mark_all()
    recompute_marked()
    yield
    caches["pages"].clear()


def walk(start: str = "/") -> Walk:
    """Open every page that can be reached from ``start`` by somebody who is not signed in."""
    client, found, waiting = Client(), Walk(first_seen_on={start: "the start"}), deque([start])
    while waiting:
        address = waiting.popleft()
        page = _answer(client, address, found)
        if page is None:
            continue
        found.places[address] = page.places
        # What a form offers is asked for on the first page that has such a form.
        choices = {} if urlsplit(address).query else page.choices
        untried = [link for choice, link in choices.items() if choice not in found.tried]
        found.tried |= choices.keys()
        for link in [*page.named, *untried]:
            target, place = urldefrag(urljoin(f"{SITE}{page.address}", link))
            if link.startswith(NOT_PAGES) or not target.startswith(f"{SITE}/"):
                continue
            target = target.removeprefix(SITE)
            if urlsplit(target).query and urlsplit(address).query and target != address:
                continue
            if place:
                found.to_places.setdefault((target, unquote(place)), address)
            if target not in found.first_seen_on:
                found.first_seen_on[target] = address
                waiting.append(target)
    return found


def _answer(client: Client, address: str, found: Walk) -> Links | None:
    """The links of a page; nothing for a file, or for an address that does not answer, which is a fault."""
    told = f"{address} (linked from {found.first_seen_on[address]})"
    path = urlsplit(address).path
    if path.startswith(project.STATIC_URL):
        if not finders.find(unquote(path.removeprefix(project.STATIC_URL))):
            found.faults.append(f"{told}: no such file")
        return None
    response = client.get(address)
    for _ in range(MOST_HOPS):
        if response.status_code not in (301, 302, 303, 307, 308):
            break
        address = urljoin(address, response["Location"])
        response = client.get(address)
    if response.status_code != 200:
        found.faults.append(f"{told}: answers {response.status_code}")
        return None
    body = b"".join(response) if response.streaming else response.content
    if not response.get("Content-Type", "").startswith("text/html"):
        if not body:
            found.faults.append(f"{told}: an empty file")
        return None
    links = Links(address)
    links.feed(body.decode())
    return links


def test_every_link_of_the_public_site_leads_somewhere(county: None) -> None:
    found = walk()
    for (target, place), page in found.to_places.items():
        if place not in found.places.get(target, {place}):
            found.faults.append(f"{target}#{place} (linked from {page}): no such place on the page")
    assert not found.faults, "\n".join(found.faults)

    # The walk has been everywhere: a page of each kind, in both languages, its data and the files.
    reached = {urlsplit(address).path for address in found.first_seen_on}
    for page in (
        "/watersheds/willow-run/",
        "/watersheds/ash-branch/",
        "/stations/WIL-01/",
        "/species/semotilus-atromaculatus/",
        "/compare/",
        "/methods/",
        "/data/",
    ):
        assert {page, f"/es{page}"} <= reached, page
    for file in ("/creeks.json", "/creeks.csv", "/watersheds/willow-run.csv", "/stations/WIL-01.json"):
        assert file in reached, file
    assert any(path.startswith("/visits/") for path in reached)
    assert any(path.startswith("/static/") for path in reached)
    assert any(path.startswith("/static/vendor/plotly/") for path in reached)
    assert any("measure=" in urlsplit(address).query for address in found.first_seen_on)
    assert found.to_places, "no page leads to a place on a page"
