"""A death: its cause, what the animal was doing, what stays; corrected away, what comes back; deaths inside a group."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection import panels, services
from collection.models import Death, HeadLoss, HealthIssue, Molt, Specimen
from collection.services import Refused
from husbandry.models import Stay
from husbandry.services import move
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY, DIED = make.TODAY, date(2026, 12, 1)


@pytest.fixture
def animal():
    return make.female(code="B-1")


def page(client, animal):
    return client.get(animal.get_absolute_url()).content.decode()


def group(count=9, **values):
    made = make.SpecimenFactory(code="G-1", kind="group", **values)
    if count is not None:
        services.record_count(services.GroupCount(specimen=made, earliest=DIED, latest=DIED, count=count))
    return make.fresh(made)


def lost(specimen, number, day=DIED, left=None, **values):
    services.record_head_loss(HeadLoss(specimen=specimen, number=number, earliest=day, latest=day, **values), left)


def test_the_form_says_what_it_was_doing_and_takes_unknown_for_the_cause(keeper_client, animal):
    make.molted(animal, date(2026, 11, 20))
    make.fed(animal, date(2026, 11, 10), prey="roach")
    make.fed(animal, date(2026, 12, 3), "refused")
    make.housed(animal, "E-1")
    make.ill(animal, "mites", date(2026, 12, 2))
    form = keeper_client.get(reverse("collection:death-new", args=[animal.pk])).context["form"]
    assert form.before == (
        "14 days after its last molt; mites, suspected since 2 December 2026; "
        "24 days after its last meal (roach); refused once since; in E-1 since 1 November 2024."
    )
    assert form["cause"].value() == "unknown"


def test_a_female_that_guards_a_sac_is_said_to(animal):
    make.laid(animal, date(2026, 11, 25))
    assert "Guarding the sac of 25 November 2026" in panels.doing(animal, DIED)
    assert "uarding" not in panels.doing(animal, date(2026, 11, 24))


def test_an_animal_of_which_nothing_is_known_was_doing_nothing_that_is_known():
    assert panels.doing(make.SpecimenFactory(), DIED) == "No molt on record; no meal on record."


def test_its_page_tells_how_it_died_and_where_the_body_is(keeper_client, animal):
    make.fed(animal, date(2026, 11, 30))
    values = {"on": "2026-12-01", "cause": "molt", "post_mortem": "half out of the skin", "body_where": "jar 4"}
    assert keeper_client.post(reverse("collection:death-new", args=[animal.pk]), values).status_code == 302
    assert Death.objects.get().body_kept  # somewhere is kept
    text = page(keeper_client, animal)
    for words in ("molt failure", "half out of the skin", "Body kept: jar 4", "1 day after its last meal"):
        assert words in text


def test_its_records_and_its_young_stay(keeper_client, animal):
    young = make.SpecimenFactory(code="Y-1", dam=animal)
    make.molted(animal, date(2026, 6, 1))
    make.died(animal, DIED)
    assert Specimen.objects.get(pk=young.pk).dam == animal
    assert Molt.objects.filter(specimen=animal).count() == 1
    text = page(keeper_client, animal)
    assert "Y-1" in text
    assert "Its records and its young stay." in text


def test_what_was_wrong_is_closed_by_the_death_and_open_again_without_it(animal):
    issue = make.ill(animal, "dry", date(2026, 11, 30))
    death = make.died(animal, DIED)
    issue.refresh_from_db()
    assert (issue.outcome, issue.closed_on) == ("died", DIED)
    services.remove_death(death)
    issue.refresh_from_db()
    assert (issue.outcome, issue.closed_on) == ("", None)


def test_an_animal_that_is_passed_on_ill_stays_ill(animal):
    make.ill(animal, "limb", DIED)
    make.left(animal, TODAY)
    assert HealthIssue.objects.get().closed_on is None


def test_a_death_corrected_away_gives_the_animal_its_place_back(keeper_client, animal):
    make.housed(animal, "E-1")
    death = make.died(animal, DIED)
    assert animal.stays.get().ends == DIED
    keeper_client.post(reverse("collection:death-edit", args=[animal.pk, death.pk]), {"remove": "1"})
    assert (animal.stays.get().ends, make.fresh(animal).standing.status) == (None, "here")


def test_a_place_that_another_has_taken_stays_the_others_and_that_is_said(keeper_client, animal):
    box = make.housed(animal, "E-1")
    death = make.died(animal, DIED)
    move(make.SpecimenFactory(code="B-2"), box, TODAY)
    address = reverse("collection:death-edit", args=[animal.pk, death.pk])
    answer = keeper_client.post(address, {"remove": "1"}, follow=True)
    assert "Its enclosure E-1 is taken by B-2: move it into another." in answer.content.decode()
    assert animal.stays.get().ends == DIED
    assert Stay.objects.open().get(enclosure=box).specimen.code == "B-2"


@pytest.mark.parametrize("days", [-3, 2])
def test_a_corrected_day_of_death_moves_the_end_of_its_stay(animal, days):
    make.housed(animal, "E-1")
    death = make.died(animal, DIED)
    death.earliest = death.latest = DIED + timedelta(days=days)
    services.record_death(death)
    assert animal.stays.get().ends == death.latest


def test_a_departure_corrected_away_gives_the_place_back_too(keeper_client, animal):
    make.housed(animal, "E-1")
    gone = make.left(animal, DIED)
    keeper_client.post(reverse("collection:departure-edit", args=[animal.pk, gone.pk]), {"remove": "1"})
    assert animal.stays.get().ends is None


def test_deaths_in_a_group_lower_its_heads_and_the_group_lives_on(keeper_client):
    many = group(9)
    lost(many, 2, TODAY, cause="sibling")
    assert (make.fresh(many).standing.head_count, make.fresh(many).standing.status) == (7, "here")
    text = page(keeper_client, many)
    assert "cannibalised by a sibling" in text
    assert "Deaths in it" in text


def test_a_count_afterwards_counts_only_once():
    many = group(9)
    lost(many, 2, TODAY, left=6)  # one more was gone than was found
    assert make.fresh(many).standing.head_count == 6


def test_more_deaths_than_heads_and_a_count_of_the_same_day_are_refused():
    many = group(9)
    with pytest.raises(Refused, match=r"held 9 when last counted, on 2026-12-01\. Count them first"):
        lost(many, 10, TODAY)
    with pytest.raises(Refused, match="Say how many are left") as refusal:
        lost(many, 1, DIED)
    assert refusal.value.field == "left"


def test_a_single_animal_dies_by_its_own_death(animal):
    with pytest.raises(Refused, match="is a single animal; log its death instead"):
        lost(animal, 1)


def test_deaths_are_logged_on_the_page_of_the_group(keeper_client):
    many = group(9)
    address = reverse("collection:headloss-new", args=[many.pk])
    answer = keeper_client.post(address, {"number": 3, "cause": "infection", "on": "2026-12-03"})
    assert answer.status_code == 302
    assert make.fresh(many).standing.head_count == 6
    loss = HeadLoss.objects.get()
    edit = reverse("collection:headloss-edit", args=[many.pk, loss.pk])
    assert keeper_client.post(edit, {"number": 2, "cause": "unknown", "on": "2026-12-03"}).status_code == 302
    assert make.fresh(many).standing.head_count == 7
    keeper_client.post(edit, {"remove": "1"})
    assert make.fresh(many).standing.head_count == 9


def test_deaths_with_a_count_of_what_was_left_can_be_corrected(keeper_client):
    many = group(9)
    lost(many, 6, TODAY, left=3)
    edit = reverse("collection:headloss-edit", args=[many.pk, HeadLoss.objects.get().pk])
    answer = keeper_client.post(edit, {"number": 6, "cause": "infection", "on": str(TODAY)})
    assert answer.status_code == 302
    assert HeadLoss.objects.get().cause == "infection"
