"""What a name means, and what was listed on a day."""

from datetime import date

import pytest

from collection import taxa
from collection.models import Listing, Taxon

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _seeded(db):
    taxa.seed()


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Tliltocatl albopilosus", "Tliltocatl albopilosus"),
        ("Brachypelma albopilosum", "Tliltocatl albopilosus"),  # Mendoza & Francke 2020
        ("brachypelma  ALBOPILOSUM", "Tliltocatl albopilosus"),
        ("Brachypelma albopilosum Valerio, 1980", "Tliltocatl albopilosus"),
        ("Tliltocatl albopilosus (Valerio, 1980)", "Tliltocatl albopilosus"),
        ("Tliltocatl albopilosus Valerio", "Tliltocatl albopilosus"),
        ("Brachypelma vagans", "Tliltocatl vagans"),
        ("Grammostola aureostriata Schmidt & Bullmer, 2001", "Grammostola pulchripes"),
        ("Haplopelma lividum", "Cyriopagopus lividus"),
        ("Lampropelma violaceopes", "Omothymus violaceopes"),
        ("Citharischius crawshayi", "Pelinobius muticus"),
        ("Avicularia versicolor", "Caribena versicolor"),
        ("Poecilotheria pederseni", "Poecilotheria vittata"),
        ("Nephila clavipes", "Trichonephila clavipes"),
        ("  Aphonopelma albiceps ", "Brachypelma albiceps"),
    ],
)
def test_old_and_new_names_lead_to_the_taxon(typed, name):
    assert taxa.resolve(typed).name == name


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "Brachypelma",
        "Brachypelma hamori",  # one letter off: the import asks, nothing is taken in silence
        "Brachypelma cf. hamorii",
        "Brachypelma hamorii x smithi",
        "Pterinochilus murinus Usambara",  # a form is not its species
        "Poecilotheria sp. lowland",
        "B. hamorii",
    ],
)
def test_anything_less_than_the_name_resolves_to_nothing(typed):
    assert taxa.resolve(typed) is None


def test_the_indian_ornamental_was_not_listed_in_june_2019_but_was_in_january_2020():
    taxon = Taxon.objects.get(name="Poecilotheria regalis")  # CITES CoP18 Prop. 46
    assert taxa.listing_on(taxon, date(2019, 6, 1)) == []
    assert taxa.listing_on(taxon, date(2019, 11, 25)) == []
    assert [str(listing) for listing in taxa.listing_on(taxon, date(2019, 11, 26))] == ["CITES Appendix II"]
    assert [str(listing) for listing in taxa.listing_on(taxon, date(2020, 1, 1))] == ["CITES Appendix II"]


def test_an_old_name_finds_the_listing_of_its_species():
    # Mendoza & Francke 2020; species conservation profiles of CITES-listed tarantulas 2019
    listings = taxa.listing_on(taxa.resolve("Brachypelma albopilosum"), date(2000, 1, 1))
    assert [(str(listing), listing.since.year) for listing in listings] == [("CITES Appendix II", 1995)]


@pytest.mark.parametrize(
    ("name", "endangered"),
    [("fasciata", True), ("ornata", True), ("vittata", True), ("regalis", False), ("metallica", False)],
)
def test_the_us_rule_of_2018_names_three_of_the_shipped_ornamentals(name, endangered):
    taxon = Taxon.objects.get(name=f"Poecilotheria {name}")  # 83 FR 36755
    entries = {listing.scheme for listing in taxa.listing_on(taxon, date(2018, 8, 30))}
    assert ("US ESA" in entries) is endangered
    assert taxa.listing_on(taxon, date(2018, 8, 29)) == []


def test_the_red_knees_are_listed_since_1985_and_a_listing_without_a_date_always_counts():
    taxon = Taxon.objects.get(name="Brachypelma hamorii")
    assert taxa.listing_on(taxon, date(1985, 7, 31)) == []
    assert taxa.listing_on(taxon, date(1985, 8, 1))
    Listing.objects.create(taxon=taxon, scheme="Local", entry="protected", as_of=date(2026, 1, 1))
    assert [listing.scheme for listing in taxa.listing_on(taxon, date(1980, 1, 1))] == ["Local"]
