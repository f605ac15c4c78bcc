"""A tray of spiderlings logged by thumb: one form, one entry, one undo."""

from datetime import date

import pytest
from django.urls import reverse

from collection import services
from collection.models import GroupCount, HeadLoss, Molt, Receipt
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
MANY = "/animals/molts/"
DIED = date(2026, 12, 1)


@pytest.fixture
def tray():
    """Thirty spiderlings at 2i, out of one clutch."""
    return make.tray(instar=2)


@pytest.fixture
def group():
    animal = make.SpecimenFactory(code="G-1", kind="group")
    count = GroupCount(specimen=animal, count=30, earliest=date(2026, 10, 1))
    make.services.record_count(count)
    return make.fresh(animal)


def ticked(animals, **more):
    return {"day": "today", **{f"a{animal.pk}": "on" for animal in animals}, **more}


def test_thirty_spiderlings_go_one_instar_on_in_one_entry(keeper_client, tray):
    answer = keeper_client.post(f"{MANY}?clutch=B-001/1", ticked(tray))
    assert (answer.status_code, answer.url) == (302, f"{MANY}?clutch=B-001/1")
    assert Molt.objects.filter(earliest=make.TODAY, instar=3, numbering="i").count() == 30
    assert {make.fresh(one).standing.instar_word for one in tray} == {"3i"}
    assert Receipt.objects.get().label == "30 molts"


def test_the_whole_entry_is_taken_back(keeper_client, tray):
    keeper_client.post(MANY, ticked(tray))
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.get().pk]))
    assert Molt.objects.count() == 30
    assert {make.fresh(one).standing.instar_word for one in tray} == {"2i"}


def test_only_those_that_are_ticked_and_on_the_day_that_is_said(keeper_client, tray):
    keeper_client.post(MANY, ticked(tray[:3]) | {"day": "yesterday", "kept": "on"})
    found = Molt.objects.filter(earliest=date(2026, 12, 3))
    assert (found.count(), set(found.values_list("exuvia_kept", flat=True))) == (3, {True})


def test_found_later_is_a_range(keeper_client, tray):
    keeper_client.post(MANY, ticked(tray[:1]) | {"day": "other", "on": "2026-12-01", "until": "2026-12-04"})
    molt = Molt.objects.get(specimen=tray[0], instar=3)
    assert (molt.earliest, molt.latest) == (date(2026, 12, 1), make.TODAY)


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"day": "today"}, "Nobody is ticked. Tap those that molted."),
        ({"day": "other", "everyone": "on"}, "Choose the day; with a second one, it was some day between the two."),
        ({"day": "other", "on": "2027-01-01", "everyone": "on"}, "This day lies in the future."),
        (
            {"day": "other", "on": "2026-12-02", "until": "2026-12-01", "everyone": "on"},
            "This lies before the first day.",
        ),
        ({"day": "other", "on": "2026-10-20", "everyone": "on"}, "A molt of S-07 on this day is on record already."),
        ({"day": "other", "on": "2026-10-01", "everyone": "on"}, "S-07 molted later, on 2026-10-20."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(keeper_client, tray, sent, sentence):
    answer = keeper_client.post(MANY, sent)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert Molt.objects.count() == 30


def test_what_was_ticked_stays_ticked_after_a_refusal(keeper_client, tray):
    said = keeper_client.post(MANY, ticked(tray[:2]) | {"day": "other"}).content.decode()
    assert said.count(" checked") == 3  # the two, and the choice of another day


def test_all_of_them_with_one_tap(keeper_client, tray):
    keeper_client.post(MANY, {"day": "today", "everyone": "on"})
    assert Molt.objects.filter(instar=3).count() == 30


def test_skins_found_on_other_days_have_days_of_their_own(keeper_client, tray):
    first, second, third = tray[:3]
    own = {f"d{second.pk}": "2026-11-28", f"d{third.pk}": "2026-11-30"}  # of the third only its day is said
    keeper_client.post(MANY, ticked([first, second]) | own)
    found = dict(Molt.objects.filter(instar=3).values_list("specimen__code", "earliest"))
    assert found == {"S-01": make.TODAY, "S-02": date(2026, 11, 28), "S-03": date(2026, 11, 30)}
    assert Receipt.objects.get().label == "3 molts"


def test_a_row_whose_own_day_is_refused_stays_open_with_what_was_typed(keeper_client, tray):
    said = keeper_client.post(MANY, {"day": "today", f"d{tray[4].pk}": "2026-12-30"}).content.decode()
    assert said.count("This day lies in the future.") == 1
    assert said.count('<details class="behind" open>') == 1
    assert 'value="2026-12-30"' in said


def test_a_size_said_behind_a_row_is_the_molts(keeper_client, tray):
    keeper_client.post(MANY, {"day": "today", f"m{tray[0].pk}": "14.5"})
    assert Molt.objects.get(instar=3).leg_span_mm == 14.5
    assert make.fresh(tray[0]).standing.size_mm == 14.5


def test_a_group_with_a_day_of_its_own_still_says_how_many(keeper_client, group):
    answer = keeper_client.post(MANY, {"day": "today", f"d{group.pk}": "2026-12-01"})
    assert "Write how many molted that day." in answer.content.decode()


def housed_lately(**taxon):
    values = {f"taxon__{name}": value for name, value in taxon.items()}
    days = {"hatched_earliest": date(2026, 11, 10), "hatched_latest": date(2026, 11, 10)}
    return make.SpecimenFactory(how="bred", **days, **values)


@pytest.mark.parametrize(
    ("group", "then", "number"), [("tarantula", "3i", 3), ("scorpion", "i3", 3), ("mantis", "L2", 2)]
)
def test_young_just_housed_begin_where_their_group_begins(keeper_client, group, then, number):
    one = housed_lately(group=group)
    said = keeper_client.get(MANY).content.decode()
    assert f"so their first molt here makes {then}." in said
    assert f'name="first" value="{number}"' in said
    keeper_client.post(MANY, ticked([one], first=str(number)))
    assert make.fresh(one).standing.instar_word == then


def test_nothing_is_supposed_of_who_may_have_molted_unseen(keeper_client):
    housed_lately()
    make.SpecimenFactory(how="bred", hatched_earliest=date(2024, 1, 1), hatched_latest=date(2024, 1, 1))
    said = keeper_client.get(MANY).content.decode()
    assert "first molt here" not in said
    assert 'name="first"' in said


def test_the_first_instar_is_asked_only_where_none_is_on_record(keeper_client, tray):
    assert 'name="first"' not in keeper_client.get(MANY).content.decode()


def test_who_has_no_instar_on_record_takes_the_one_that_is_said(keeper_client):
    one = make.SpecimenFactory()
    keeper_client.post(MANY, ticked([one], first="2"))
    assert Molt.objects.get().instar == 2


def test_of_a_group_it_is_said_how_many(keeper_client, group):
    make.molted(group, date(2026, 11, 1), instar=3, animals=30)
    keeper_client.post(MANY, {"day": "today", f"a{group.pk}": "22"})
    assert make.fresh(group).standing.instar_word == "22 at 4i, 8 at 3i"


def test_no_more_of_a_group_molted_than_it_holds(keeper_client, group):
    answer = keeper_client.post(MANY, {"day": "today", f"a{group.pk}": "31"})
    assert "G-1 holds 30 by the last count." in answer.content.decode()
    assert not Molt.objects.exists()


def test_the_groups_own_form_asks_how_many(keeper_client, group):
    address = reverse("collection:molt-new", args=[group.pk])
    assert "Of 30, to the same instar." in keeper_client.get(address).content.decode()
    keeper_client.post(address, {"on": "2026-12-01", "instar": "3", "numbering": "i", "animals": "12"})
    refused = keeper_client.post(address, {"on": "2026-12-02", "instar": "3", "numbering": "i", "animals": "99"})
    assert "holds 30 by the last count" in refused.content.decode()
    assert make.fresh(group).standing.instar_word == "12 at 3i"


def test_cultures_mature_males_and_the_dead_are_not_listed(keeper_client, tray):
    make.SpecimenFactory(code="CULT-1", kind="culture")
    make.male(code="MALE-1")
    make.died(make.SpecimenFactory(code="DEAD-1"), date(2026, 11, 1))
    said = keeper_client.get(MANY).content.decode()
    assert "S-01" in said
    assert not any(code in said for code in ("CULT-1", "MALE-1", "DEAD-1"))


def test_a_clutch_or_a_choice_narrows_the_tray(keeper_client, tray):
    other = make.SpecimenFactory(code="OTHER-1")
    assert "OTHER-1" not in keeper_client.get(f"{MANY}?clutch=B-001/1").content.decode()
    chosen = keeper_client.get(f"{MANY}?a={other.pk}&a=x&a=99999999999").content.decode()
    assert "OTHER-1" in chosen
    assert "S-01" not in chosen


def test_a_helper_may_log_a_tray(helper_client, tray):
    assert helper_client.post(MANY, ticked(tray[:2])).status_code == 302
    assert Molt.objects.count() == 32


def test_an_old_molt_of_a_group_is_corrected_though_fewer_live_now(keeper_client, group):
    molt = make.molted(group, date(2026, 11, 20), instar=3, animals=28)
    services.record_head_loss(HeadLoss(specimen=group, number=9, earliest=DIED, latest=DIED), None)
    address = reverse("collection:molt-edit", args=[group.pk, molt.pk])
    told = {"on": "2026-11-20", "instar": "4", "numbering": "i", "animals": "28"}
    assert keeper_client.post(address, told).status_code == 302
    refused = keeper_client.post(address, told | {"on": "2026-12-04"})
    assert "holds 21 by the last count" in refused.content.decode()
