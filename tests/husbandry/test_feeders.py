"""Feeders: their books, what the coming weeks need, what runs low, what to buy."""

import re
from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from collection import attention, receipts
from collection.models import GroupCount, Receipt
from collection.services import Refused
from husbandry import feeder_outlook, feeder_services
from husbandry.feeder_books import Books
from husbandry.feeder_words import say_standing
from husbandry.forms.feeders import FeederForm
from husbandry.models import FeederEntry, FeederStock
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY


def ago(days):
    return TODAY - timedelta(days=days)


@pytest.fixture
def crickets():
    return feeder_services.save_stock(FeederStock(kind="cricket", mm=10))


def enter(stock, kind, number, days=0, hour=12, **values):
    at = timezone.make_aware(datetime.combine(ago(days), time(hour)))
    return feeder_services.record_entry(
        FeederEntry(stock=stock, on=ago(days), kind=kind, number=number, logged_at=at, **values)
    )


def eat(days, number=1, outcome="taken", hour=19, prey="cricket", mm=10.0, animal=None):
    at = timezone.make_aware(datetime.combine(ago(days), time(hour)))
    animal = animal or make.SpecimenFactory()
    return make.fed(animal, ago(days), outcome, prey=prey, prey_mm=mm, number=number, logged_at=at)


def left(stock):
    return Books([stock]).left(stock)


def test_the_book_begins_with_its_first_entry_and_meals_go_out_of_it(crickets):
    eat(12, 9)
    enter(crickets, "bought", 100, 10)
    eat(8, 3)
    eat(6, 2, outcome="left")
    assert left(crickets) == 95


@pytest.mark.parametrize("outcome", ["refused", "removed"])
def test_what_was_refused_or_taken_out_goes_back_into_its_tub(crickets, outcome):
    enter(crickets, "bought", 100, 10)
    eat(8, 3, outcome=outcome)
    assert left(crickets) == 100


def test_a_count_sets_the_book_right_and_later_meals_of_its_day_go_on_from_it(crickets):
    enter(crickets, "bought", 100, 10)
    eat(3, 4, hour=9)
    enter(crickets, "counted", 80, 3, hour=12, method="sampled")
    eat(3, 5, hour=19)
    enter(crickets, "lost", 6, 1)
    assert left(crickets) == 69
    whole = Books([crickets], whole=True)
    assert [(line.entry.kind.value, line.change) for line in whole.lines[crickets.pk]] == [
        ("bought", 100), ("fed", -4), ("counted", -16), ("fed", -5), ("lost", -6),
    ]  # fmt: skip


def test_the_short_book_and_the_whole_book_agree_whatever_was_entered(crickets):
    for days in range(20, 0, -1):
        kind = ("bought", "lost", "counted", "given")[days % 4]
        enter(crickets, kind, 5 + days % 7, days, hour=8 + days % 9)
        eat(days, 1 + days % 3, hour=10 + days % 8)
    whole = Books([crickets], whole=True).lines[crickets.pk]
    assert left(crickets) == whole[-1].balance == sum(line.change for line in whole)


def test_a_meal_is_drawn_from_the_nearest_size_and_each_meal_once(crickets):
    small = feeder_services.save_stock(FeederStock(kind="Cricket", mm=5))
    for stock in (crickets, small):
        enter(stock, "counted", 50, 5, method="counted")
    eat(2, 2, mm=9.0)
    eat(2, 3, mm=4.5)
    eat(2, 7, mm=25.0)
    books = Books([crickets, small])
    assert (books.left(crickets), books.left(small)) == (48, 47)


def test_what_was_refused_by_the_rules_of_the_book_says_why(crickets):
    with pytest.raises(Refused, match="has its book already"):
        feeder_services.save_stock(FeederStock(kind="Cricket", mm=10))
    with pytest.raises(Refused, match="No culture is named"):
        enter(crickets, "culture", 10)
    with pytest.raises(Refused, match="in the future"):
        enter(crickets, "bought", 10, -1)


def eaters(number, prey="cricket", mm=10.0):
    """Animals fed yesterday every seven days: each wants one in six days and then every week."""
    animals = [make.SpecimenFactory() for _ in range(number)]
    for animal in animals:
        eat(1, animal=animal, prey=prey, mm=mm)
    return animals


def test_the_outlook_says_what_is_there_what_is_wanted_and_when_it_runs_out(crickets):
    enter(crickets, "counted", 6, 0, hour=20, method="counted")
    eaters(5)
    eaters(2, "locust", 40.0)
    make.SpecimenFactory()  # due, and nothing is known of its prey
    found = feeder_outlook.look(TODAY)
    [one] = found.standings
    assert (found.mouths, found.unknown, one.left) == (8, 1, 6)
    assert one.need.mouths == 5
    assert one.need.by_day[:6] == (0, 0, 0, 0, 0, 0)
    assert one.need.by_day[6] > 4
    assert (one.outlast.early, one.outlast.likely) == (13, 13)
    assert [(need.prey.kind, need.mouths) for need in found.strangers] == [("locust", 2)]


def test_an_animal_on_hold_until_further_notice_wants_nothing(crickets):
    for animal in eaters(3):
        make.held(animal, ago(0))
    assert feeder_outlook.look(TODAY).standings[0].need is None


def test_what_runs_low_is_said_on_the_dashboard_until_it_is_bought(crickets):
    enter(crickets, "counted", 2, 0, hour=20, method="counted")
    eaters(5)
    feeder_outlook.forget()
    [item] = attention.house_sources["feeders"](TODAY)
    assert (item.title, item.said.plate) == ("Feeders", "running low")
    assert item.said.sentence == "Cricket 10 mm: 2 left, 5 suffice for 7 days with 95 %."
    enter(crickets, "bought", 50, 0, hour=21)
    assert list(attention.house_sources["feeders"](TODAY)) == []


def test_without_a_feeder_the_dashboard_asks_one_question_and_then_none(django_assert_num_queries):
    eaters(3)
    for questions in (1, 0):
        with django_assert_num_queries(questions):
            assert list(attention.house_sources["feeders"](TODAY)) == []


def test_what_was_worked_out_is_kept_for_a_quarter_of_an_hour_and_not_into_tomorrow(
    crickets, django_assert_num_queries
):
    enter(crickets, "counted", 2, 0, hour=20, method="counted")
    eaters(5)
    known = feeder_outlook.recent(TODAY)
    with django_assert_num_queries(0):
        assert feeder_outlook.recent(TODAY) is known
    assert feeder_outlook.recent(TODAY + timedelta(days=1)).on == TODAY + timedelta(days=1)


def test_more_animals_are_no_question_more(crickets, django_assert_max_num_queries):
    enter(crickets, "counted", 2, 0, hour=20, method="counted")
    eaters(12)
    feeder_outlook.look(TODAY)  # the first look asks the database what it can do
    with django_assert_max_num_queries(9):
        feeder_outlook.look(TODAY)


def test_the_page_shows_stock_needs_run_out_and_cost(keeper_client, crickets):
    enter(crickets, "bought", 100, 3, cost=Decimal("7.50"))
    eaters(5)
    page = keeper_client.get(reverse("husbandry:feeder-list")).content.decode()
    assert "95 by the book, never counted. Lasts the coming 28 days." in page
    assert "Feeders cost 7.50 in the last 30 days." in page
    assert "take about 1.50" in page  # five, four times, at 0.075


def test_the_shopping_list_asks_for_what_is_missing_until_the_day_given(keeper_client, crickets):
    enter(crickets, "counted", 2, 0, hour=20, method="guessed")
    eaters(5)
    address = reverse("husbandry:shopping-list")
    short = keeper_client.get(address, {"until": str(TODAY + timedelta(days=5))}).content.decode()
    assert "Nothing to buy" in short
    page = keeper_client.get(address, {"until": str(TODAY + timedelta(days=7))}).content.decode()
    assert "<b>3</b>" in page
    assert "buy" in page
    assert keeper_client.get(address, {"until": "some day"}).status_code == 200


def test_a_culture_behind_a_feeder_is_named_with_its_estimate(keeper_client):
    culture = make.SpecimenFactory(kind="culture", code="U-9", taxon__group="roach")
    GroupCount.objects.create(specimen=culture, earliest=ago(12), count=450, method="sampled")
    roaches = feeder_services.save_stock(FeederStock(kind="roach", culture=culture))
    enter(roaches, "culture", 2, 4)
    eaters(5, "roach", None)
    listed = keeper_client.get(reverse("husbandry:feeder-list")).content.decode()
    assert "U-9 holds about 450, sampled 12 days ago." in listed
    assert "take from the culture U-9" in keeper_client.get(reverse("husbandry:shopping-list")).content.decode()


def test_a_feeder_is_added_with_its_first_count_and_taken_back_whole(keeper_client):
    answer = keeper_client.post(reverse("husbandry:feeder-new"), {"kind": " small  cricket ", "mm": "5", "there": "40"})
    stock = FeederStock.objects.get()
    assert answer.headers["Location"] == stock.get_absolute_url()
    assert (stock.kind, left(stock)) == ("small cricket", 40)
    receipts.undo(Receipt.objects.get())
    assert not FeederStock.objects.exists()


def test_an_entry_is_written_corrected_and_taken_out(keeper_client, crickets):
    address = reverse("husbandry:feeder-entry-new", args=[crickets.pk, "bought"])
    values = {"on": str(TODAY), "number": "100", "cost": "6.00"}
    assert keeper_client.post(address, values).status_code == 302
    entry = FeederEntry.objects.get()
    edit = reverse("husbandry:feeder-entry-edit", args=[entry.pk])
    keeper_client.post(edit, values | {"number": "120"})
    assert left(crickets) == 120
    assert "number: 100 → 120" in keeper_client.get(edit).content.decode()
    keeper_client.post(edit, {"remove": "1"})
    assert not FeederEntry.objects.exists()


@pytest.mark.parametrize(
    ("kind", "values", "says"),
    [
        ("bought", {"number": "0"}, "from 1 to"),
        ("bought", {"number": "5", "cost": "-1"}, "from 0 to"),
        ("counted", {"number": "5", "method": "dreamt"}, "valid choice"),
        ("lost", {"number": "5", "on": str(TODAY + timedelta(days=1))}, "in the future"),
    ],
)
def test_a_bad_entry_is_refused_beside_its_field_and_nothing_is_lost(keeper_client, crickets, kind, values, says):
    address = reverse("husbandry:feeder-entry-new", args=[crickets.pk, kind])
    answer = keeper_client.post(address, {"on": str(TODAY), "note": "from the fair"} | values)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert "from the fair" in page
    assert not FeederEntry.objects.exists()


@pytest.mark.parametrize("kind", ["counted", "bought"])
def test_an_entry_is_of_today_unless_said_otherwise(keeper_client, crickets, kind):
    page = keeper_client.get(reverse("husbandry:feeder-entry-new", args=[crickets.pk, kind])).content.decode()
    assert f'value="{TODAY}"' in page


def test_no_entry_of_a_kind_that_meals_make(keeper_client, crickets):
    assert keeper_client.get(reverse("husbandry:feeder-entry-new", args=[crickets.pk, "fed"])).status_code == 404


def test_the_book_on_the_page_says_what_a_count_found(keeper_client, crickets):
    enter(crickets, "bought", 100, 10)
    enter(crickets, "counted", 80, 3, method="sampled")
    page = keeper_client.get(crickets.get_absolute_url()).content.decode()
    assert "counted, sampled: 20 fewer than the book said" in page


def test_days_ahead_are_kept_in_words(crickets):
    enter(crickets, "counted", 6, 0, hour=20, method="counted")
    eaters(5)
    [one] = feeder_outlook.look(TODAY).standings
    assert say_standing(one, TODAY) == "6, last counted today. Runs out on Thursday, 17 December."


def test_a_purchase_begins_on_the_shopping_list_with_its_number_and_leads_back_to_it(keeper_client, crickets):
    enter(crickets, "counted", 1, 0, hour=8)
    eaters(5)
    page = keeper_client.get(reverse("husbandry:shopping-list")).content.decode()
    address = reverse("husbandry:feeder-entry-new", args=[crickets.pk, "bought"])
    [asked] = re.findall(rf'href="{address}\?number=(\d+)&amp;list=1"', page)
    form = f"{address}?number={asked}&list=1"
    assert f'value="{asked}"' in keeper_client.get(form).content.decode()
    answer = keeper_client.post(form, {"on": TODAY, "number": asked, "once": "k"})
    assert answer.url == reverse("husbandry:shopping-list")
    assert left(crickets) == 1 + int(asked)


def test_the_shopping_list_names_what_has_no_price(keeper_client, crickets):
    enter(crickets, "counted", 0)
    priced = feeder_services.save_stock(FeederStock(kind="roach", mm=20))
    enter(priced, "bought", 1, cost=Decimal(1))
    eat(20, 30), eat(20, 30, prey="roach", mm=20.0)
    page = keeper_client.get(reverse("husbandry:shopping-list")).content.decode()
    assert "of cricket 10 mm no price is on record" in page


def test_an_entry_that_is_taken_back_no_longer_stands_on_the_dashboard(keeper_client, crickets):
    enter(crickets, "counted", 5, hour=8, method="counted")
    address = reverse("husbandry:feeder-entry-new", args=[crickets.pk, "bought"])
    keeper_client.post(address, {"on": str(TODAY), "number": "100"})
    assert feeder_outlook.recent(TODAY).standings[0].left == 105
    receipts.undo(Receipt.objects.latest("pk"))
    assert feeder_outlook.recent(TODAY).standings[0].left == 5


def test_a_culture_that_died_out_stays_named_when_its_feeder_is_changed():
    culture = make.SpecimenFactory(kind="culture", code="U-9", taxon__group="roach")
    roaches = feeder_services.save_stock(FeederStock(kind="roach", culture=culture))
    make.died(culture, TODAY)
    assert culture in FeederForm(instance=roaches).fields["culture"].queryset
    assert culture not in FeederForm().fields["culture"].queryset
