"""A helper takes back the own entries of the last ten minutes, and no others."""

from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from collection.models import Note, Receipt
from tests import factories


@pytest.fixture
def animal(db):
    return factories.SpecimenFactory()


def note(client, animal) -> Receipt:
    """Write a note, and return its receipt."""
    day = timezone.localdate().isoformat()
    answer = client.post(
        f"/animals/{animal.pk}/note/", {"on": day, "text": "webs up", "once": f"k{Note.objects.count()}"}
    )
    assert answer.status_code == 302, answer.content
    return Receipt.objects.latest("pk")


def undo(client, receipt: Receipt, after: timedelta = timedelta()) -> int:
    with time_machine.travel(timezone.now() + after):
        return client.post(f"/undo/{receipt.pk}/").status_code


def test_an_entry_of_ones_own_is_taken_back_within_ten_minutes(as_helper, animal):
    assert undo(as_helper, note(as_helper, animal), timedelta(minutes=9, seconds=50)) == 302
    assert not Note.objects.exists()


def test_after_ten_minutes_it_stays(as_helper, animal):
    assert undo(as_helper, note(as_helper, animal), timedelta(minutes=10, seconds=10)) == 403
    assert Note.objects.count() == 1


def test_the_keepers_entries_are_not_a_helpers_to_take_back(as_helper, as_keeper, animal):
    assert undo(as_helper, note(as_keeper, animal)) == 403
    assert Note.objects.count() == 1


def test_the_keeper_takes_back_a_helpers_entry_later_too(as_helper, as_keeper, animal):
    assert undo(as_keeper, note(as_helper, animal), timedelta(hours=3)) == 302
    assert not Note.objects.exists()


def test_a_helper_corrects_and_removes_nothing_that_is_written(as_helper, animal):
    note(as_helper, animal)
    where = f"/animals/{animal.pk}/note/{Note.objects.get().pk}/"
    assert as_helper.get(where).status_code == 403
    assert as_helper.post(where, {"remove": "1"}).status_code == 403
    assert Note.objects.count() == 1
