"""Taking back: what an entry wrote, changed or removed, by whom it may be done, and when it is too late."""

from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from breeding.models import Meeting, Pairing
from collection import dues, receipts
from collection.models import Molt, Note, Receipt, SexEvidence, Specimen, Taxon
from husbandry import services as husbandry
from husbandry.models import Enclosure, Feeding, Place, Stay, Upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 11, 1)


def post(client, name, record, /, **data):
    """Send a form that must be accepted; answers with its receipt."""
    answer = client.post(reverse(name, args=[record.pk] if record else []), data)
    assert answer.status_code in (200, 302), answer.content.decode()
    return Receipt.objects.latest("pk")


def undo(client, receipt, **data):
    answer = client.post(reverse("collection:undo", args=[receipt.pk]), data, follow=True)
    return answer.content.decode()


def feed(client, animal):
    return post(client, "husbandry:feed-now", animal, outcome="taken")


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def test_what_was_written_is_gone_and_its_due_is_back(keeper_client, animal):
    before = animal.dues.get(kind="feed").due_on
    receipt = feed(keeper_client, animal)
    assert animal.dues.get(kind="feed").due_on > make.TODAY
    assert "Taken back: Taken: B-1" in undo(keeper_client, receipt)
    assert animal.dues.get(kind="feed").due_on == before
    assert [row.history_type for row in Feeding.history.all()] == ["-", "+"]


def test_what_was_changed_is_as_it_was(keeper_client, animal):
    note = Note.objects.create(specimen=animal, text="calm", earliest=DAY, latest=DAY)
    address = reverse("collection:note-edit", args=[animal.pk, note.pk])
    keeper_client.post(address, {"text": "wild", "on": "2026-11-01"})
    undo(keeper_client, Receipt.objects.get())
    note.refresh_from_db()
    assert note.text == "calm"


def test_what_was_taken_away_stands_again_under_its_number(keeper_client, animal):
    molt = make.molted(animal, DAY, instar=5)
    keeper_client.post(reverse("collection:molt-edit", args=[animal.pk, molt.pk]), {"remove": "1"})
    undo(keeper_client, Receipt.objects.get())
    assert Molt.objects.get(pk=molt.pk).instar == 5
    assert make.fresh(animal).standing.last_molt == DAY


def test_an_entry_of_several_records_goes_as_a_whole(keeper_client, animal):
    receipt = post(keeper_client, "collection:molt-new", animal, on="2026-11-01", numbering="i", matured="on")
    assert make.fresh(animal).standing.sex == "male"
    undo(keeper_client, receipt)
    assert (Molt.objects.count(), SexEvidence.objects.count()) == (0, 0)
    assert make.fresh(animal).standing.sex == "unsexed"


def test_an_undone_death_frees_nothing_and_brings_the_dues_back(keeper_client, animal):
    make.housed(animal, "E-1")
    receipt = post(keeper_client, "collection:death-new", animal, on="2026-11-01", cause="age")
    assert not animal.dues.exists()
    undo(keeper_client, receipt)
    assert husbandry.enclosure_of(animal).code == "E-1"
    assert animal.dues.filter(kind="feed").exists()


def test_two_entries_on_one_record_are_taken_back_one_after_the_other(keeper_client, animal):
    make.housed(animal, "E-1")
    for code in ("E-2", "E-3"):
        make.EnclosureFactory(code=code)
    first = post(keeper_client, "husbandry:move-new", animal, enclosure="E-2")
    second = post(keeper_client, "husbandry:move-new", animal, enclosure="E-3")
    assert "It was changed since" in undo(keeper_client, first)
    assert "Taken back" in undo(keeper_client, second)
    assert "Taken back" in undo(keeper_client, first)
    assert husbandry.enclosure_of(animal).code == "E-1"
    assert Stay.objects.count() == 1


def test_an_entry_is_taken_back_once(keeper_client, animal):
    receipt = feed(keeper_client, animal)
    undo(keeper_client, receipt)
    assert "was taken back already" in undo(keeper_client, receipt)


def test_what_was_changed_since_is_not_taken_back(keeper_client, animal):
    receipt = post(keeper_client, "collection:note-new", animal, text="calm")
    note = Note.objects.get()
    note.text = "wild"
    note.save()
    assert "It was changed since; correct it on its own page" in undo(keeper_client, receipt)
    assert Note.objects.get().text == "wild"


def test_what_others_were_built_on_is_not_taken_back(keeper_client):
    taxon = make.TaxonFactory()
    receipt = post(
        keeper_client, "collection:specimen-new", None, code="N-1", taxon=taxon.name, kind="single", origin="U"
    )
    make.fed(Specimen.objects.get(), DAY)
    assert "take those back first" in undo(keeper_client, receipt)
    assert (Specimen.objects.count(), Feeding.objects.count()) == (1, 1)


def test_a_pairing_that_a_sac_came_of_is_not_silently_cut_off(keeper_client):
    dam = make.female()
    receipt = post(keeper_client, "breeding:pairing-new", dam, on="2026-09-01", ending="unknown")
    sac = make.laid(dam, DAY)
    assert "take those back first" in undo(keeper_client, receipt)
    sac.refresh_from_db()
    assert sac.pairing == Pairing.objects.get()
    assert Meeting.objects.count() == 1


def test_what_stands_in_the_way_is_said_and_nothing_is_half_taken_back(keeper_client, animal):
    enclosure = make.housed(animal, "E-1")
    make.EnclosureFactory(code="E-2")
    receipt = post(keeper_client, "husbandry:move-new", animal, enclosure="E-2")
    husbandry.move(make.SpecimenFactory(), enclosure, make.TODAY)
    assert "stands in its way" in undo(keeper_client, receipt)
    assert husbandry.enclosure_of(animal).code == "E-2"


def test_what_was_written_before_histories_began_is_not_guessed(keeper_client, animal):
    note = Note.objects.create(specimen=animal, text="calm", earliest=DAY, latest=DAY)
    Note.history.all().delete()
    keeper_client.post(reverse("collection:note-edit", args=[animal.pk, note.pk]), {"text": "wild"})
    assert "is not on record" in undo(keeper_client, Receipt.objects.get())


def test_the_walking_order_follows_when_a_place_is_taken_back(keeper_client):
    first, second = make.place("Rack A", order=1), make.place("Rack B", order=2)
    data = {"name": "Rack B", "kind": "rack", "parent": first.pk, "order": 5}
    receipt = post(keeper_client, "husbandry:place-edit", second, **data)
    assert Place.objects.get(pk=second.pk).walk_key == "00010001"
    undo(keeper_client, receipt)
    assert dict(Place.objects.values_list("name", "walk_key")) == {"Rack A": "0001", "Rack B": "0002"}


def test_the_water_follows_when_an_enclosure_is_taken_back(keeper_client, animal):
    enclosure = make.housed(animal, "E-1", DAY)
    receipt = post(
        keeper_client, "husbandry:enclosure-edit", enclosure, code="E-1", kind="box", position=0, water_days=5
    )
    assert animal.dues.filter(kind="water").exists()
    undo(keeper_client, receipt)
    assert Enclosure.objects.get().water_days is None
    assert not animal.dues.filter(kind="water").exists()


def test_water_taken_back_is_due_for_who_moved_in_since(keeper_client, animal):
    enclosure = make.housed(animal, water_days=5)
    receipt = post(keeper_client, "husbandry:water-now", animal)
    heir = make.SpecimenFactory()
    make.died(animal, DAY)
    husbandry.move(heir, enclosure, make.TODAY)
    assert heir.dues.get(kind="water").due_on == make.TODAY + timedelta(days=5)
    undo(keeper_client, receipt)
    assert (Upkeep.objects.count(), heir.dues.get(kind="water").due_on) == (0, make.TODAY)


def test_the_dues_follow_when_the_figures_of_a_taxon_are_taken_back(keeper_client):
    taxon = make.TaxonFactory(slow=False)
    animal = make.SpecimenFactory(taxon=taxon)
    make.fed(animal, DAY)
    before = animal.dues.get(kind="feed").due_on
    taxon.slow = True
    with receipts.writing() as entry:
        taxon.save()
    dues.refresh([animal.pk])
    receipt = Receipt.objects.create(key="k", at=make.NOW, entries=entry.writes)
    assert animal.dues.get(kind="feed").due_on > before
    undo(keeper_client, receipt)
    assert (Taxon.objects.get().slow, animal.dues.get(kind="feed").due_on) == (False, before)


def test_the_keeper_takes_back_anything_any_time(helper_client, keeper_client, animal):
    receipt = feed(helper_client, animal)
    with time_machine.travel(make.NOW) as clock:
        clock.shift(timedelta(days=40))
        assert "Taken back" in undo(keeper_client, receipt)


@pytest.mark.parametrize(("minutes", "status"), [(9, 302), (10, 302), (11, 403)])
def test_a_helper_takes_back_the_own_entries_of_ten_minutes(helper_client, animal, minutes, status):
    receipt = feed(helper_client, animal)
    with time_machine.travel(receipt.at + timedelta(minutes=minutes), tick=False):
        answer = helper_client.post(reverse("collection:undo", args=[receipt.pk]))
    assert answer.status_code == status
    assert Feeding.objects.exists() == (status == 403)


def test_a_helper_takes_back_nobody_elses_entries(helper_client, keeper_client, animal):
    receipt = feed(keeper_client, animal)
    assert helper_client.post(reverse("collection:undo", args=[receipt.pk])).status_code == 403
    assert Feeding.objects.count() == 1


@pytest.mark.parametrize(
    ("back", "to"),
    [
        ("/animals/?sex=males", "/animals/?sex=males"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example", "/"),
        ("", "/"),
    ],
)
def test_undo_leads_back_into_the_house_and_nowhere_else(keeper_client, animal, back, to):
    receipt = feed(keeper_client, animal)
    answer = keeper_client.post(reverse("collection:undo", args=[receipt.pk]), {"back": back})
    assert answer.url == to


def test_undo_does_not_lead_back_to_the_page_of_what_is_gone(keeper_client):
    taxon = make.TaxonFactory()
    data = {"code": "N-1", "taxon": taxon.name, "kind": "single", "origin": "U"}
    receipt = post(keeper_client, "collection:specimen-new", None, **data)
    page = Specimen.objects.get().get_absolute_url()
    said = undo(keeper_client, receipt, back=f"{page}?tab=1")
    assert "Taken back: Entered N-1." in said


def test_undo_is_a_deed_not_a_link(keeper_client, animal):
    receipt = feed(keeper_client, animal)
    assert keeper_client.get(reverse("collection:undo", args=[receipt.pk])).status_code == 405
    assert keeper_client.post(reverse("collection:undo", args=[receipt.pk + 1])).status_code == 404
