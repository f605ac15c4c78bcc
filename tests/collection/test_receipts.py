"""A form counts once, however often it arrives, and answers every arrival alike."""

import re

import pytest
from django.urls import reverse

from collection import receipts
from collection.models import Molt, Note, Receipt
from husbandry.models import Feeding, Upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
HTMX = {"HX-Request": "true"}


def plain(answer):
    """What an answer says, without the token and the key that differ each time."""
    return re.sub(r'name="(csrfmiddlewaretoken|once)" value="\w+"', "", answer.content.decode())


@pytest.fixture
def animal():
    specimen = make.SpecimenFactory()
    make.housed(specimen, "E-1")
    make.fed(specimen, make.TODAY.replace(month=10), prey="cricket")
    return specimen


def twice(client, address, data, **kwargs):
    """The answers to one form that arrives twice."""
    data = {"once": "a-key", **data}
    return [client.post(address, data, **kwargs) for _ in range(2)]


def test_a_log_form_that_arrives_twice_is_one_entry_with_one_answer(keeper_client, animal):
    first, second = twice(keeper_client, reverse("collection:note-new", args=[animal.pk]), {"text": "calm"})
    assert (first.status_code, second.status_code) == (302, 302)
    assert first.url == second.url == animal.get_absolute_url()
    assert (Note.objects.count(), Receipt.objects.count()) == (1, 1)


def test_a_fragment_that_arrives_twice_leads_the_whole_page_on_both_times(keeper_client, animal):
    address = reverse("collection:note-new", args=[animal.pk])
    answers = twice(keeper_client, address, {"text": "calm"}, headers=HTMX)
    assert [answer.headers["HX-Redirect"] for answer in answers] == [animal.get_absolute_url()] * 2
    assert Note.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("husbandry:feed-now", {"outcome": "taken"}, "Took cricket."),
        ("husbandry:feed-now", {"outcome": "refused"}, "Refused cricket."),
        ("husbandry:water-now", {}, "Water done."),
    ],
)
def test_a_tap_that_arrives_twice_is_one_entry_and_shows_the_same_row(keeper_client, animal, name, data, said):
    before = Feeding.objects.count() + Upkeep.objects.count()
    first, second = twice(keeper_client, reverse(name, args=[animal.pk]), data, headers=HTMX)
    assert said in plain(first)
    assert "saved 10:00" in plain(first)
    assert (second.status_code, plain(second)) == (200, plain(first))
    assert Feeding.objects.count() + Upkeep.objects.count() == before + 1


def test_a_tap_without_htmx_that_arrives_twice_leads_back_both_times(keeper_client, animal):
    data = {"outcome": "taken", "back": "/?show=over"}
    answers = twice(keeper_client, reverse("husbandry:feed-now", args=[animal.pk]), data)
    assert [answer.url for answer in answers] == ["/?show=over"] * 2
    assert Feeding.objects.count() == 2


def test_a_tap_that_arrives_again_after_it_was_taken_back_says_so(keeper_client, animal):
    address = reverse("husbandry:feed-now", args=[animal.pk])
    data = {"once": "a-key", "outcome": "taken"}
    keeper_client.post(address, data, headers=HTMX)
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.get().pk]))
    assert "Taken back." in plain(keeper_client.post(address, data, headers=HTMX))
    assert Feeding.objects.count() == 1


def test_a_form_without_a_key_counts_and_can_be_taken_back_as_well(keeper_client, animal):
    answer = keeper_client.post(reverse("husbandry:feed-now", args=[animal.pk]), {"outcome": "taken"}, headers=HTMX)
    receipt = Receipt.objects.get()
    assert reverse("collection:undo", args=[receipt.pk]) in plain(answer)


def test_an_invalid_form_does_not_use_up_its_key(keeper_client, animal):
    address = reverse("collection:molt-new", args=[animal.pk])
    wrong = keeper_client.post(address, {"once": "a-key", "on": "2027-01-01", "numbering": "i"})
    right = keeper_client.post(address, {"once": "a-key", "on": "2026-11-01", "numbering": "i"})
    assert (wrong.status_code, right.status_code) == (422, 302)
    assert Molt.objects.count() == 1


def test_a_receipt_knows_who_when_and_what(keeper_client, keeper, animal):
    keeper_client.post(reverse("collection:note-new", args=[animal.pk]), {"once": "a-key", "text": "calm"})
    receipt = Receipt.objects.get()
    assert (receipt.user, receipt.label) == (keeper, f"Note on {animal.code}")
    assert receipt.at.isoformat() == make.NOW
    assert receipt.specimens == [animal.pk]
    assert [(write["model"], write["op"]) for write in receipt.entries] == [("collection.note", "+")]


def test_the_next_page_offers_to_take_the_entry_back(keeper_client, animal):
    answer = keeper_client.post(reverse("collection:note-new", args=[animal.pk]), {"text": "calm"}, follow=True)
    said = answer.content.decode()
    assert f"Note on {animal.code}" in said
    assert reverse("collection:undo", args=[Receipt.objects.get().pk]) in said


def test_every_form_that_is_shown_carries_a_fresh_key(keeper_client, animal):
    address = reverse("collection:note-new", args=[animal.pk])
    keys = {re.search(r'name="once" value="(\w+)"', keeper_client.get(address).content.decode())[1] for _ in range(3)}
    assert len(keys) == 3


def test_outside_a_form_there_is_no_receipt_to_offer():
    with pytest.raises(LookupError, match="No form is being handled"):
        receipts.current()
