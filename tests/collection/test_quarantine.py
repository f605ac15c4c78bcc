"""Arrivals stand apart: from the box they came in or by the keeper's word, with looks of their own."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection import attention, dues, health_services, receipts
from collection.models import Arrival, Due, Quarantine, QuarantineCheck, Receipt
from collection.services import Refused, remove_death
from husbandry import holds
from husbandry.rhythm import HoldKind
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
CAME = date(2026, 11, 28)


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def says(animal, kind, today=TODAY):
    due = Due.objects.get(specimen=animal, kind=kind)
    told = attention.due_kinds[kind].say(dues.as_stored(due), today)
    return told.plate, told.sentence


def looked(quarantine, day, **findings):
    check = QuarantineCheck(quarantine=quarantine, earliest=day, latest=day, findings=findings or {"mites": "clear"})
    health_services.record_check(check)


def post(client, name, *args, **values):
    return client.post(reverse(f"collection:{name}", args=args), values)


def test_looks_fall_due_every_week_and_its_last_day_asks_whether_it_is_over(animal):
    kept = make.apart(animal, CAME, date(2026, 12, 9))
    assert says(animal, "quarantine-check")[0] == "quarantine check, 6 days over"
    looked(kept, date(2026, 12, 4))
    assert animal.dues.get(kind="quarantine-check").due_on == date(2026, 12, 9)  # before a week is over
    plate, sentence = says(animal, "quarantine-check", date(2026, 12, 9))
    assert plate == "quarantine over"
    assert sentence == (
        "Last looked at 5 days ago. Its last day was 9 December: end the quarantine, or give it more days."
    )


def test_who_is_kept_apart_is_counted_on_its_own_on_the_dashboard(keeper_client, animal):
    make.apart(animal, CAME, date(2026, 12, 28))
    assert says(animal, "quarantine")[0] == "in quarantine until 28 December"
    answer = keeper_client.get("/?kind=quarantine")
    assert [(kind.name, n) for kind, n in answer.context["apart"]] == [("quarantine", 1)]


def test_a_doubt_is_in_the_way_of_an_all_clear(animal):
    kept = make.apart(animal, CAME, TODAY)
    looked(kept, TODAY, mites="doubtful", body="clear")
    with pytest.raises(Refused, match="left in doubt: mites"):
        health_services.end_quarantine(kept, TODAY, "clear")
    health_services.end_quarantine(kept, TODAY, "stopped")
    assert not Due.objects.filter(kind__startswith="quarantine").exists()


def test_one_quarantine_at_a_time_and_no_look_outside_it(animal):
    kept = make.apart(animal, CAME, TODAY)
    with pytest.raises(Refused, match="in quarantine already"):
        make.apart(animal, TODAY, TODAY)
    with pytest.raises(Refused, match="not in quarantine on that day"):
        looked(kept, CAME - timedelta(days=1))
    with pytest.raises(Refused, match="cannot end before it began"):
        health_services.end_quarantine(kept, CAME - timedelta(days=1), "clear")


def test_what_is_looked_at_fits_the_group(keeper_client, animal):
    make.apart(animal, CAME, TODAY)
    roaches = make.SpecimenFactory(taxon=make.TaxonFactory(group="roach"), kind="culture")
    make.apart(roaches, CAME, TODAY)

    def fields(who):
        form = keeper_client.get(reverse("collection:quarantine", args=[who.pk])).context["form"]
        return {field.name for field in form.visible_fields()} & {"body", "limbs", "mites", "mouth", "faeces"}

    assert fields(animal) == {"body", "limbs", "mites", "mouth", "faeces"}
    assert fields(roaches) == {"body", "mites", "faeces"}


def test_a_look_is_logged_by_whoever_looks_and_ended_by_the_keeper(helper_client, keeper_client, animal):
    make.apart(animal, CAME, TODAY)
    assert post(helper_client, "quarantine", animal.pk, note="calm").status_code == 422
    assert post(helper_client, "quarantine", animal.pk, mites="clear", mouth="clear").status_code == 302
    assert QuarantineCheck.objects.get().findings == {"mites": "clear", "mouth": "clear"}
    assert post(helper_client, "quarantine-end", animal.pk, ended="clear").status_code == 403
    assert post(keeper_client, "quarantine-end", animal.pk, ended="clear").status_code == 302
    text = keeper_client.get(reverse("collection:specimen-health", args=[animal.pk])).content.decode()
    assert "all clear" in text


def test_a_box_sets_all_that_came_in_it_apart(keeper_client, animal):
    box = Arrival.objects.create(on=CAME)
    for code in ("B-2", "B-3"):
        make.SpecimenFactory(code=code, arrival=box)
    post(keeper_client, "arrival-edit", box.pk, on="2026-11-28", dead=0, quarantine_days=30)
    assert set(Quarantine.objects.values_list("specimen__code", "until")) == {
        ("B-2", date(2026, 12, 28)),
        ("B-3", date(2026, 12, 28)),
    }
    receipts.undo(Receipt.objects.get())
    assert not Quarantine.objects.exists()


def test_more_days_for_the_box_move_all_but_those_that_the_keeper_set_otherwise(keeper_client):
    box = Arrival.objects.create(on=CAME, quarantine_days=30)
    own, other = (make.SpecimenFactory(arrival=box) for _ in range(2))
    make.apart(own, CAME, date(2027, 2, 1), arrival=box)
    make.apart(other, CAME, date(2026, 12, 28), arrival=box)
    post(keeper_client, "arrival-edit", box.pk, on="2026-11-28", dead=0, quarantine_days=60)
    assert own.quarantines.get().until == date(2027, 2, 1)
    assert other.quarantines.get().until == date(2027, 1, 27)


def test_a_box_of_long_ago_sets_nobody_apart(keeper_client):
    box = Arrival.objects.create(on=date(2025, 1, 1))
    make.SpecimenFactory(arrival=box)
    post(keeper_client, "arrival-edit", box.pk, on="2025-01-01", dead=0, quarantine_days=30)
    assert not Quarantine.objects.exists()


def test_an_animal_that_is_entered_out_of_a_box_goes_where_the_others_are(keeper_client):
    box = Arrival.objects.create(on=CAME, quarantine_days=30)
    taxon = make.TaxonFactory()
    values = {"code": "N-1", "taxon": taxon.name, "kind": "single", "how": "bought", "origin": "W", "arrival": box.pk}
    assert post(keeper_client, "specimen-new", **values).status_code == 302
    assert Quarantine.objects.get().specimen.code == "N-1"


def test_what_was_caught_is_kept_apart_longer(keeper_client):
    wild, bred = make.SpecimenFactory(origin="W"), make.SpecimenFactory(origin="C")
    days = [health_services.usual_days(one) for one in (wild, bred)]
    assert days == [60, 30]  # common practice: 30 at least, 60 to 90 for wild-caught


def test_the_rest_after_arrival_is_counted_from_the_box():
    box = Arrival.objects.create(on=CAME)
    animal = make.SpecimenFactory(arrival=box, acquired_earliest=None, acquired_latest=None)
    [hold] = holds.gather([animal.pk])[animal.pk]
    assert (hold.kind, hold.begins) == (HoldKind.ARRIVAL, CAME)


def test_quarantine_is_over_with_the_animal_and_goes_on_when_it_did_not_die(animal):
    make.apart(animal, CAME, date(2026, 12, 28))
    death = make.died(animal, TODAY)
    assert animal.quarantines.get().ended == "gone"
    remove_death(death)
    assert animal.quarantines.get().ended_on is None


def test_who_is_gone_is_not_set_apart_by_naming_its_box(keeper_client, animal):
    make.died(animal, TODAY)
    animal.arrival = Arrival.objects.create(on=CAME, quarantine_days=60)
    animal.entered_at = make.timezone.now()
    make.services.save_specimen(animal, "")
    assert not Quarantine.objects.exists()
