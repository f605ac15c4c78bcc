"""The one box: a code, a name, a taxon, a tag or a scanned address."""

import pytest
from django.urls import reverse

from tests import factories as make

pytestmark = pytest.mark.django_db


def find(client, text):
    return client.get(reverse("collection:find"), {"q": text})


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1", name="Agatha", taxon__name="Fictor niger", taxon__common_name="ink spider")


@pytest.mark.parametrize("text", ["B-1", "b-1", " B-1 ", "agatha", "Fictor", "ink", "iger"])
def test_what_means_one_animal_leads_to_it(keeper_client, animal, text):
    assert find(keeper_client, text).url == animal.get_absolute_url()


def test_an_old_name_of_its_taxon_leads_to_it(keeper_client, animal):
    animal.taxon.other_names.create(name="Fictor antiquus")
    assert find(keeper_client, "antiquus").url == animal.get_absolute_url()


def test_a_whole_code_goes_before_all_that_contain_it(keeper_client, animal):
    for n in range(3):
        make.SpecimenFactory(code=f"B-1{n}")
    assert find(keeper_client, "B-1").url == animal.get_absolute_url()


@pytest.mark.parametrize("shape", ["{}", "{} ", "HTTP://SCOPULA.LOCAL/Q/{}", "http://192.168.1.5:8000/q/{}/?x=1"])
def test_a_tag_or_the_address_on_a_label_leads_to_what_it_is_on(keeper_client, animal, shape):
    answer = keeper_client.get(find(keeper_client, shape.format(animal.tag)).url)
    assert answer.url == animal.get_absolute_url()


def test_a_tag_in_two_groups_and_small_letters_is_read_as_well(keeper_client):
    box = make.EnclosureFactory()
    typed = f"{box.tag[:4]} {box.tag[4:]}".lower()
    assert keeper_client.get(find(keeper_client, typed).url).url == box.get_absolute_url()


def test_several_are_listed_by_code(keeper_client):
    for code in ("B-2", "B-3", "B-1"):
        make.SpecimenFactory(code=code)
    assert [animal.code for animal in find(keeper_client, "B-").context["found"]] == ["B-1", "B-2", "B-3"]


def test_no_more_than_twenty_are_listed_and_that_is_said(keeper_client):
    for n in range(21):
        make.SpecimenFactory(code=f"B-{n:02d}")
    context = find(keeper_client, "B-").context
    assert (len(context["found"]), context["more"]) == (20, True)


@pytest.mark.parametrize("text", ["", "   ", "nobody", "%", "'; --", "x" * 5000])
def test_what_means_nobody_says_so(keeper_client, animal, text):
    answer = find(keeper_client, text)
    assert (answer.status_code, answer.context["found"]) == (200, [])


def test_the_box_without_a_word_is_a_page(keeper_client):
    assert keeper_client.get(reverse("collection:find")).status_code == 200


def test_who_is_gone_is_still_found(keeper_client, animal):
    make.died(animal, make.TODAY)
    assert find(keeper_client, "Agatha").url == animal.get_absolute_url()


def test_a_helper_finds_as_well(helper_client, animal):
    assert find(helper_client, "B-1").url == animal.get_absolute_url()
