"""The database itself refuses what can never be true, whatever code writes it."""

import pytest
from django.apps import apps
from django.db import IntegrityError, models, transaction

from collection.models import (
    Contact,
    Death,
    Departure,
    Due,
    Forecast,
    ImportMapping,
    Listing,
    Molt,
    Photo,
    Quarantine,
    Receipt,
    TaxonName,
)
from husbandry.models import (
    Calibration,
    ClimateAlarm,
    FeederStock,
    Feeding,
    FeedRhythm,
    Place,
    Posting,
    Stay,
    UpkeepRhythm,
)
from tests.collection.impossible import (
    CHECKS,
    DAY,
    ON,
    PIXELS,
    animal,
    box,
    hung,
    two_loans,
    two_looks,
    two_shares,
    two_sires_alike,
)
from tests.factories import NOW, EnclosureFactory, TaxonFactory

pytestmark = pytest.mark.django_db


def two_rooms():
    room = Place.objects.create(name="Room", kind="room")
    return Place(name="Rack", parent=room), Place(name="Rack", parent=room)


def two_of(model, **values):
    """Two records with the same values."""
    return lambda: (model(**values), model(**values))


def two_for_one(model, **values):
    """Two records of one animal with the same values."""

    def build():
        specimen = animal()
        return model(specimen=specimen, **values), model(specimen=specimen, **values)

    return build


def two_wide_rhythms(name):
    """Two rhythms of one place or taxon on one day."""

    def build():
        of = {"place": lambda: Place.objects.create(name="Rack"), "taxon": TaxonFactory}[name]()
        return tuple(FeedRhythm(days=days, since=DAY, **{name: of}) for days in (7, 9))

    return build


def two_stays_of_one():
    specimen = animal()
    return Stay(specimen=specimen, enclosure=box(), begins=DAY), Stay(specimen=specimen, enclosure=box(), begins=DAY)


def two_in_one_box():
    enclosure = box()
    return (Stay(specimen=animal(), enclosure=enclosure, begins=DAY) for _ in range(2))


def two_rounds(name, make):
    def build():
        of = {name: make()}
        return [UpkeepRhythm(**of, kind="misting", days=3, since=DAY) for _ in range(2)]

    return build


def two_listings():
    taxon = TaxonFactory()
    return (Listing(taxon=taxon, scheme="CITES", entry="II", as_of=DAY) for _ in range(2))


def two_of_one_sensor(model, **values):
    """Two records of one sensor with the same values."""

    def build():
        made = hung()
        return model(sensor=made, **values), model(sensor=made, **values)

    return build


UNIQUES = {
    "posting_one_at_a_time": (two_of_one_sensor(Posting, since=NOW), "since"),
    "calibration_one_at_a_time": (
        two_of_one_sensor(Calibration, since=NOW, celsius=22, salt_1="NaCl", shown_1=75),
        "since",
    ),
    "climatealarm_once": (two_of_one_sensor(ClimateAlarm, kind="silent", begins=1_796_400_000), "begins"),
    "loan_one_open": (two_loans, "specimen_id"),
    "broodshare_one_each": (two_shares, "sac_id"),
    "listing_once": (two_listings, "taxon_id"),
    "possible_sire_once": (two_sires_alike, "young_id"),
    "molt_once_a_day": (two_for_one(Molt, **ON), "specimen_id"),
    "photo_once_of_an_animal": (two_for_one(Photo, **ON, **PIXELS, sha256="0"), "specimen_id"),
    "name of a picture": (
        lambda: [Photo(specimen=animal(), **ON, **PIXELS, name="a", sha256=str(n)) for n in range(2)],
        "name",
    ),
    "departure_one_open": (two_for_one(Departure, kind="missing", on=DAY), "specimen_id"),
    "due_one_of_a_kind": (two_for_one(Due, kind="test", wanted_on=DAY), "specimen_id"),
    "forecast_one_a_wait": (
        two_for_one(Forecast, kind="molt", origin=1, origin_on=DAY, made_on=DAY, closes_on=DAY, quantiles=[]),
        "specimen_id",
    ),
    "importmapping_one_for_these_headings": (
        two_of(ImportMapping, kind="animals", headings_hash="0", used_at=NOW),
        "headings_hash",
    ),
    "place_name_once_in_its_parent": (two_rooms, "parent_id"),
    "place_name_once_on_top": (two_of(Place, name="Rack"), "husbandry_place.name"),
    "stay_one_place_at_a_time": (two_stays_of_one, "specimen_id"),
    "stay_one_solitary_animal": (two_in_one_box, "enclosure_id"),
    "upkeeprhythm_one_an_enclosure": (two_rounds("enclosure", EnclosureFactory), "enclosure_id"),
    "upkeeprhythm_one_a_place": (two_rounds("place", lambda: Place.objects.create(name="Rack")), "place_id"),
    "feedrhythm_one_a_day_of_specimen": (two_for_one(FeedRhythm, days=7, since=DAY), "since"),
    "feedrhythm_one_a_day_of_place": (two_wide_rhythms("place"), "since"),
    "feedrhythm_one_a_day_of_taxon": (two_wide_rhythms("taxon"), "since"),
    "feederstock_once": (two_of(FeederStock, kind="cricket", mm=10), "mm"),
    "feederstock_once_without_size": (two_of(FeederStock, kind="cricket"), "kind"),
    "quarantine_one_open": (two_for_one(Quarantine, begins=DAY, until=DAY), "specimen_id"),
    "exposurecheck_once_a_day": (two_looks, "specimen_id"),
    "code of an animal": (lambda: [animal.build(code="B-1", taxon=TaxonFactory()) for _ in range(2)], "code"),
    "tag of an animal": (lambda: [animal.build(tag="AAAAAAAA", taxon=TaxonFactory()) for _ in range(2)], "tag"),
    "code of an enclosure": (lambda: [box.build(code="E-1") for _ in range(2)], "code"),
    "tag of an enclosure": (lambda: [box.build(tag="AAAAAAAA") for _ in range(2)], "tag"),
    "name of a taxon": (lambda: [TaxonFactory.build(name="Fictor unus") for _ in range(2)], "name"),
    "other name": (lambda: [TaxonName(taxon=TaxonFactory(), name="Fictor duo") for _ in range(2)], "name"),
    "name of a contact": (two_of(Contact, name="Somebody"), "name"),
    "one death": (two_for_one(Death, **ON), "specimen_id"),
    "key of a meal": (two_for_one(Feeding, on=DAY, outcome="taken", key="0" * 32), "key"),
    "key of a receipt": (two_of(Receipt, key="k", at=NOW), "key"),
}


@pytest.mark.parametrize("name", CHECKS)
def test_a_value_that_cannot_be_true_is_refused(name):
    record = CHECKS[name]()
    with pytest.raises(IntegrityError, match=f"CHECK constraint failed: {name}"), transaction.atomic():
        record.save()


@pytest.mark.parametrize("name", UNIQUES)
def test_what_exists_once_is_refused_a_second_time(name):
    build, column = UNIQUES[name]
    first, second = build()
    first.save()
    with pytest.raises(IntegrityError, match=f"UNIQUE constraint failed.*{column}"), transaction.atomic():
        second.save()


def test_every_constraint_of_the_three_apps_has_its_refusal_here():
    known = [
        model for name in ("collection", "husbandry", "breeding") for model in apps.get_app_config(name).get_models()
    ]
    stated = {rule.name for model in known for rule in model._meta.constraints}
    assert stated == {name for name in (CHECKS | UNIQUES) if " " not in name}


def test_companions_put_together_on_purpose_share_a_box():
    enclosure = box()
    for alone in (False, True):
        Stay.objects.create(specimen=animal(), enclosure=enclosure, begins=DAY, companion=alone)
    assert enclosure.stays.count() == 2


def test_a_record_that_others_rest_on_cannot_be_deleted():
    molt = Molt.objects.create(specimen=animal(), **ON)
    with pytest.raises(models.ProtectedError):
        molt.specimen.delete()
