"""Seeding: the shipped species come in once, follow later versions, and never overrule the keeper."""

import csv
import shutil

import pytest
from django.core.management import call_command

from collection import taxa, taxon_fixture
from collection.models import Listing, Taxon, TaxonName

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path):
    """A copy of the shipped tables that a test may change."""
    return shutil.copytree(taxon_fixture.FOLDER, tmp_path / "taxa")


def change(folder, table, name, **cells):
    """Change the cells of one row, found by its first column."""
    path = folder / f"{table}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if next(iter(row.values())) == name:
            row.update(cells)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def get(name):
    return Taxon.objects.get(name=name)


def test_the_first_seeding_brings_everything_in(folder):
    done = taxa.seed(folder)
    assert (done.new, Taxon.objects.count()) == (97, 97)
    assert TaxonName.objects.count() == 47
    assert Listing.objects.count() == 18
    assert get("Brachypelma hamorii").history.get().history_change_reason == taxa.REASON


def test_a_second_seeding_asks_one_question_and_changes_nothing(folder, django_assert_num_queries):
    taxa.seed(folder)
    with django_assert_num_queries(1):
        assert taxa.seed(folder).unchanged


def test_an_untouched_field_follows_a_new_version_and_an_edited_one_stays(folder):
    taxa.seed(folder)
    taxon = get("Brachypelma hamorii")
    taxon.humidity_min = 50
    taxon.save()
    change(folder, "taxa", "Brachypelma hamorii", humidity_min="60", celsius_min="24")
    done = taxa.seed(folder)
    taxon = get("Brachypelma hamorii")
    assert (taxon.humidity_min, taxon.celsius_min) == (50, 24)
    assert (done.new, done.changed, done.kept) == (0, 1, 1)


def test_an_edit_stays_over_every_later_version_too(folder):
    taxa.seed(folder)
    Taxon.objects.filter(name="Psalmopoeus irminia").update(clutch_max=150)
    for shipped in ("220", "230"):
        change(folder, "taxa", "Psalmopoeus irminia", clutch_max=shipped)
        taxa.seed(folder)
        assert get("Psalmopoeus irminia").clutch_max == 150


def test_a_cell_the_keeper_emptied_stays_empty_and_one_put_back_follows_again(folder):
    taxa.seed(folder)
    Taxon.objects.filter(name="Psalmopoeus irminia").update(clutch_min=None, clutch_max=200)
    change(folder, "taxa", "Psalmopoeus irminia", clutch_min="85", clutch_max="220")
    taxa.seed(folder)
    taxon = get("Psalmopoeus irminia")
    assert (taxon.clutch_min, taxon.clutch_max) == (None, 220)


def test_the_source_of_an_edited_figure_stays_while_the_others_follow(folder):
    taxa.seed(folder)
    taxon = get("Lasiodora parahybana")
    taxon.sources["clutch"] = "my own three sacs"
    taxon.save()
    change(folder, "sources", "practice", citation="common practice")
    taxa.seed(folder)
    sources = get("Lasiodora parahybana").sources
    assert sources["clutch"] == "my own three sacs"
    assert sources["humidity"] == "common practice"


def test_a_keepers_own_row_of_the_same_name_keeps_its_values_and_gains_the_missing_ones(folder):
    Taxon.objects.create(name="Xenesthis immanis", group="tarantula", humidity_min=60, common_name="my dark one")
    done = taxa.seed(folder)
    taxon = get("Xenesthis immanis")
    assert done.new == 96
    assert (taxon.humidity_min, taxon.common_name, taxon.celsius_min) == (60, "my dark one", 23)


def test_a_renamed_row_is_found_again_and_keeps_the_keepers_name(folder):
    taxa.seed(folder)
    Taxon.objects.filter(name="Grammostola rosea").update(name="Grammostola rosea RCF")
    change(folder, "taxa", "Grammostola rosea", clutch_min="250")
    assert taxa.seed(folder).new == 0
    assert get("Grammostola rosea RCF").clutch_min == 250


def test_a_name_changed_by_science_changes_the_row_and_the_old_one_still_resolves(folder):
    taxa.seed(folder)
    before = get("Cyriopagopus lividus").pk
    for table in ("taxa", "names", "figures"):
        path = folder / f"{table}.csv"
        text = path.read_text(encoding="utf-8").replace("Cyriopagopus lividus", "Novogenus lividus")
        path.write_text(text, encoding="utf-8")
    with (folder / "names.csv").open("a", encoding="utf-8") as file:
        file.write("Novogenus lividus,Cyriopagopus lividus,synonym,memory\n")
    assert taxa.seed(folder).new == 0
    assert get("Novogenus lividus").pk == before == taxa.resolve("Cyriopagopus lividus").pk


def test_a_synonym_or_listing_the_keeper_took_away_stays_away(folder):
    taxa.seed(folder)
    TaxonName.objects.get(name="Holothele incei").delete()
    Listing.objects.get(taxon__name="Pandinus imperator").delete()
    change(folder, "taxa", "Pandinus imperator", clutch_min="11")
    taxa.seed(folder)
    assert taxa.resolve("Holothele incei") is None
    assert not get("Pandinus imperator").listings.exists()


def test_the_keepers_own_names_and_listings_stay_and_shipped_ones_follow(folder):
    taxa.seed(folder)
    taxon = get("Pandinus imperator")
    TaxonName.objects.create(taxon=taxon, name="the big black one", kind="trade")
    Listing.objects.create(taxon=taxon, scheme="House", entry="locked shelf", as_of="2026-01-01")
    change(folder, "listings", "Pandinus imperator", as_of="2025-12-05")
    taxa.seed(folder)
    assert taxa.resolve("The big black one") == taxon
    as_of = dict(taxon.listings.values_list("scheme", "as_of"))
    assert {scheme: str(day) for scheme, day in as_of.items()} == {"House": "2026-01-01", "CITES": "2025-12-05"}


def test_a_shipped_synonym_that_the_keeper_gave_to_another_taxon_stays_there(folder):
    own = Taxon.objects.create(name="Grammostola porteri", group="tarantula")
    taxa.seed(folder)
    assert taxa.resolve("Grammostola porteri") == own


def test_the_command_says_what_it_did(capsys):
    call_command("seed_taxa")
    call_command("seed_taxa")
    said = capsys.readouterr().out.splitlines()
    assert said == [
        "Species: 97 new, 0 changed; 0 edits of yours kept.",
        "The shipped species are in place already.",
    ]
