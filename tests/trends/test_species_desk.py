"""Traits, lists, merges and splits: seen before they are done, done with history, refused where ambiguous."""

import datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from surveys.models import Catch, RemovalPass, Taxon, TaxonAlias, Visit, Voucher
from surveys.uploads.reference import load_taxa
from tests.factories import make_station, make_taxon, make_visit
from trends import recompute
from trends.models import ListedTraits, TaxonOperation, TraitList, VisitResult
from trends.taxonomy import Split, TaxaRefused, merge_taxa, split_taxon
from trends.trait_changes import trait_history
from trends.trait_lists import use_list

pytestmark = pytest.mark.django_db

STRATUM = "eastern_piedmont"
CATCH: list[dict[str, int]] = [{"Creek Chub": 40, "Mottled Sculpin": 60, "Brook Trout": 6}, {"Creek Chub": 9}]


def score() -> None:
    RemovalPass.objects.update(biomass_g=1800)
    recompute.mark_all()
    recompute.recompute_marked()


@pytest.fixture
def visit() -> Visit:
    for name in ("Creek Chub", "Mottled Sculpin", "Brook Trout"):
        make_taxon(name, lithophilic=name == "Brook Trout", benthic=name == "Mottled Sculpin")
    station = make_station("WIL-1", stratum=STRATUM, catchment_km2=8.0, mean_width_m=4.0)
    made = make_visit(station, "2023-07-16", passes=CATCH, mean_width_m=4.0)
    score()
    return made


def chub() -> Taxon:
    return Taxon.objects.get(scientific_name="Semotilus atromaculatus")


def form_of(taxon: Taxon, **changes: str) -> dict[str, str]:
    words = {None: "unknown", True: "true", False: "false"}
    return {
        "rank": taxon.rank,
        "family": taxon.family,
        "tolerance": taxon.tolerance,
        "trophic_guild": taxon.trophic_guild,
        **{name: words[getattr(taxon, name)] for name in ("benthic", "lithophilic", "native", "migratory")},
        "traits_source": taxon.traits_source,
        "reason": "Corrected after the regional list.",
        **changes,
    }


def stored() -> float:
    value = VisitResult.objects.get().index_score
    assert value is not None
    return value


# --- traits --------------------------------------------------------------------------------------------


def test_a_changed_trait_is_shown_first_and_then_made(
    visit: Visit, signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client, address = signed_in("administrator"), reverse("trends:trait_change", args=[chub().slug])
    before = stored()
    asked = form_of(chub(), tolerance="intolerant", lithophilic="true")
    shown = client.post(address, asked)
    (moved,) = shown.context["preview"].moved
    assert moved.score_before == pytest.approx(before)
    assert chub().tolerance == "tolerant" and stored() == before
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**asked, "confirm": "yes"})
    assert chub().tolerance == "intolerant"
    # What was promised is what came.
    assert stored() == pytest.approx(moved.score_after)
    assert stored() != before


def test_a_change_of_a_trait_keeps_what_it_was_and_who_changed_it(
    visit: Visit, signed_in: Any, person: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client, address = signed_in("administrator"), reverse("trends:trait_change", args=[chub().slug])
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**form_of(chub(), tolerance="moderate"), "confirm": "yes"})
        client.post(address, {**form_of(chub(), tolerance="intolerant"), "confirm": "yes"})
    latest, first = trait_history(chub())
    assert first.changes == (("tolerance", "tolerant", "moderate"),)
    assert latest.changes == (("tolerance", "moderate", "intolerant"),)
    assert (latest.by, latest.reason) == (str(person("administrator")), "Corrected after the regional list.")
    page = client.get(chub().get_absolute_url()).content.decode()
    assert "tolerance from “moderate” to “intolerant”" in page
    assert "Corrected after" not in Client().get(chub().get_absolute_url()).content.decode()


def test_a_change_needs_a_reason_and_must_change_something(visit: Visit, signed_in: Any) -> None:
    client, address = signed_in("administrator"), reverse("trends:trait_change", args=[chub().slug])
    assert client.post(address, form_of(chub(), tolerance="moderate", reason="")).status_code == 422
    assert client.post(address, form_of(chub())).status_code == 422


@pytest.mark.parametrize("role", ["", "biologist", "planner"])
@pytest.mark.parametrize("name", ["trait_change", "taxon_merge", "taxon_split", "trait_lists"])
def test_only_who_manages_the_lists_is_let_in(visit: Visit, signed_in: Any, role: str, name: str) -> None:
    address = reverse(f"trends:{name}", args=[] if name == "trait_lists" else [chub().slug])
    assert signed_in(role).get(address).status_code == (403 if role else 302)


# --- lists ------------------------------------------------------------------------------------------------


def bring_list(client: Client, text: str) -> Any:
    from django.core.files.uploadedfile import SimpleUploadedFile

    return client.post(
        reverse("trends:trait_lists"),
        {
            "name": "Classification of the plateau",
            "dated": "2011-05-01",
            "region": "the plateau",
            "source": "an invented report, table 2",
            "file": SimpleUploadedFile("list.csv", text.encode()),
        },
    )


LIST = (
    "scientific_name,tolerance,lithophilic\nSemotilus atromaculatus,intolerant,1\nNo such fish,tolerant,0\n"
)


def test_a_list_scores_the_strata_it_serves_and_no_others(
    visit: Visit, signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client, before = signed_in("administrator"), stored()
    answer = bring_list(client, LIST)
    assert answer.status_code == 302
    row = TraitList.objects.get()
    assert ListedTraits.objects.get().traits == {"tolerance": "intolerant", "lithophilic": True}
    assert stored() == before
    address = reverse("trends:trait_list", args=[row.pk])
    asked = {"strata": [STRATUM], "reason": "The method was calibrated on it."}
    (moved,) = client.post(address, asked).context["preview"].moved
    assert stored() == before
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**asked, "confirm": "yes"})
    assert stored() == pytest.approx(moved.score_after) and stored() != before
    # The species list itself stays as it was, and indicators go by it.
    assert chub().tolerance == "tolerant"
    page = Client().get(visit.get_absolute_url()).content.decode()
    assert "Classification of the plateau" in page
    assert "not on it, so with this county’s own traits" in page.replace("&#x27;", "’").replace("'", "’")
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {"strata": [], "reason": "Back.", "confirm": "yes"})
    assert stored() == before


def test_the_band_of_a_visit_goes_by_the_list_that_scores_it(
    visit: Visit, signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    bring_list(client, LIST)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(
            reverse("trends:trait_list", args=[TraitList.objects.get().pk]),
            {"strata": [STRATUM], "reason": "Calibrated on it.", "confirm": "yes"},
        )
    assert "How firm is this score?" in client.get(visit.get_absolute_url()).content.decode()


@pytest.mark.parametrize(
    "text",
    [
        "scientific_name,tolerance\nSemotilus atromaculatus,sturdy\n",
        "scientific_name\nSemotilus atromaculatus\n",
        "x\n1\n",
    ],
    ids=["word", "no trait", "no name"],
)
def test_a_faulty_list_is_not_kept(visit: Visit, signed_in: Any, text: str) -> None:
    assert bring_list(signed_in("administrator"), text).status_code == 422
    assert not TraitList.objects.exists()


def test_the_countys_own_list_has_a_name_and_a_date(visit: Visit, signed_in: Any) -> None:
    client = signed_in("administrator")
    client.post(
        reverse("trends:trait_county"),
        {"name": "Our classification", "dated": "2020-02-01", "source": "settled by the crew"},
    )
    assert (
        "Our classification, dated 1 February 2020"
        in Client().get(chub().get_absolute_url()).content.decode()
    )


# --- merge ----------------------------------------------------------------------------------------------------


def merged(visit: Visit, person: Any, capture: Any) -> TaxonOperation:
    other = make_taxon("Semotilus thoreauianus", common_name="Dixie Chub", code="DXCH")
    first, second = visit.passes.order_by("pass_number")
    Catch.objects.create(removal_pass=first, taxon=other, count=5, young_of_year=2)
    Catch.objects.create(removal_pass=second, taxon=make_taxon("Bluegill"), count=1)
    Taxon.objects.filter(scientific_name="Cottus bairdii").update(look_alikes="Semotilus thoreauianus")
    with capture(execute=True):
        return merge_taxa(other, chub(), by=person("administrator"), reason="One and the same here.")


def test_a_merge_moves_catches_adds_counts_and_keeps_names(
    visit: Visit, person: Any, django_capture_on_commit_callbacks: Any
) -> None:
    operation = merged(visit, person, django_capture_on_commit_callbacks)
    first = visit.passes.get(pass_number=1)
    assert first.catches.get(taxon=chub()).count == 45
    # Known of 5 fish and not of 40: of the 45 it is not known.
    assert first.catches.get(taxon=chub()).young_of_year is None
    assert not Taxon.objects.filter(scientific_name="Semotilus thoreauianus").exists()
    names = set(TaxonAlias.objects.filter(taxon=chub()).values_list("name", flat=True))
    assert names >= {"Semotilus thoreauianus", "Dixie Chub", "DXCH"}
    assert Taxon.objects.get(scientific_name="Cottus bairdii").look_alikes == "Semotilus atromaculatus"
    assert (operation.visits, operation.catches) == (1, 1)
    visit.refresh_from_db()
    result = VisitResult.objects.get()
    assert visit.revision == 2 and result.visit_revision == 2
    assert result.values["total_catch"] == 40 + 60 + 6 + 9 + 5 + 1
    page = Client().get(chub().get_absolute_url()).content.decode()
    assert "was merged into Semotilus atromaculatus" in page
    moved = Client().get("/species/semotilus-thoreauianus/")
    assert (moved.status_code, moved["Location"]) == (301, chub().get_absolute_url())
    assert Client().get("/species/no-such-fish/").status_code == 404


def test_a_merge_adds_fates_and_weights_and_takes_the_vouchers_along(person: Any) -> None:
    """By hand: 40 chub of which 38 were released, and 5 under the other name; 10 of the 40 were weighed."""
    other = make_taxon("Semotilus thoreauianus")
    made = make_visit(passes=[{"Creek Chub": 40, "Semotilus thoreauianus": 5}])
    Catch.objects.filter(count=40).update(released=38, died=2, kept=0, biomass_g=100, weighed=10)
    Catch.objects.filter(count=5).update(released=4, died=0, kept=1, biomass_g=20, unsure=True)
    Voucher.objects.create(visit=made, taxon=other, confirmed_as=other, confirmed_by="K. L.")
    merge_taxa(other, chub(), by=person("administrator"), reason="One and the same here.")
    one = Catch.objects.get()
    assert (one.count, one.released, one.died, one.kept) == (45, 42, 2, 1)
    # All five of the other name were weighed, so fifteen fish make up the 120 g.
    assert (one.biomass_g, one.weighed, one.unsure) == (120, 15, True)
    voucher = Voucher.objects.get()
    assert (voucher.taxon, voucher.confirmed_as) == (chub(), chub())
    assert Voucher.pgh_event_model.objects.filter(taxon_id=other.pk).exists()  # type: ignore[attr-defined]


def test_what_a_merge_took_away_stays_in_the_history(
    visit: Visit, person: Any, django_capture_on_commit_callbacks: Any
) -> None:
    merged(visit, person, django_capture_on_commit_callbacks)
    history: Any = Catch
    gone = history.pgh_event_models["before_delete"].objects.filter(pgh_label="before_delete")
    assert [(e.count, e.young_of_year) for e in gone] == [(5, 2)]


@pytest.mark.parametrize(
    "fields",
    [{"rank": "genus"}, {"hybrid": True, "rank": "hybrid"}, {"sensitive_location": True}],
    ids=["genus", "hybrid", "withheld"],
)
def test_an_ambiguous_merge_is_refused(
    visit: Visit, person: Any, signed_in: Any, fields: dict[str, Any]
) -> None:
    other = make_taxon("Semotilus thoreauianus", **fields)
    with pytest.raises(TaxaRefused):
        merge_taxa(other, chub(), by=person("administrator"), reason="Why.")
    with pytest.raises(TaxaRefused):
        merge_taxa(chub(), chub(), by=person("administrator"), reason="Why.")
    answer = signed_in("administrator").post(
        reverse("trends:taxon_merge", args=[other.slug]), {"into": chub().pk, "reason": "Why."}
    )
    assert answer.status_code == 422
    assert Taxon.objects.filter(pk=other.pk).exists()


def test_a_merge_is_shown_before_it_is_done(
    visit: Visit, signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client = signed_in("administrator")
    sculpin = Taxon.objects.get(scientific_name="Cottus bairdii")
    address = reverse("trends:taxon_merge", args=[sculpin.slug])
    asked = {"into": chub().pk, "reason": "A slip of the list."}
    move = client.post(address, asked).context["move"]
    assert (move.visits, move.catches, move.joined) == (1, 1, 1)
    (moved,) = move.preview.moved
    assert Taxon.objects.filter(pk=sculpin.pk).exists()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**asked, "confirm": "yes"})
    assert stored() == pytest.approx(moved.score_after)


# --- split ------------------------------------------------------------------------------------------------------


def split_of(**changes: Any) -> Split:
    values: dict[str, Any] = {
        "taxon": chub(),
        "new_name": "Semotilus thoreauianus",
        "new_common_name": "Dixie Chub",
        "from_day": datetime.date(2022, 1, 1),
        "stations": (),
    }
    return Split(**{**values, **changes})


def test_a_split_moves_the_records_of_its_time_and_place_alone(
    visit: Visit, person: Any, django_capture_on_commit_callbacks: Any
) -> None:
    Taxon.objects.filter(pk=chub().pk).update(authorship="(Quillon, 1801)")
    earlier = make_visit(visit.station, "2021-07-16", passes=[{"Creek Chub": 7}])
    elsewhere = make_visit(make_station("WIL-2"), "2023-07-16", passes=[{"Creek Chub": 8}])
    with django_capture_on_commit_callbacks(execute=True):
        operation = split_taxon(
            split_of(stations=(visit.station,)), by=person("administrator"), reason="Told apart since."
        )
    new = Taxon.objects.get(scientific_name="Semotilus thoreauianus")
    assert (new.tolerance, new.trophic_guild, new.rank) == ("tolerant", "generalist", "species")
    assert new.authorship == ""  # that of the name it was split from is not its own
    found = {c.removal_pass.visit_id: c.taxon_id for c in Catch.objects.filter(taxon__in=[new, chub()])}
    assert found == {visit.pk: new.pk, earlier.pk: chub().pk, elsewhere.pk: chub().pk}
    assert (operation.visits, operation.catches) == (1, 2)
    # The words name the station, so they are for staff.
    assert operation.words not in Client().get(chub().get_absolute_url()).content.decode()
    visit.refresh_from_db()
    assert visit.revision == 2 and VisitResult.objects.get(visit=visit).visit_revision == 2


def test_a_split_without_time_and_place_or_without_records_is_refused(visit: Visit, person: Any) -> None:
    for asked in (
        split_of(from_day=None),
        split_of(from_day=datetime.date(2024, 1, 1)),
        split_of(new_name="semotilus atromaculatus"),
    ):
        with pytest.raises(TaxaRefused):
            split_taxon(asked, by=person("administrator"), reason="Why.")
    assert not Taxon.objects.filter(scientific_name="Semotilus thoreauianus").exists()


def test_a_split_is_refused_where_the_two_were_told_apart_already(visit: Visit, person: Any) -> None:
    with pytest.raises(TaxaRefused, match="told apart"):
        split_taxon(split_of(new_name="Cottus bairdii"), by=person("administrator"), reason="Why.")


def test_a_split_is_shown_before_it_is_done(
    visit: Visit, signed_in: Any, django_capture_on_commit_callbacks: Any
) -> None:
    client, address = signed_in("administrator"), reverse("trends:taxon_split", args=[chub().slug])
    asked = {"new_name": "Semotilus thoreauianus", "from_day": "2022-01-01", "reason": "Told apart since."}
    move = client.post(address, asked).context["move"]
    assert (move.visits, move.catches, move.refusal) == (1, 2, "")
    assert not Taxon.objects.filter(scientific_name="Semotilus thoreauianus").exists()
    with django_capture_on_commit_callbacks(execute=True):
        client.post(address, {**asked, "confirm": "yes"})
    assert TaxonOperation.objects.get().kind == "split"


def test_indicators_use_the_list_that_serves_the_station_and_the_page_says_which(
    visit: Visit, client: Client
) -> None:
    """A tolerant fish of the county is an intolerant one of the list: the shares change at its station alone."""
    Taxon.objects.update(tolerance="tolerant", native=True)
    other = make_visit(make_station("OAK-1", stratum="coastal_plain"), "2023-07-16", passes=CATCH)
    held = TraitList.objects.create(name="Highland list", dated="2019-01-01", source="A report")
    for taxon in Taxon.objects.all():
        traits = {"tolerance": "intolerant", "native": False}
        ListedTraits.objects.create(trait_list=held, taxon=taxon, traits=traits)
    use_list(held, [STRATUM], reason="The method was calibrated on it.")
    score()
    read = {r.visit_id: r.values for r in VisitResult.objects.filter(visit__in=[visit, other])}
    assert (read[visit.pk]["intolerant_share_pct"], read[visit.pk]["native_richness"]) == (100.0, 0.0)
    assert (read[other.pk]["intolerant_share_pct"], read[other.pk]["native_richness"]) == (0.0, 3.0)
    assert "Highland list, 2019-01-01" in client.get(f"/visits/{visit.pk}/").content.decode()
    assert "the county&#x27;s own" in client.get(f"/visits/{other.pk}/").content.decode()


@pytest.mark.parametrize("dry_run", [True, False])
def test_a_list_of_taxa_tells_the_scores_that_would_change_before_it_is_stored(
    visit: Visit, dry_run: bool
) -> None:
    was = Taxon.objects.get(scientific_name="Cottus bairdii").benthic
    content = b"scientific_name,benthic\nCottus bairdii,0\n"
    told = [
        f.message
        for f in load_taxa("taxa.csv", content, dry_run=dry_run).findings
        if f.code == "score_would_change"
    ]
    assert told[0].startswith("The index score or rating would change at 1 of 1 accepted visits")
    assert told[1].startswith("WIL-1 on 2023-07-16: ")
    taxon = Taxon.objects.get(scientific_name="Cottus bairdii")
    assert taxon.benthic == (was if dry_run else False)
    assert bool(trait_history(taxon)) is not dry_run
