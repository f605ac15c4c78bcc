"""Rhythms for a place or a taxon: whom they feed, what they would do, and taking them back."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection import attention, dues, receipts
from collection.models import Measurement, Receipt
from collection.services import write
from husbandry import rhythm_preview, services
from husbandry.models import FeedRhythm
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
FED = date(2026, 11, 30)
SINCE = date(2026, 11, 1)


@pytest.fixture
def rack():
    return make.place("Rack A")


@pytest.fixture
def animal(rack):
    """A growing tarantula on a shelf, fed four days ago: every seven days by default."""
    specimen = make.SpecimenFactory(code="A-1")
    write(Measurement(specimen=specimen, earliest=SINCE, latest=SINCE, leg_span_mm=60), [specimen], "measured")
    make.housed(specimen, place=make.place("Shelf 1", "shelf", rack))
    make.fed(specimen, FED, prey="cricket", prey_mm=10, number=2)
    return make.fresh(specimen)


def wide(days, **of):
    return services.set_rhythm(FeedRhythm(days=days, **({"since": SINCE} | of)))


def due(animal):
    return animal.dues.get(kind="feed")


def interval(animal):
    return due(animal).facts["interval"]


def test_the_nearest_rhythm_feeds_it_and_the_row_says_whose_it_is(rack, animal):
    wide(12, taxon=animal.taxon)
    assert interval(animal) == 12
    wide(10, place=rack)
    assert interval(animal) == 10
    wide(9, place=rack.inside.get())
    assert (interval(animal), due(animal).due_on) == (9, date(2026, 12, 9))
    said = attention.due_kinds["feed"].say(dues.as_stored(due(animal)), date(2026, 12, 9))
    assert said.sentence == "Last took food 9 days ago; rhythm of Shelf 1, 9 days."
    make.rhythm(animal, 5)
    assert interval(animal) == 5


def test_a_rhythm_for_a_stage_leaves_the_others_alone(animal):
    wide(3, taxon=animal.taxon, stage="young")
    assert interval(animal) == 7
    wide(4, taxon=animal.taxon, stage="growing")
    assert interval(animal) == 4


def test_a_season_is_followed_after_a_meal_in_it(animal):
    wide(20, taxon=animal.taxon, season_from=11, season_to=2)
    assert interval(animal) == 20
    make.fed(animal, date(2026, 10, 30))
    assert interval(animal) == 20  # the last meal is what counts
    services.set_rhythm(FeedRhythm(specimen=animal, days=6, since=SINCE, season_from=3, season_to=9))
    assert interval(animal) == 20


def test_an_animal_that_moves_is_fed_as_its_new_rack_is(rack, animal):
    wide(10, place=rack)
    other = make.EnclosureFactory(place=make.place("Rack B"))
    services.move(animal, other, TODAY)
    assert interval(animal) == 7


def test_a_shelf_that_is_put_into_another_rack_is_fed_like_it(rack, animal):
    wide(10, place=rack)
    shelf = rack.inside.get()
    shelf.parent = make.place("Rack B")
    services.save_place(shelf)
    assert interval(animal) == 7


def values(**of):
    return {"days": "10", "since": str(SINCE)} | of


def test_it_is_set_corrected_taken_away_and_taken_back_on_its_page(keeper_client, rack, animal):
    new = reverse("husbandry:rhythm-wide-new")
    assert keeper_client.post(new, values(place=rack.pk, reason="all at once")).status_code == 302
    rhythm = FeedRhythm.objects.get()
    assert interval(animal) == 10
    page = keeper_client.get(reverse("husbandry:rhythm-list")).content.decode()
    assert "all at once" in page
    edit = reverse("husbandry:rhythm-wide-edit", args=[rhythm.pk])
    keeper_client.post(edit, values(place=rack.pk, days="11"))
    assert interval(animal) == 11
    keeper_client.post(edit, {"remove": "1"})
    assert interval(animal) == 7
    receipts.undo(Receipt.objects.latest("pk"))
    assert interval(animal) == 11


def test_a_rhythm_given_to_another_place_leaves_those_it_fed_before(keeper_client, rack, animal):
    rhythm, other = wide(10, place=rack), make.place("Rack B")
    keeper_client.post(reverse("husbandry:rhythm-wide-edit", args=[rhythm.pk]), values(place=other.pk))
    assert interval(animal) == 7
    receipts.undo(Receipt.objects.latest("pk"))
    assert interval(animal) == 10


def test_the_form_opens_with_today_and_all_stages(keeper_client):
    page = keeper_client.get(reverse("husbandry:rhythm-wide-new")).content.decode()
    assert f'value="{TODAY}"' in page
    assert "all stages" in page


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({}, "one of the two"),
        ({"place": "rack", "taxon": "taxon"}, "one of the two"),
        ({"place": "rack", "days": "401"}, "from 0 to 400"),
        ({"place": "rack", "since": "2026-12-05"}, "in the future"),
        ({"place": "rack", "season_from": "11"}, "a first and a last month"),
    ],
)
def test_what_makes_no_sense_is_refused_beside_its_field(keeper_client, rack, animal, wrong, says):
    known = {"rack": rack.pk, "taxon": animal.taxon_id}
    sent = values(reason="kept") | {name: known.get(value, value) for name, value in wrong.items()}
    answer = keeper_client.post(reverse("husbandry:rhythm-wide-new"), sent)
    page = answer.content.decode()
    assert (answer.status_code, FeedRhythm.objects.count()) == (422, 0)
    assert says in page
    assert "kept" in page


def test_what_it_would_do_is_shown_and_nothing_is_saved(keeper_client, rack, animal):
    sent = values(place=rack.pk, days="14", ahead="1")
    answer = keeper_client.post(reverse("husbandry:rhythm-wide-new"), sent)
    page = answer.content.decode()
    assert (answer.status_code, FeedRhythm.objects.count(), Receipt.objects.count()) == (200, 0, 0)
    assert "8 feeds as it is now, 4 as proposed" in page
    assert "Nothing is saved yet." in page
    assert interval(animal) == 7


def test_the_coming_eight_weeks_by_hand(animal):
    found = rhythm_preview.preview(FeedRhythm(specimen=animal, days=14, since=TODAY), TODAY)
    now = sorted(found.now.days)
    assert (now[0], now[1], len(now)) == (date(2026, 12, 7), date(2026, 12, 14), 8)
    assert sorted(found.then.days) == [date(2026, 12, 14) + timedelta(days=14 * n) for n in range(4)]
    assert [(prey.kind, now, then) for prey, now, then in found.prey] == [("cricket", 16, 8)]
    assert [row[1:] for row in found.weeks] == [(1, 0), (1, 1)] * 4
    assert (found.changed, found.animals) == (1, 1)


def test_a_rest_ahead_is_left_out_of_the_coming_weeks(animal):
    make.held(animal, TODAY + timedelta(days=7), TODAY + timedelta(days=60), kind="cooling")
    found = rhythm_preview.preview(FeedRhythm(specimen=animal, days=7, since=TODAY), TODAY)
    assert list(found.now.days) == [date(2026, 12, 7)]


def test_an_animals_own_form_shows_the_same(keeper_client, animal):
    address = reverse("husbandry:rhythm-new", args=[animal.pk])
    page = keeper_client.post(address, {"days": "14", "ahead": "1"}).content.decode()
    assert "8 feeds as it is now, 4 as proposed" in page
    assert "own rhythm 14." in page
    refused = keeper_client.post(address, {"days": "500", "ahead": "1"})
    assert (refused.status_code, FeedRhythm.objects.count()) == (422, 0)


def test_a_winter_rest_is_entered_ahead_and_the_weeks_before_it_are_fed(keeper_client, animal):
    sent = {"kind": "cooling", "on": "2026-12-20", "ends": "2027-02-20"}
    assert keeper_client.post(reverse("husbandry:hold-new", args=[animal.pk]), sent).status_code == 302
    assert due(animal).due_on == date(2026, 12, 7)
    make.fed(animal, date(2026, 12, 3))
    make.fed(animal, TODAY)
    assert due(animal).due_on == date(2026, 12, 11)
    page = keeper_client.get(animal.get_absolute_url()).content.decode()
    assert "Cooling, from 20 December, until 20 February 2027" in page


def test_more_animals_are_no_question_more(rack, animal, django_assert_max_num_queries):
    wide(10, place=rack)
    animals = [animal.pk]
    for _ in range(9):
        one = make.SpecimenFactory()
        make.housed(one, place=rack)
        animals.append(one.pk)
    with django_assert_max_num_queries(40):
        rhythm_preview.preview(FeedRhythm(place=rack, days=5, since=TODAY), TODAY)
