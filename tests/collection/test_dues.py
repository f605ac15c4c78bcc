"""Dues of the bottom app: molts expected and evidence that clashes; and how dues are kept and asked for."""

from datetime import date, timedelta

import pytest
from django.db import connection

from collection import attention, dues, services
from collection.attention import DueKind, Said, StoredDue, Urgency
from collection.models import Due, Measurement
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY, MOLTED = make.TODAY, date(2025, 12, 1)


def due(animal, kind):
    return animal.dues.filter(kind=kind).first()


def says(animal, kind, today):
    said = attention.due_kinds[kind].say(dues.as_stored(due(animal, kind)), today)
    return said.plate, said.sentence


@pytest.fixture
def adult():
    """A grown animal that molted a year ago."""
    animal = make.SpecimenFactory()
    size = Measurement(specimen=animal, earliest=MOLTED, latest=MOLTED, leg_span_mm=150)
    services.write(size, [animal], "measured")
    make.molted(animal, MOLTED)
    return make.fresh(animal)


def test_a_molt_is_wanted_in_its_window_and_asked_for_a_while_after_it(adult):
    found, now = due(adult, "molt"), adult.standing
    assert (found.wanted_on, found.ends_on) == (now.molt_begins, now.molt_ends + timedelta(days=60))
    before, within, after = (now.molt_begins - timedelta(days=1), now.molt_begins, found.ends_on + timedelta(days=1))
    assert [Due.objects.of("molt").wanted(day).exists() for day in (before, within, after)] == [False, True, False]


def test_a_molt_near_or_late_is_said_with_its_window(adult):
    plate, sentence = says(adult, "molt", adult.standing.molt_begins)
    assert plate == "molt near"
    assert sentence == (
        "Last molt 8 months ago; the next is likeliest around 17 March 2027, nine times in ten by 10 April 2028."
    )
    assert says(adult, "molt", adult.standing.molt_ends + timedelta(days=1))[0] == "molt late"


@pytest.mark.parametrize("end", [make.died, make.left])
def test_nobody_waits_for_the_molt_of_who_is_gone(adult, end):
    end(adult, TODAY)
    assert due(adult, "molt") is None


def test_clashing_evidence_is_asked_about_since_the_day_it_clashed():
    dam = make.female()
    make.looked(dam, "male", date(2026, 6, 1), looked_by="another")
    found = due(dam, "evidence")
    assert (found.wanted_on, found.due_on) == (date(2026, 6, 1), date(2026, 6, 1))
    plate, sentence = says(dam, "evidence", TODAY)
    assert plate == "evidence clashes"
    assert sentence.endswith("Last looked at on 1 June.")


def test_a_clash_ends_when_one_side_is_withdrawn():
    dam = make.female()
    row = make.looked(dam, "male", date(2026, 6, 1), looked_by="another")
    row.withdrawn = "another skin"
    services.write(row, [dam], "withdrew")
    assert due(dam, "evidence") is None


def test_a_due_that_is_held_is_wanted_but_not_due():
    animal = make.SpecimenFactory()
    Due.objects.all().delete()
    Due.objects.create(specimen=animal, kind="feed", wanted_on=TODAY, due_on=TODAY + timedelta(days=3))
    assert (Due.objects.wanted(TODAY).count(), Due.objects.due(TODAY).count()) == (1, 0)
    assert Due.objects.due(TODAY + timedelta(days=3)).count() == 1


def kind(name, found, **values):
    said = Said(Urgency.LOOK, "plate", "Sentence.")
    return DueKind(
        name, name.title(), lambda ids: [d for d in found if d.specimen_id in ids], lambda *_: said, **values
    )


def test_a_kind_of_a_later_app_is_kept_like_the_others():
    animal = make.SpecimenFactory()
    with attention.registered(kind("test", [StoredDue(animal.pk, TODAY, TODAY, {"n": 1})])):
        dues.refresh([animal.pk])
        assert dues.as_stored(due(animal, "test")) == StoredDue(animal.pk, TODAY, TODAY, {"n": 1})
    assert "test" not in attention.due_kinds


def test_a_due_that_is_no_longer_wanted_goes_and_one_of_another_animal_stays():
    one, two = make.SpecimenFactory(), make.SpecimenFactory()
    with attention.registered(kind("test", [StoredDue(pk, TODAY, None, {}) for pk in (one.pk, two.pk)])):
        dues.refresh([one.pk, two.pk])
    with attention.registered(kind("test", [])):
        dues.refresh([one.pk])
    assert (due(one, "test"), due(two, "test").due_on) == (None, None)


def test_a_kind_may_move_others_than_those_that_something_happened_to():
    one, two = make.SpecimenFactory(), make.SpecimenFactory()
    found = [StoredDue(two.pk, TODAY, TODAY, {})]
    with attention.registered(kind("test", found, moves=lambda ids: [two.pk])):
        dues.refresh([one.pk])
    assert due(two, "test").due_on == TODAY


def test_a_long_list_is_worked_out_in_parts():
    assert [len(part) for part in dues.chunks(range(5), 2)] == [2, 2, 1]
    assert list(dues.chunks([])) == []


@pytest.mark.django_db(transaction=True)
def test_all_is_worked_out_anew_under_a_lock_so_that_what_is_logged_meanwhile_is_not_lost(monkeypatch):
    for _ in range(2):
        make.SpecimenFactory()
    locked, gaps = [], []
    monkeypatch.setattr(dues, "chunks", lambda ids: ([pk] for pk in ids))
    monkeypatch.setattr(dues.time, "sleep", lambda seconds: gaps.append(connection.in_atomic_block))
    real = dues.standing.rebuild

    def rebuild(ids):
        locked.append(connection.in_atomic_block)
        real(ids)

    monkeypatch.setattr(dues.standing, "rebuild", rebuild)
    dues.refresh_all()
    assert locked == [True, True]
    assert gaps == [False]  # and between two parts, others get their turn
