"""What a helper's pages say: nothing of money, nothing of the people that animals come from and go to."""

from datetime import timedelta

import pytest
from django.utils import timezone

from collection.models import Specimen
from collection.rights import is_for_helpers
from husbandry import services as husbandry
from tests import factories
from tests.config.test_rights import ADDRESSES

SECRETS = {"name": "Quillfeather", "email": "quill@feather.example", "phone": "0699 5550123", "address": "Nowhere 77"}
PRICE = "8123.45"


@pytest.fixture
def furnished(db):
    """An animal with a price and a seller, due, in an enclosure on a rack, and one that was passed on to the same."""
    seller = factories.ContactFactory(**SECRETS, note="pays late")
    animal = factories.SpecimenFactory(price=PRICE, acquired_from=seller, name="Sieglinde")
    rack = factories.place()
    box = factories.EnclosureFactory(place=rack)
    today = timezone.localdate()
    husbandry.move(Specimen.objects.get(pk=animal.pk), box, today - timedelta(days=30))
    return animal


def pages(client):
    """Every page that a helper may open, with the animal's own key where the address wants a number."""
    for address, view in ADDRESSES:
        if is_for_helpers(view):
            answer = client.get(address)
            if answer.status_code == 200:
                yield address, answer.content.decode()


def test_no_page_for_helpers_carries_a_price_or_a_contact(furnished, as_helper):
    found = dict(pages(as_helper))
    words = [*SECRETS.values(), "pays late", PRICE, "8,123", "8123"]
    assert [(address, word) for address, text in found.items() for word in words if word in text] == []
    assert {"/", "/animals/1/", "/racks/", "/racks/1/", "/enclosures/1/", "/racks/handover/"} <= found.keys()
    assert "Sieglinde" in found["/animals/1/"]


def test_the_walk_page_carries_no_price_and_no_contact_either(furnished, as_helper):
    page = as_helper.post("/racks/walk/", {"place": "1", "only": "all"}, follow=True).content.decode()
    assert furnished.code in page
    assert not [word for word in [*SECRETS.values(), PRICE] if word in page]


@pytest.mark.parametrize("word", SECRETS.values())
def test_nobody_is_found_by_a_helper(furnished, as_helper, word):
    page = as_helper.get("/find/", {"q": word}, follow=True).content.decode()
    assert furnished.code not in page
    assert page.count(word) <= 2  # in the box itself, and in the sentence that nothing fits


def test_the_keeper_sees_both(furnished, as_keeper):
    page = as_keeper.get("/animals/1/").content.decode()
    assert SECRETS["name"] in page
    assert "8123" in as_keeper.get("/animals/1/edit/").content.decode()
