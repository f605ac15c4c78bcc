"""Two that meet now: whom she could meet, what is agreed of a lent male, and what a lost one leaves behind."""

from datetime import timedelta

import pytest
from django.urls import reverse

from breeding import loans
from breeding.forms import NewMeetingForm, PairingForm
from breeding.models import Loan, Meeting, Pairing
from collection import receipts, services
from collection.forms.events import DeathForm
from collection.forms.molts import MoltForm
from collection.models import Contact, Receipt
from collection.services import remove_death
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = make.TODAY


@pytest.fixture
def pair():
    female = make.female(code="F-1")
    return female, make.male(code="M-1", taxon=female.taxon)


def meet(client, animal, **data):
    return client.post(reverse("breeding:meet", args=[animal.pk]), data)


def test_whoever_is_of_the_taxon_and_of_the_other_sex_is_offered(keeper_client, pair):
    female, male = pair
    make.male(code="M-2")  # of another taxon
    choices = keeper_client.get(reverse("breeding:meet", args=[female.pk])).context["form"].fields["partner"].choices
    assert [label.partition(":")[0] for _, label in choices] == ["M-1", "another"]
    answer = meet(keeper_client, female, partner=male.pk)
    pairing = Pairing.objects.get()
    assert (pairing.female, pairing.male, pairing.planned_for) == (female, male, DAY)
    assert answer.url == reverse("breeding:live", args=[pairing.pk])


def test_it_goes_from_his_page_as_well_and_a_planned_pairing_is_taken_up(keeper_client, pair):
    female, male = pair
    planned = Pairing.objects.create(female=female, male=male, planned_for=DAY)
    assert meet(keeper_client, male, other="f-1").url == reverse("breeding:live", args=[planned.pk])
    assert Pairing.objects.count() == 1


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, "somebody must go in"),
        ({"other": "NOBODY"}, "No animal is called"),
        ({"other": "X-1"}, "Say why two taxa are paired"),
        ({"other": "D-1"}, "died on"),
    ],
)
def test_who_cannot_meet_is_refused_with_a_sentence(keeper_client, pair, data, words):
    make.male(code="X-1")
    dead = make.male(code="D-1", taxon=pair[0].taxon)
    make.died(dead, date_before(DAY))
    answer = meet(keeper_client, pair[0], **data)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Pairing.objects.exists()


def date_before(day):
    return day.replace(day=1)


def lend(male, **values):
    loan = Loan(specimen=male, way="in", contact=Contact.objects.create(name="Vale"), since=DAY, percent=50, **values)
    return loans.begin(loan)


def test_what_was_agreed_of_a_lent_male_stands_before_the_meeting(keeper_client, pair):
    female, male = pair
    lend(male, if_lost="Nothing is owed.")
    pairing = Pairing.objects.create(female=female, male=male, planned_for=DAY)
    for name in ("live", "pairing-detail"):
        page = keeper_client.get(reverse(f"breeding:{name}", args=[pairing.pk])).content.decode()
        assert "M-1 is lent by Vale. If he is lost: nothing is owed." in page


def test_a_loan_ends_with_a_death_and_runs_again_when_it_was_none(pair):
    loan = lend(pair[1])
    death = make.died(pair[1], DAY)
    loan.refresh_from_db()
    assert loan.ended_on == DAY
    remove_death(death)
    loan.refresh_from_db()
    assert loan.ended_on is None


def test_the_death_of_a_lost_male_knows_its_cause(pair):
    female, male = pair
    assert DeathForm(specimen=male).initial.get("cause") in (None, "unknown")
    make.paired(female, DAY, sire=male, ending="male_lost")
    assert DeathForm(specimen=male).initial["cause"] == "pairing"
    assert DeathForm(specimen=female).initial.get("cause") != "pairing"


def test_a_mantis_is_asked_how_often_they_joined(keeper_client):
    mantis = make.SpecimenFactory(taxon=make.TaxonFactory(name="Hierodula membranacea", group="mantis"))
    form = PairingForm(specimen=mantis)
    assert form.fields["insertions_left"].label == "seen joined, times"
    assert not {"insertions_right", "drumming"} & set(form.fields)
    make.paired(mantis, DAY, insertions_left=1)
    pairing = Meeting.objects.get().pairing
    assert "drumming" not in NewMeetingForm(pairing=pairing).fields
    page = keeper_client.get(reverse("breeding:pairing-detail", args=[pairing.pk])).content.decode()
    assert "joined once" in page
    assert "She may eat him before he reaches her" in page


def test_the_pairing_says_what_the_young_would_be(keeper_client, pair):
    pairing = Pairing.objects.create(female=pair[0], male=pair[1], planned_for=DAY)
    page = keeper_client.get(reverse("breeding:pairing-detail", args=[pairing.pk])).content.decode()
    assert "inbreeding coefficient 0 %" in page


def test_a_molt_that_ends_a_hope_says_so_before_and_after(keeper_client, pair):
    female, male = pair
    assert not MoltForm(specimen=female).before
    make.paired(female, DAY - timedelta(days=40), sire=male)
    before = MoltForm(specimen=female).before
    assert before == "Paired 25 October 2026: a molt sheds the sperm and ends the wait for a sac."
    make.molted(female, DAY - timedelta(days=2))
    page = keeper_client.get(female.get_absolute_url()).content.decode()
    assert "Her molt of 2 December ended the wait for a sac from the pairing of 25 October" in page


@pytest.fixture
def lent(keeper_client):
    """A male of ours, lent out by the form, and the addresses of its loan."""
    male, vale = make.male(code="M-9"), Contact.objects.create(name="Vale")
    form = {"way": "out", "contact": vale.pk, "on": str(DAY - timedelta(days=9))}
    assert keeper_client.post(reverse("breeding:loan-new", args=[male.pk]), form).status_code == 302
    return male, form, reverse("breeding:loan-edit", args=[male.pk, Loan.objects.get().pk])


def status(animal):
    return make.fresh(animal).standing.status


def test_a_corrected_loan_corrects_the_departure_it_began_with(keeper_client, lent):
    male, form, edit = lent
    other = Contact.objects.create(name="Rill")
    keeper_client.post(edit, {**form, "on": str(DAY - timedelta(days=5)), "contact": other.pk})
    gone = male.departures.get()
    assert (gone.on, gone.contact) == (DAY - timedelta(days=5), other)
    answer = keeper_client.post(edit, {**form, "way": "in"})
    assert "Take this loan away and log it anew." in answer.content.decode()


def test_a_loan_that_is_taken_away_leaves_the_animal_here(keeper_client, lent):
    male, _, edit = lent
    assert status(male) == "loan_out"
    keeper_client.post(edit, {"remove": "1"})
    assert (status(male), male.departures.count(), Loan.objects.count()) == ("here", 0, 0)
    receipts.undo(Receipt.objects.latest("pk"))
    assert (status(male), male.departures.count(), Loan.objects.count()) == ("loan_out", 1, 1)


def test_who_is_back_is_lent_no_more_and_its_old_terms_can_still_be_mended(keeper_client, lent):
    male, form, edit = lent
    services.record_return(male.departures.get(), DAY - timedelta(days=2))
    assert Loan.objects.get().ended_on == DAY - timedelta(days=2)
    loans.begin(Loan(specimen=make.fresh(male), way="out", contact=Contact.objects.get(), since=DAY))
    assert keeper_client.post(edit, {**form, "terms": "half of the young"}).status_code == 302
    assert Loan.objects.filter(terms="half of the young", ended_on__isnull=False).exists()
