"""From eggs to animals: young taken out with codes, shared by agreement, and counts that add up."""

import time
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from breeding import broods, clutches, services
from breeding.brood_sources import shares_owed
from breeding.broods import Split
from breeding.forms_brood import BroodShareForm
from breeding.models import BroodMember, BroodShare, EggSac, HeadCount, Loan, SacCheck
from breeding.pairings import possible_sires
from collection import receipts
from collection.attention import due_kinds
from collection.dues import as_stored
from collection.models import Contact, Departure, Receipt, Specimen
from collection.services import Refused
from husbandry.models import Enclosure, Place, Stay
from tests import factories as make

pytestmark = pytest.mark.django_db
DAY = timezone.localdate()


@pytest.fixture
def female():
    return make.female(code="B-001")


@pytest.fixture
def male(female):
    return make.male(code="B-002", taxon=female.taxon)


@pytest.fixture
def sac(female, male):
    make.paired(female, DAY - timedelta(days=150), sire=male)
    return make.laid(female, DAY - timedelta(days=70))


def counted(sac, alive, stage="spiderling", ago=1, **values):
    day = DAY - timedelta(days=ago)
    return HeadCount.objects.create(sac=sac, stage=stage, alive=alive, earliest=day, latest=day, **values)


def split(**values) -> Split:
    return Split(**{"on": DAY, "prefix": "S", "singles": 3, **values})


def test_young_come_out_with_codes_parents_a_clutch_and_a_cup(sac, male):
    counted(sac, 40)
    animals = broods.take_out(sac, split(groups=[10, 5]))
    assert [animal.code for animal in animals] == ["S-001", "S-002", "S-003", "S-004", "S-005"]
    first, group = animals[0], Specimen.objects.get(code="S-004")
    assert (first.dam, first.sire, first.clutch) == (sac.female, male, f"B-001 sac {sac.pk}")
    assert (group.kind, group.standing.head_count) == ("group", 10)
    assert Stay.objects.get(specimen=first).enclosure.code == "S-001 cup"
    assert sum(BroodMember.objects.values_list("number", flat=True)) == 18
    assert broods.left_in(sac) == 22


def test_codes_go_on_after_the_last_one_ever_used(sac):
    make.SpecimenFactory(code="S-041").delete()
    assert broods.codes("S", 2) == ["S-042", "S-043"]


def test_no_more_come_out_than_the_last_count_left(sac):
    counted(sac, 4)
    with pytest.raises(Refused, match="leaves 4 in the sac, and 5 would"):
        broods.take_out(sac, split(singles=5))


def test_nothing_comes_out_of_a_sac_before_it_was_laid(sac):
    with pytest.raises(Refused, match="nothing came out of it before"):
        broods.take_out(sac, split(on=DAY - timedelta(days=200)))


def test_the_whole_step_is_undone_at_once(keeper_client, sac):
    counted(sac, 30)
    sent = {"on": DAY.isoformat(), "singles": 20, "groups": "5 5", "begin": "S", "cups": "on", "once": "k"}
    assert keeper_client.post(reverse("breeding:take-out", args=[sac.pk]), sent).status_code == 302
    assert Specimen.objects.filter(clutch=broods.clutch_of(sac)).count() == 22
    receipts.undo(Receipt.objects.get(key="k"))
    assert not Specimen.objects.filter(clutch=broods.clutch_of(sac)).exists()
    assert not Enclosure.objects.filter(code__startswith="S-").exists()
    assert broods.left_in(sac) == 30


def test_thirty_stand_in_a_new_tray_that_goes_with_them_when_it_is_undone(keeper_client, sac):
    room = make.place("Room", "room")
    sent = {"on": DAY.isoformat(), "singles": 30, "begin": "S", "cups": "on", "tray": "on", "once": "k"}
    keeper_client.post(reverse("breeding:take-out", args=[sac.pk]), sent)
    tray = Place.objects.get(kind="tray")
    assert (tray.name, tray.note, tray.parent) == ("Tray S-001", "S-001 to S-030", room)
    assert tray.enclosures.count() == 30
    entry = Receipt.objects.get(key="k")
    assert entry.label == "Took 30 out of the sac of B-001"
    receipts.undo(entry)
    assert list(Place.objects.all()) == [room]


def test_a_tray_that_is_chosen_gets_no_tray_inside_it(sac):
    chosen = make.place("Tray of cups", "tray")
    broods.take_out(sac, split(tray=True, place=chosen))
    assert list(Place.objects.all()) == [chosen]
    assert chosen.enclosures.count() == 3


def test_a_new_tray_stands_on_the_shelf_that_is_chosen(sac):
    shelf = make.place("A1", "shelf")
    broods.take_out(sac, split(tray=True, singles=1, place=shelf))
    assert Place.objects.get(kind="tray").parent == shelf


def test_two_hundred_come_out_in_one_step_without_a_long_wait(sac):
    counted(sac, 200)
    began = time.monotonic()
    broods.take_out(sac, split(singles=200))
    assert Specimen.objects.filter(code__startswith="S-").count() == 200
    assert time.monotonic() - began < 20  # half a second on a quiet machine; the rest is for a slow one


def test_young_of_two_taxa_are_hybrids_for_ever(sac, male):
    male.taxon = make.TaxonFactory()
    male.save()
    [young] = broods.take_out(sac, split(singles=1))
    assert young.hybrid
    again = make.laid(young, DAY)
    [grandchild] = broods.take_out(again, split(singles=1))
    assert grandchild.hybrid


def test_with_several_possible_sires_none_is_written_down(sac):
    other = make.male(code="B-003", taxon=sac.female.taxon)
    make.paired(sac.female, DAY - timedelta(days=120), sire=other)
    assert len(possible_sires(sac)) == 2
    [young] = broods.take_out(sac, split(singles=1))
    assert (young.sire, young.dam) == (None, sac.female)
    assert sorted(young.possible_sires.values_list("male__code", "chance")) == [("B-002", 0.5), ("B-003", 0.5)]


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"groups": "1 5"}, "groups", "from 2 up"),
        ({"groups": "five"}, "groups", "from 2 up"),
        ({"begin": "<b>"}, "begin", "letters and figures"),
        ({"on": "2099-01-01"}, "on", "future"),
        ({"singles": "99999"}, "singles", ""),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(keeper_client, sac, sent, field, words):
    usual = {"on": DAY.isoformat(), "singles": 1, "begin": "S", "once": "k"}
    answer = keeper_client.post(reverse("breeding:take-out", args=[sac.pk]), usual | sent)
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors[field])
    assert not BroodMember.objects.exists()


def test_a_look_that_found_something_wrong_is_pressing_until_the_next(sac):
    sac.taken_on = DAY - timedelta(days=9)
    sac.save()
    broods.record_check(SacCheck(sac=sac, earliest=DAY, latest=DAY, look="mould", celsius=33, humidity=97))
    said = due_kinds["clutch"].say(as_stored(sac.female.dues.get(kind="clutch")), DAY)
    assert (said.urgency, said.plate) == ("over", "sac in danger")
    assert "33 °C: at 32 °C and above embryos die" in said.sentence
    assert "Mould or a smell was seen" in said.sentence
    broods.record_check(SacCheck(sac=sac, earliest=DAY, latest=DAY, look="fine", celsius=26))
    assert sac.female.dues.get(kind="clutch").wanted_on == DAY + timedelta(days=3)


def test_the_marks_of_a_hybrid_stand_on_its_page(keeper_client):
    young = make.SpecimenFactory(hybrid=True)
    assert "<b>Hybrid</b>" in keeper_client.get(young.get_absolute_url()).content.decode()


# ------------------------------------------------------------ shares


@pytest.fixture
def owner():
    return Contact.objects.create(name="Jorun Vale")


def test_a_share_is_what_was_agreed_of_all_that_came_out_and_the_odd_one_stays(sac, owner):
    broods.set_share(BroodShare(sac=sac, to=owner, percent=50))
    broods.take_out(sac, split(singles=3, groups=[178]))
    [owed] = clutches.shares_of(sac)
    assert (owed.number, owed.delivered, owed.owed) == (90, 0, 90)


def test_what_was_handed_over_is_no_longer_owed_and_has_left(sac, owner):
    share = broods.set_share(BroodShare(sac=sac, to=owner, percent=50))
    broods.take_out(sac, split(singles=8))
    broods.deliver(share, 3, DAY)
    [owed] = clutches.shares_of(sac)
    assert (owed.delivered, owed.owed) == (3, 1)
    assert Departure.objects.filter(contact=owner, kind="passed_on").count() == 3
    with pytest.raises(Refused, match="Only 5 singles"):
        broods.deliver(share, 6, DAY)


def test_shares_of_more_than_everything_and_a_second_one_for_the_same_person_are_refused(sac, owner):
    broods.set_share(BroodShare(sac=sac, to=owner, percent=60))
    with pytest.raises(Refused, match="110 %"):
        broods.set_share(BroodShare(sac=sac, to=Contact.objects.create(name="Other"), percent=50))
    with pytest.raises(Refused, match="has a share"):
        broods.set_share(BroodShare(sac=sac, to=owner, percent=10))


def test_a_share_that_is_late_stands_on_the_first_page_until_it_was_handed_over(keeper_client, sac, owner):
    share = broods.set_share(BroodShare(sac=sac, to=owner, percent=50, due_on=DAY - timedelta(days=2)))
    broods.take_out(sac, split(singles=6))
    assert "3 of the brood of B-001 are owed to Jorun Vale" in keeper_client.get("/").content.decode()
    broods.deliver(share, 3, DAY)
    assert "are owed to Jorun Vale" not in keeper_client.get("/").content.decode()


def test_more_broods_ask_no_more_of_the_database(owner, django_assert_num_queries):
    for n in range(4):
        late = make.laid(make.female(code=f"F-{n}"), DAY - timedelta(days=50))
        broods.set_share(BroodShare(sac=late, to=owner, percent=50, due_on=DAY))
        broods.take_out(late, split(singles=2))
    with django_assert_num_queries(5):
        assert len(list(shares_owed(DAY))) == 4


# ------------------------------------------------------------ the books on the page


def test_the_page_says_whether_the_books_balance(keeper_client, sac):
    counted(sac, 100, "egg", ago=60)
    counted(sac, 90, "ewl", ago=30, dead=4, cause="mould")
    page = keeper_client.get(sac.get_absolute_url()).content.decode()
    assert "The books do not balance." in page
    assert "6 not accounted for" in page
    assert "4 mould" in page


def test_what_was_taken_out_is_in_the_books(sac):
    counted(sac, 100, ago=10)
    broods.take_out(sac, split(singles=30, on=DAY - timedelta(days=5)))
    counted(sac, 70, ago=1)
    assert clutches.keep_books(sac).balances


def test_a_lost_sac_stands_beside_those_that_hatched(keeper_client, sac):
    worked = make.laid(make.female(code="B-009", taxon=sac.female.taxon), DAY - timedelta(days=300))
    for one, outcome in ((worked, "hatched"), (sac, "eaten")):
        one.outcome, one.ended_on, one.celsius = outcome, DAY, 26
        one.save()
    found, n = clutches.differences(sac)
    assert n == 1
    assert ("kept at, °C", "26", "26") in [(d.what, d.here, d.worked) for d in found]
    assert "too few to say" in keeper_client.get(sac.get_absolute_url()).content.decode()


def test_the_longest_page_asks_no_more_than_a_short_one(keeper_client, sac, owner, django_assert_max_num_queries):
    counted(sac, 60)
    broods.set_share(BroodShare(sac=sac, to=owner, percent=50))
    broods.take_out(sac, split(singles=40))
    assert EggSac.objects.count() == 1
    with django_assert_max_num_queries(32):
        keeper_client.get(sac.get_absolute_url())


def test_no_more_is_delivered_than_is_owed_and_what_is_owed_is_not_passed_on(sac, owner, keeper_client):
    share = broods.set_share(BroodShare(sac=sac, to=owner, percent=50))
    broods.take_out(sac, Split(DAY, "B", 8, (4,)))
    with pytest.raises(Refused, match="6 are owed to"):
        broods.deliver(share, 7, DAY, owed=6)
    broods.deliver(share, 4, DAY, owed=6)
    buyer = Contact.objects.create(name="Evening")
    url = reverse("breeding:pass-on", args=[sac.pk])
    data = {"number": 7, "contact": buyer.pk, "on": DAY.isoformat()}
    assert (
        "8 of this brood are here and 2 of them are owed: 6 are free" in keeper_client.post(url, data).content.decode()
    )
    assert keeper_client.post(url, {**data, "number": 2, "price": "12"}).status_code == 302
    gone = Departure.objects.filter(contact=buyer)
    assert [departure.price for departure in gone] == [12, 12]
    page = keeper_client.get(sac.get_absolute_url()).content.decode()
    assert "12 taken out under codes of their own: 8 singles and a group of 4" in page
    assert "6 still here" in page
    clutch = Specimen.objects.filter(dam=sac.female).first().clutch
    assert Specimen.objects.found_by(clutch).count() == 9


def test_a_count_is_mended_and_one_stage_is_counted_once_a_day(sac, keeper_client):
    url = reverse("breeding:count-new", args=[sac.pk])
    day = (DAY - timedelta(days=9)).isoformat()
    data = {"on": day, "stage": "egg", "alive": 20, "dead": 0, "how": "counted"}
    assert keeper_client.post(url, data).status_code == 302
    assert "20 eggs were counted on" in keeper_client.post(url, data).content.decode()
    keeper_client.post(url, {**data, "on": DAY.isoformat(), "alive": 15, "dead": 3})
    page = keeper_client.get(sac.get_absolute_url()).content.decode()
    assert "there should have been 17 and there were 15: 2 missing" in page
    last = HeadCount.objects.latest("pk")
    edit = reverse("breeding:count-edit", args=[sac.female_id, last.pk])
    assert edit in page
    answer = keeper_client.post(edit, {**data, "on": DAY.isoformat(), "alive": 15, "dead": 5})
    assert answer.url == f"{sac.get_absolute_url()}#books"
    assert "It balances" in keeper_client.get(sac.get_absolute_url()).content.decode()


def test_the_share_that_a_loan_promised_is_offered(sac, male, owner):
    assert BroodShareForm(sac=sac).initial["percent"] == 50
    Loan.objects.create(specimen=male, way="in", contact=owner, since=DAY, percent=40)
    form = BroodShareForm(sac=sac)
    assert (form.initial["percent"], form.initial["to"]) == (40, owner.pk)


def test_taken_from_her_and_its_end_each_ask_for_today(sac, keeper_client):
    url = reverse("breeding:sac-state", args=[sac.pk])
    page = keeper_client.get(f"{url}?what=taken").context["form"]
    assert (page.title, page.initial["taken_on"], page.initial["ended_on"]) == ("Taken from her", DAY, None)
    answer = keeper_client.post(f"{url}?what=taken", {"taken_on": DAY.isoformat()})
    assert answer.url == sac.get_absolute_url()
    assert EggSac.objects.get(pk=sac.pk).taken_on == DAY


def test_what_is_taken_out_and_handed_over_is_said_in_its_words_and_days(sac, owner):
    share = broods.set_share(BroodShare(sac=sac, to=owner, percent=50))
    broods.take_out(sac, split(singles=1))
    with pytest.raises(Refused, match=r"They were taken out on .*; this day lies before it."):
        broods.deliver(share, 1, DAY - timedelta(days=5))
    with pytest.raises(Refused, match="Only 1 single of this brood is here"):
        broods.deliver(share, 2, DAY)


def test_a_mantis_brings_an_ootheca_and_the_entry_says_so(keeper_client):
    mantis = make.female(code="M-1", taxon=make.TaxonFactory(group="mantis"))
    sac = make.laid(mantis, DAY - timedelta(days=70), kind="ootheca")
    keeper_client.post(reverse("breeding:take-out", args=[sac.pk]), {"singles": "2", "begin": "N", "cups": "on"})
    assert Receipt.objects.latest("pk").label == "Took 2 out of the ootheca of M-1"


def test_codes_with_odd_figures_do_not_stop_the_next_ones(sac):
    make.SpecimenFactory(code="S-²")
    make.SpecimenFactory(code="S-041")
    assert broods.codes("S", 1) == ["S-042"]


def test_a_sac_that_went_with_the_female_wants_nothing_here(sac):
    taxon = sac.female.taxon
    taxon.emergence_weeks_min, taxon.emergence_weeks_max = 10, 14
    taxon.save()
    services.record_sac(sac)
    assert sac.female.dues.filter(kind="clutch").exists()
    make.left(sac.female, DAY)
    assert not sac.female.dues.filter(kind="clutch").exists()
