"""The register: every filter, every sort, pages, and addresses that make no sense."""

from datetime import date

import pytest
from django.urls import reverse

from collection import services
from collection.models import Listing, Measurement, Specimen
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
HTMX = {"HX-Request": "true"}
DAY = date(2026, 5, 1)


def register(client, headers=None, **query):
    answer = client.get(reverse("collection:specimen-list"), query, headers=headers)
    assert answer.status_code == 200
    return answer


def codes(client, **query):
    return [specimen.code for specimen, _ in register(client, **query).context["rows"]]


@pytest.fixture
def house():
    """One of each sort."""
    taxon = make.TaxonFactory(name="Fictor niger", common_name="ink spider")
    taxon.other_names.create(name="Fictor antiquus")
    mantis = make.TaxonFactory(name="Mantis ficta", group="mantis")
    Listing.objects.create(taxon=mantis, entry="II", as_of=DAY)
    make.female(code="F", taxon=taxon, name="Agatha")
    make.male(code="M", taxon=taxon)
    torn = make.SpecimenFactory(code="T", taxon=taxon)
    for finding in ("female", "male"):
        make.looked(torn, finding, looked_by=finding)
    grown = make.SpecimenFactory(code="Q", taxon=mantis)
    services.write(Measurement(specimen=grown, earliest=DAY, latest=DAY, stage_seen="adult"), [grown], "measured")
    make.SpecimenFactory(code="G", taxon=taxon, kind="group")
    make.died(make.SpecimenFactory(code="X", taxon=taxon), DAY)
    make.left(make.SpecimenFactory(code="P", taxon=taxon), DAY)
    make.left(make.SpecimenFactory(code="L", taxon=taxon), DAY, kind="loan_out")
    make.left(make.SpecimenFactory(code="V", taxon=taxon), DAY, kind="missing")
    make.SpecimenFactory(code="I", taxon=taxon, how="loan")


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({}, "FGIMQT"),
        ({"status": "all"}, "FGILMPQTVX"),
        ({"status": "dead"}, "X"),
        ({"status": "passed_on"}, "P"),
        ({"status": "loan_out"}, "L"),
        ({"status": "loan_in"}, "I"),
        ({"status": "missing"}, "V"),
        ({"sex": "females"}, "F"),
        ({"sex": "males"}, "M"),
        ({"sex": "unsexed"}, "IQT"),
        ({"sex": "conflict"}, "T"),
        ({"group": "mantis"}, "Q"),
        ({"stage": "adult"}, "Q"),
        ({"stage": "culture"}, "G"),
        ({"listed": "on"}, "Q"),
        ({"q": "agatha"}, "F"),
        ({"q": "niger"}, "FGIMT"),
        ({"q": "ink spider", "sex": "males"}, "M"),
        ({"q": "antiquus"}, "FGIMT"),
        ({"q": "nobody"}, ""),
        ({"q": "%"}, ""),
        ({"group": "tarantula", "status": "all", "sex": "unsexed"}, "ILPTVX"),
    ],
)
def test_the_register_is_narrowed(keeper_client, house, query, expected):
    assert "".join(codes(keeper_client, **query)) == expected
    assert register(keeper_client, **query).context["page"].paginator.count == len(expected)


def test_a_taxon_is_asked_for_by_its_number(keeper_client, house):
    number = Specimen.objects.get(code="Q").taxon_id
    assert codes(keeper_client, taxon=number) == ["Q"]
    text = register(keeper_client, taxon=number).content.decode()
    assert f'<input type="hidden" name="taxon" value="{number}" id="id_taxon">' in text  # kept when narrowed further
    assert codes(keeper_client, taxon=999999) == []


def test_a_place_holds_all_that_stands_in_it(keeper_client, house):
    room = make.place("Room", "room")
    shelf = make.place("Shelf", "shelf", room)
    make.housed(Specimen.objects.get(code="F"), place=shelf)
    make.housed(Specimen.objects.get(code="M"), place=make.place("Attic", "room"))
    assert codes(keeper_client, place=room.pk) == ["F"]
    assert codes(keeper_client, place=shelf.pk) == ["F"]


@pytest.mark.parametrize(
    ("sort", "expected"),
    [
        ("code", ["A", "B", "C"]),
        ("taxon", ["C", "A", "B"]),
        ("sex", ["B", "C", "A"]),
        ("size", ["C", "A", "B"]),
        ("molt", ["B", "A", "C"]),
        ("since", ["A", "C", "B"]),
        ("nonsense", ["A", "B", "C"]),
    ],
)
def test_the_register_is_sorted(keeper_client, sort, expected):
    beta, alpha = make.TaxonFactory(name="Beta"), make.TaxonFactory(name="Alpha")

    def came(year):
        return {"acquired_earliest": date(year, 1, 1), "acquired_latest": date(year, 1, 1)}

    one = make.SpecimenFactory(code="A", taxon=beta, **came(2025))
    two = make.male(code="B", taxon=beta, **came(2023))
    three = make.female(code="C", taxon=alpha, **came(2024))
    make.molted(one, DAY, leg_span_mm=50)
    make.molted(two, date(2026, 6, 1))
    make.molted(three, date(2026, 4, 1), leg_span_mm=90)
    assert codes(keeper_client, sort=sort) == expected


@pytest.mark.parametrize(
    "query",
    [
        {"page": "abc"},
        {"page": "-3"},
        {"page": "9" * 30},
        {"sex": "xx"},
        {"stage": "xx"},
        {"status": "xx"},
        {"group": "xx"},
        {"place": "999999"},
        {"place": "x"},
        {"taxon": "x"},
        {"taxon": "²"},
        {"taxon": "-1"},
        {"sort": "-standing__sex"},
        {"q": "x" * 101},
        {"q": "\0"},
        {"taxon": "9" * 30},
        {"unknown": "thing"},
    ],
)
def test_an_address_that_makes_no_sense_still_opens_the_register(keeper_client, house, query):
    assert codes(keeper_client, **query) == list("FGIMQT")


def test_a_long_register_is_turned_page_by_page(keeper_client):
    taxon = make.TaxonFactory()
    for n in range(51):
        make.SpecimenFactory(code=f"B-{n:02d}", taxon=taxon)
    first, second = register(keeper_client), register(keeper_client, page=2)
    assert (len(first.context["rows"]), [animal.code for animal, _ in second.context["rows"]]) == (50, ["B-50"])
    assert "51 animals" in first.content.decode()
    assert "page=2" in first.content.decode()


def test_pages_keep_what_was_asked_for(keeper_client):
    taxon = make.TaxonFactory()
    for n in range(51):
        make.SpecimenFactory(code=f"B-{n:02d}", taxon=taxon)
    text = register(keeper_client, q="B-", sort="since").content.decode()
    assert "q=B-&amp;sort=since&amp;page=2" in text


def test_a_row_shows_what_upper_apps_know_of_the_animal(keeper_client):
    animal = make.SpecimenFactory()
    shelf = make.place("Shelf 1", "shelf", make.place("Rack A", parent=make.place("Room", "room")), order=1)
    make.housed(animal, "E-1", place=shelf, position=3)
    make.fed(animal, DAY)
    make.fed(animal, date(2026, 5, 8), "refused")
    ((_, cells),) = register(keeper_client).context["rows"]
    assert {column.name: value for column, value in cells} == {
        "place": "Rack A, Shelf 1, place 3, E-1",
        "meal": "2026-05-01",
        "health": "",
    }


def test_the_list_alone_comes_as_a_fragment(keeper_client, house):
    text = register(keeper_client, HTMX).content.decode()
    assert text.lstrip().startswith('<div id="register">')
    assert "<html" not in text


def test_an_empty_register_and_an_empty_answer_are_told_apart(keeper_client):
    assert "The register is empty" in register(keeper_client).content.decode()
    assert "No animal fits all of this." in register(keeper_client, sex="males").content.decode()


def test_the_register_is_the_keepers(helper_client):
    assert helper_client.get(reverse("collection:specimen-list")).status_code == 403
