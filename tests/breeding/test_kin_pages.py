"""Kin pages: the pedigree, the relation of two, the line, and possible sires from a form."""

import pytest
from django.urls import reverse

from breeding.models import Kin
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


@pytest.fixture
def family():
    dam = make.female(code="Ada")
    taxon = dam.taxon
    sire = make.male(code="Sam", taxon=taxon)
    made = {"Ada": dam, "Sam": sire}
    for code, clutch in (("One", "A/1"), ("Two", "A/1"), ("Three", "A/2")):
        made[code] = make.female(code=code, dam=dam, sire=sire, clutch=clutch, taxon=taxon)
    return made


def page(client, animal, **query):
    return client.get(reverse("breeding:specimen-kin", args=[animal.pk]), query).content.decode()


def test_the_pedigree_names_parents_mates_and_young(family, keeper_client):
    young = page(keeper_client, family["One"])
    for words in ("Ada", "Sam", "Two", "no common ancestor of its parents is known", "1 generation of ancestors"):
        assert words in young
    assert "A/1" in page(keeper_client, family["Ada"])


def test_an_animal_without_parents_is_told_how_to_get_some(family, keeper_client):
    assert "Here will stand its ancestors" in page(keeper_client, family["Ada"])


def test_two_animals_are_compared_in_words_and_number(family, keeper_client):
    said = page(keeper_client, family["One"], other="two")
    assert "One and Two: full sisters from one sac." in said
    assert "25 % (1/4)" in said
    both = keeper_client.get("/breeding/kin/", {"first": "Ada", "other": "Three"}).content.decode()
    assert "Ada and Three: mother and daughter." in both


def test_a_code_that_is_none_is_refused_beside_its_field(family, keeper_client):
    both = keeper_client.get("/breeding/kin/", {"first": "Ada", "other": "nobody"}).content.decode()
    assert "No animal is called “nobody”." in both
    assert 'value="Ada"' in both


def test_a_line_tells_its_founders_and_who_is_to_breed_first(family, keeper_client):
    said = keeper_client.get(reverse("breeding:line", args=[family["Ada"].taxon_id])).content.decode()
    assert "5 living animals of no known locality" in said
    assert "2 founders stand behind them" in said
    ranking = said[said.index("least related") :]
    assert ranking.index("Ada</a>") < ranking.index("Three</a>")


def test_a_line_of_nobody(keeper_client):
    taxon = make.TaxonFactory()
    assert "No living single animal" in keeper_client.get(reverse("breeding:line", args=[taxon.pk])).content.decode()


def test_possible_sires_are_written_as_a_keeper_says_them(family, keeper_client):
    young = make.SpecimenFactory(code="Doubt", dam=family["One"], taxon=family["Ada"].taxon)
    url = reverse("breeding:sires-edit", args=[young.pk])
    answer = keeper_client.post(url, {"sires": "sam 60 %; M-9 12,5%", "once": "a"})
    assert (answer.status_code, "No animal is called “M-9”." in answer.content.decode()) == (422, True)
    make.male(code="M-9", taxon=family["Ada"].taxon)
    assert keeper_client.post(url, {"sires": "sam 60 %, M-9 12,5%", "once": "b"}).status_code == 302
    assert Kin.objects.get(pk=young.pk).inbreeding == pytest.approx(0.6 * 0.25)
    assert "Sam</a> 60 %, <a" in page(keeper_client, young)
    assert "Sam 60 %, M-9 12.5 %" in keeper_client.get(url).content.decode()


@pytest.mark.parametrize(
    ("text", "words"), [("Sam 60 %, Ada", "“Ada” has no chance"), ("Sam 70 %, Sam 40 %", "more than 100 %")]
)
def test_sires_that_do_not_add_up_are_refused(family, keeper_client, text, words):
    young = make.SpecimenFactory(code="Doubt", dam=family["One"], taxon=family["Ada"].taxon)
    answer = keeper_client.post(reverse("breeding:sires-edit", args=[young.pk]), {"sires": text, "once": "a"})
    assert answer.status_code == 422
    assert words in answer.content.decode()


def test_the_panel_tells_the_parents_and_the_number(family, keeper_client):
    said = keeper_client.get(family["One"].get_absolute_url()).content.decode()
    assert "Inbreeding coefficient 0 %" in said
    assert "1 sac-mate on file" in said
    assert "3 young on file" in keeper_client.get(family["Ada"].get_absolute_url()).content.decode()


def test_a_helper_is_not_led_to_a_page_of_the_keeper(family, helper_client):
    said = helper_client.get(family["One"].get_absolute_url()).content.decode()
    assert "1 sac-mate on file" in said
    assert reverse("breeding:specimen-kin", args=[family["One"].pk]) not in said
