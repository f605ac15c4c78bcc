"""Every record keeps who changed it, when, and what it was before."""

from datetime import date

import pytest
import time_machine
from django.apps import apps
from django.urls import reverse

from collection.models import Note
from collection.models.base import Kept
from tests import factories as make

pytestmark = pytest.mark.django_db

# Derived, or the program's own; what a keeper wrote stands nowhere else.
WITHOUT = {
    "breeding.meetingtap",
    "breeding.kin",
    "collection.due",
    "collection.forecast",
    "collection.forecastwidth",
    "collection.importbatch",
    "collection.importmapping",
    "collection.receipt",
    "collection.standing",
    "husbandry.climatealarm",
    "husbandry.printedlabel",
    "husbandry.reading",
    "husbandry.refusal",
    "husbandry.sensorstate",
    "husbandry.tap",
    "husbandry.walk",
}


def test_every_record_of_a_keeper_has_a_history():
    known = [
        model for name in ("collection", "husbandry", "breeding") for model in apps.get_app_config(name).get_models()
    ]
    ours = {model for model in known if not model.__name__.startswith("Historical")}
    without = {model._meta.label_lower for model in ours if not issubclass(model, Kept)}
    assert without == WITHOUT


def test_written_changed_and_taken_away_each_by_whom_and_when(keeper_client, helper_client, keeper, helper):
    animal = make.SpecimenFactory()
    new = reverse("collection:note-new", args=[animal.pk])
    with time_machine.travel("2026-12-01T09:00:00+00:00", tick=False):
        helper_client.post(new, {"text": "calm"})
    note = Note.objects.get()
    edit = reverse("collection:note-edit", args=[animal.pk, note.pk])
    with time_machine.travel("2026-12-02T09:00:00+00:00", tick=False):
        keeper_client.post(edit, {"text": "wild", "on": "2026-12-01"})
    with time_machine.travel("2026-12-03T09:00:00+00:00", tick=False):
        keeper_client.post(edit, {"remove": "1"})
    rows = [
        (row.history_type, row.history_user, row.history_date.date(), row.text)
        for row in Note.history.order_by("history_id")
    ]
    assert rows == [
        ("+", helper, date(2026, 12, 1), "calm"),
        ("~", keeper, date(2026, 12, 2), "wild"),
        ("-", keeper, date(2026, 12, 3), "wild"),
    ]


def test_what_a_command_writes_has_nobodys_name():
    animal = make.SpecimenFactory()
    assert [(row.history_type, row.history_user) for row in animal.history.all()] == [("+", None)]


def test_derived_rows_leave_no_history_behind():
    animal = make.SpecimenFactory()
    make.fed(animal, date(2026, 11, 1))
    assert not hasattr(type(animal.standing), "history")
    assert animal.history.count() == 1
