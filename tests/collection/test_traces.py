"""The page of one animal asks once which tables hold anything of it, and spares the others."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection import traces
from collection.models import MoltSign, Note, Photo, Specimen
from collection.photos.panel import photos
from collection.specimen_panels import notes
from husbandry.feeding import last_taken
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


@pytest.fixture
def animal():
    return make.SpecimenFactory()


def questions(work):
    """How many questions some work puts to the database."""
    with CaptureQueriesContext(connection) as asked:
        work()
    return len(asked)


def noted(animal):
    return Note.objects.create(specimen=animal, text="calm", earliest=make.TODAY)


def test_a_table_without_a_row_of_the_animal_is_known_to_lack_it(animal):
    noted(animal)
    with traces.of_one(animal.pk):
        assert traces.lacks([animal.pk], Photo)
        assert traces.lacks([animal.pk], Photo, MoltSign)
        assert not traces.lacks([animal.pk], Note)
        assert not traces.lacks([animal.pk], Photo, Note)


def test_a_row_under_any_of_the_fields_of_a_table_counts(animal):
    make.SpecimenFactory(sire=animal)
    with traces.of_one(animal.pk):
        assert not traces.lacks([animal.pk], Specimen)


def test_a_table_that_is_not_watched_may_hold_anything(animal):
    with traces.of_one(animal.pk):
        assert not traces.lacks([animal.pk], type(animal.taxon))


def test_other_animals_and_other_pages_are_asked_as_ever(animal):
    other = make.SpecimenFactory()
    assert not traces.lacks([animal.pk], Photo)
    with traces.of_one(animal.pk):
        assert not traces.lacks([other.pk], Photo)
        assert not traces.lacks([animal.pk, other.pk], Photo)
    assert not traces.lacks([animal.pk], Photo)


def test_rows_known_to_be_none_cost_no_question(animal):
    rows = animal.photos.all()
    with traces.of_one(animal.pk):
        spared = traces.some([animal.pk], rows)
        assert questions(lambda: (list(spared), spared[:8], spared.count(), bool(spared), spared.first())) == 0
    assert questions(lambda: list(traces.some([animal.pk], rows))) == 1


def test_rows_that_are_there_are_found_on_the_page_too(animal):
    note = noted(animal)
    with traces.of_one(animal.pk):
        assert list(traces.some([animal.pk], animal.notes.all())) == [note]
        panel = notes(animal, make.TODAY)
    assert panel is not None
    assert list(panel.context["notes"]) == [note]


def test_a_picture_that_came_after_a_page_is_seen_on_the_next(animal):
    with traces.of_one(animal.pk):
        assert photos(animal, make.TODAY).context["all"] == 0
    animal.photos.create(earliest=make.TODAY, sha256="a", width=4, height=3, size=2)
    with traces.of_one(animal.pk):
        assert photos(animal, make.TODAY).context["all"] == 1


def test_what_two_panels_need_is_asked_once_on_a_page_and_anew_outside(animal):
    make.fed(animal, make.TODAY)
    with traces.of_one(animal.pk):
        assert questions(lambda: (last_taken([animal.pk]), last_taken([animal.pk]))) == 1
        assert last_taken([animal.pk]) == {animal.pk: make.TODAY}
    assert questions(lambda: (last_taken([animal.pk]), last_taken([animal.pk]))) == 2


def test_a_page_that_fails_leaves_nothing_behind(animal):
    with pytest.raises(ZeroDivisionError), traces.of_one(animal.pk):
        raise ZeroDivisionError
    assert not traces.lacks([animal.pk], Photo)
