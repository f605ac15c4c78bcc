"""Corrections: an entry is mended or taken away on its own page, and what it was before stays readable."""

from datetime import date

import pytest
from django.urls import reverse

from breeding.models import EggSac, HeadCount
from collection import services
from collection.models import Molt, SexEvidence
from husbandry.models import Upkeep
from husbandry.services import move, record_upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY, OTHER = date(2026, 5, 10), date(2026, 5, 12)


def page(name, record, animal):
    return reverse(name, args=[animal.pk, record.pk])


def standing(animal):
    return make.fresh(animal).standing


def test_the_page_shows_the_entry_and_who_changed_what(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY, instar=5)
    address = page("collection:molt-edit", molt, animal)
    assert keeper_client.post(address, {"on": "2026-05-12", "instar": "6", "numbering": "i"}).status_code == 302
    said = keeper_client.get(address).content.decode()
    assert "Correct: molt of 2026-05-12" in said
    assert "instar: 5 → 6" in said
    assert "keeper" in said


def test_a_correction_moves_the_standing(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY)
    keeper_client.post(page("collection:molt-edit", molt, animal), {"about": "2026-04", "numbering": "i"})
    assert standing(animal).last_molt == date(2026, 4, 15)


def test_an_invalid_correction_changes_nothing_and_keeps_what_was_typed(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY, instar=5)
    answer = keeper_client.post(page("collection:molt-edit", molt, animal), {"on": "2027-01-01", "instar": "61"})
    assert answer.status_code == 422
    assert 'value="61"' in answer.content.decode()
    molt.refresh_from_db()
    assert (molt.instar, molt.earliest) == (5, DAY)


def test_an_entry_of_another_animal_is_not_found(keeper_client):
    molt = make.molted(make.SpecimenFactory(), DAY)
    assert keeper_client.get(page("collection:molt-edit", molt, make.SpecimenFactory())).status_code == 404


def test_what_is_taken_away_leaves_its_history_as_it_stood_not_as_it_was_typed(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY, instar=5)
    typed = {"remove": "1", "on": "2026-01-01", "instar": "9", "numbering": "L"}
    assert keeper_client.post(page("collection:molt-edit", molt, animal), typed).status_code == 302
    assert not Molt.objects.exists()
    last = Molt.history.first()
    assert (last.history_type, last.instar, last.earliest, last.numbering) == ("-", 5, DAY, "i")
    assert standing(animal).last_molt is None


def test_taking_away_a_molt_to_maturity_takes_its_evidence_along(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY, matured=True)
    assert standing(animal).sex == "male"
    keeper_client.post(page("collection:molt-edit", molt, animal), {"remove": "1"})
    assert not SexEvidence.objects.exists()
    assert (standing(animal).sex, standing(animal).mature_since) == ("unsexed", None)


def test_the_evidence_of_maturity_moves_with_its_molt_and_goes_when_it_was_none(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY, matured=True)
    address = page("collection:molt-edit", molt, animal)
    keeper_client.post(address, {"on": "2026-05-12", "numbering": "i", "matured": "on"})
    assert SexEvidence.objects.get().earliest == OTHER
    keeper_client.post(address, {"on": "2026-05-12", "numbering": "i"})
    assert not SexEvidence.objects.exists()


def test_a_molt_whose_skin_was_looked_at_is_not_taken_away(keeper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY, matured=True)
    make.looked(animal, "male", DAY, molt=molt)
    answer = keeper_client.post(page("collection:molt-edit", molt, animal), {"remove": "1"})
    assert answer.status_code == 422
    assert "take that away first" in answer.content.decode()
    assert (SexEvidence.objects.count(), Molt.objects.get().matured) == (2, True)


def test_a_keepers_own_look_at_the_bulbs_is_not_doubled():
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY)
    make.looked(animal, "male", DAY, method="mature_male", molt=molt)
    molt.matured = True
    services.record_molt(molt)
    assert SexEvidence.objects.count() == 1


def test_taking_away_a_sac_that_was_none_takes_its_evidence_along(keeper_client):
    animal = make.SpecimenFactory()
    sac = make.laid(animal, DAY)
    assert standing(animal).sex == "female"
    keeper_client.post(page("breeding:sac-edit", sac, animal), {"remove": "1"})
    assert (EggSac.objects.count(), SexEvidence.objects.count()) == (0, 0)
    assert standing(animal).sex == "unsexed"


def test_the_evidence_of_a_sac_moves_with_its_day(keeper_client):
    animal = make.SpecimenFactory()
    sac = make.laid(animal, DAY)
    keeper_client.post(page("breeding:sac-edit", sac, animal), {"on": "2026-05-12", "kind": "carried"})
    assert SexEvidence.objects.get().earliest == OTHER


def test_a_sac_with_counts_is_not_taken_away(keeper_client):
    animal = make.SpecimenFactory()
    sac = make.laid(animal, DAY)
    HeadCount.objects.create(sac=sac, stage="egg", alive=90, earliest=OTHER, latest=OTHER)
    answer = keeper_client.post(page("breeding:sac-edit", sac, animal), {"remove": "1"})
    assert answer.status_code == 422
    assert "take those away first" in answer.content.decode()
    assert SexEvidence.objects.count() == 1


def test_water_taken_away_is_due_again_for_all_who_live_there(keeper_client):
    one, two = make.SpecimenFactory(), make.SpecimenFactory()
    enclosure = make.housed(one, water_days=5)
    move(two, enclosure, DAY, companion=True)
    done = record_upkeep(Upkeep(enclosure=enclosure, kind="water", on=make.TODAY))
    assert set(two.dues.filter(kind="water").values_list("due_on", flat=True)) == {date(2026, 12, 9)}
    keeper_client.post(page("husbandry:upkeep-edit", done, one), {"remove": "1"})
    assert set(two.dues.filter(kind="water").values_list("due_on", flat=True)) == {DAY}


def test_a_correction_that_contradicts_another_record_says_so_and_saves_nothing(keeper_client):
    animal = make.SpecimenFactory()
    loan = make.left(animal, DAY, kind="loan_out")
    services.record_return(loan, OTHER)
    make.left(make.fresh(animal), date(2026, 5, 20), kind="loan_out")
    data = {"on": "2026-05-10", "kind": "loan_out", "back_on": ""}
    answer = keeper_client.post(page("collection:departure-edit", loan, animal), data)
    assert answer.status_code == 422
    assert "This contradicts another record of the same animal or place." in answer.content.decode()
    loan.refresh_from_db()
    assert loan.back_on == OTHER


def test_corrections_are_the_keepers(helper_client):
    animal = make.SpecimenFactory()
    molt = make.molted(animal, DAY)
    assert helper_client.get(page("collection:molt-edit", molt, animal)).status_code == 403


def test_a_return_on_the_wrong_day_is_corrected_with_its_departure(keeper_client):
    animal = make.SpecimenFactory()
    gone = make.left(animal, date(2026, 11, 1), kind="loan_out")
    services.record_return(gone, date(2026, 11, 20))
    address = reverse("collection:departure-edit", args=[animal.pk, gone.pk])
    told = {"kind": "loan_out", "on": "2026-11-01"}
    refused = keeper_client.post(address, told | {"back_on": "2026-10-20"})
    assert refused.context["form"].errors["back_on"] == ["It left on 2026-11-01; it cannot be back before that."]
    assert keeper_client.post(address, told | {"back_on": "2026-11-10"}).status_code == 302
    assert animal.departures.get().back_on == date(2026, 11, 10)
    keeper_client.post(address, told | {"back_on": ""})
    assert make.fresh(animal).standing.status == "loan_out"
