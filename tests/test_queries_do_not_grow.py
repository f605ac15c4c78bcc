"""Ten rows more, no query more: on every list, on the dashboard, and on an animal's page."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from breeding.models import Sign
from breeding.services import record_sign
from collection.models import Arrival, HealthIssue, Note, Taxon
from husbandry.models import Calibration, Reading, Upkeep
from husbandry.services import record_upkeep
from tests import factories as make
from tests.husbandry.sensors import NOW, hub, sensor

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 9, 20)


class House:
    """Something of every kind, in numbers that can be raised."""

    def __init__(self):
        self.room = make.place("Room", "room")
        self.dam = make.female(code="Dam")
        self.sire = make.male(code="Sire", taxon=self.dam.taxon)
        self.box = make.housed(self.dam, "E-Dam", place=self.room)
        self.pairing = make.paired(self.dam, DAY, sire=self.sire).pairing
        self.sac = make.laid(make.female(code="Mother", taxon=self.dam.taxon), DAY)
        self.issue = make.ill(self.dam, "mould", DAY)
        self.sensor = sensor("first", self.box)
        self.number = 0

    def grow(self, rows):
        for _ in range(rows):
            self.number += 1
            self.grow_animals(self.number)
            self.grow_events(self.number)

    def grow_animals(self, n):
        device, _ = hub(f"hub {n}")
        test = {"celsius": 22, "salt_1": "NaCl", "since": datetime(2026, 11, n, tzinfo=UTC)}
        for one in (self.sensor, sensor(f"s{n}", self.room, device=device)):
            Calibration.objects.create(sensor=one, shown_1=70 + n, **test)
            Reading.objects.create(sensor=one, at=NOW - 600 * n, celsius=2400, humidity=6000)
        taxon = make.TaxonFactory(name=f"Fictor numerus {n}")
        taxon.other_names.create(name=f"Fictor antiquus {n}")
        rack = make.place(f"Rack {n}", parent=self.room, order=n)
        hungry = make.SpecimenFactory(code=f"H-{n:03d}", taxon=taxon, dam=self.dam)
        make.housed(hungry, place=make.place("Shelf", "shelf", rack), water_days=3, position=n)
        make.fed(hungry, date(2026, 10, 1))
        for finding in ("female", "male"):
            make.looked(hungry, finding, looked_by=finding)
        waiting = make.female(code=f"W-{n:03d}")
        make.molted(waiting, date(2026, 1, 1))
        make.paired(waiting, DAY, sire=make.male(code=f"M-{n:03d}", taxon=waiting.taxon))
        record_sign(Sign(female=waiting, kind="webbing", earliest=make.TODAY, latest=make.TODAY))
        make.laid(make.female(code=f"S-{n:03d}"), DAY)
        make.ill(hungry, "mites", DAY)
        make.worried(hungry, "slow")
        make.apart(hungry, DAY, make.TODAY)
        contact = make.ContactFactory()
        box = Arrival.objects.create(on=DAY, contact=contact, expected=3)
        make.SpecimenFactory(code=f"A-{n}", arrival=box, acquired_from=contact)

    def grow_events(self, n):
        """More of all that one animal, one box, one pairing and one sac can have."""
        day = date(2026, 1, 1) + timedelta(days=n)
        make.molted(self.dam, day, leg_span_mm=100 + n, instar=5)
        make.looked(self.dam, "female", day, looked_by=f"person {n}")
        make.fed(self.dam, day, "taken" if n % 2 else "refused", prey="roach")
        make.held(self.dam, day, day + timedelta(days=1))
        for kind, values in (("mites", {}), ("dry", {"closed_on": day, "outcome": "resolved"})):
            HealthIssue.objects.create(specimen=self.dam, kind=kind, earliest=day, latest=day, **values)
        self.issue.entries.create(earliest=DAY, latest=DAY, course="same")
        make.rhythm(self.dam, 9, day)
        Note.objects.create(specimen=self.dam, text="calm", earliest=day)
        for side in "ab":
            self.dam.photos.create(earliest=day, sha256=f"{side}{n}", width=4, height=3, size=2)
        record_upkeep(Upkeep(enclosure=self.box, kind="water", on=day))
        make.paired(self.dam, DAY + timedelta(days=n), sire=self.sire)
        record_sign(Sign(female=self.dam, kind="webbing", earliest=make.TODAY, latest=make.TODAY))
        self.pairing.meetings.create(earliest=DAY + timedelta(days=n))
        self.sac.head_counts.create(stage="egg", alive=200 - n, earliest=DAY + timedelta(days=n))


PAGES = {
    "dashboard": lambda house: reverse("dashboard"),
    "dashboard, what is held": lambda house: reverse("dashboard") + "?show=held",
    "dashboard, females": lambda house: reverse("dashboard") + "?kind=sac",
    "register": lambda house: reverse("collection:specimen-list"),
    "register, narrowed": lambda house: (
        reverse("collection:specimen-list") + f"?q=fictor&listed=&place={house.room.pk}&sort=taxon"
    ),
    "animal": lambda house: house.dam.get_absolute_url(),
    "animal, growth": lambda house: reverse("collection:specimen-growth", args=[house.dam.pk]),
    "many molts": lambda house: reverse("collection:molts-many"),
    "sexing many": lambda house: reverse("collection:looks-many"),
    "animal, everything": lambda house: reverse("collection:specimen-history", args=[house.dam.pk]),
    "animal, pictures": lambda house: reverse("collection:photo-list", args=[house.dam.pk]),
    "animal, one picture": lambda house: house.dam.photos.latest("pk").get_absolute_url(),
    "animal, pictures side by side": lambda house: reverse("collection:photo-compare", args=[house.dam.pk]),
    "animal, evidence": lambda house: reverse("collection:specimen-evidence", args=[house.dam.pk]),
    "raising": lambda house: reverse("collection:raising") + f"?dam={house.dam.pk}",
    "animal, health": lambda house: reverse("collection:specimen-health", args=[house.dam.pk]),
    "issue": lambda house: house.issue.get_absolute_url(),
    "kept apart": lambda house: reverse("husbandry:apart"),
    "who was near": lambda house: reverse("husbandry:exposure", args=[house.issue.pk]) + "?days=365",
    "search": lambda house: reverse("collection:find") + "?q=fictor",
    "places": lambda house: reverse("husbandry:place-list"),
    "place": lambda house: house.room.get_absolute_url(),
    "enclosure": lambda house: house.box.get_absolute_url(),
    "sensors": lambda house: reverse("husbandry:sensor-list"),
    "sensor": lambda house: house.sensor.get_absolute_url(),
    "climate of a place": lambda house: reverse("husbandry:place-climate", args=[house.room.pk]),
    "devices that send": lambda house: reverse("husbandry:device-list"),
    "sac watch": lambda house: reverse("breeding:home"),
    "pairings": lambda house: reverse("breeding:pairing-list"),
    "pairing": lambda house: house.pairing.get_absolute_url(),
    "sacs": lambda house: reverse("breeding:sac-list"),
    "readiness": lambda house: reverse("breeding:readiness"),
    "meeting, live": lambda house: reverse("breeding:live", args=[house.pairing.pk]),
    "pairing plan": lambda house: reverse("breeding:plan"),
    "kin": lambda house: reverse("breeding:kin"),
    "kin of one": lambda house: reverse("breeding:specimen-kin", args=[house.dam.pk]),
    "line": lambda house: reverse("breeding:line", args=[house.dam.taxon_id]),
    "sac": lambda house: house.sac.get_absolute_url(),
    "spreadsheets out": lambda house: reverse("collection:export-page"),
    "papers": lambda house: reverse("collection:papers"),
    "contacts": lambda house: reverse("collection:contact-list"),
    "arrivals": lambda house: reverse("collection:arrival-list"),
    "taxa": lambda house: reverse("collection:taxon-list"),
    "taxon": lambda house: Taxon.objects.get(pk=house.dam.taxon_id).get_absolute_url(),
}

BUDGET = {"dashboard": 27, "bare": 22, "full": 48}  # questions; a bare animal has one meal, a full one all there is


@pytest.fixture
def house(keeper_client):
    return House()


def asked(client, address):
    """The questions that a page puts to the database, after a first visit."""
    client.get(address)
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address)
    assert answer.status_code == 200
    return [query["sql"] for query in queries]


def test_ten_rows_more_are_no_question_more_on_any_page(keeper_client, house):
    house.grow(3)
    few = {name: asked(keeper_client, address(house)) for name, address in PAGES.items()}
    house.grow(10)
    many = {name: asked(keeper_client, address(house)) for name, address in PAGES.items()}
    grown = {name: "\n".join(many[name]) for name in PAGES if len(many[name]) != len(few[name])}
    assert grown == {}


def test_one_more_meal_is_written_with_the_questions_of_the_first(keeper_client, house):
    animal = make.SpecimenFactory()

    def questions():
        with CaptureQueriesContext(connection) as queries:
            keeper_client.post(reverse("husbandry:feed-now", args=[animal.pk]), {"outcome": "taken"})
        return len(queries)

    few = questions()
    for n in range(10):
        make.fed(animal, DAY + timedelta(days=n))
    assert questions() == few


def test_the_dashboard_and_the_page_of_an_animal_stay_within_their_budget(keeper_client, house):
    """Thirty questions took half the time of either page; whoever needs more has to take them from somewhere."""
    house.grow(3)
    bare = make.fed(make.SpecimenFactory(), DAY).specimen
    pages = {"dashboard": reverse("dashboard"), "bare": bare.get_absolute_url(), "full": house.dam.get_absolute_url()}
    counts = {name: len(asked(keeper_client, address)) for name, address in pages.items()}
    assert counts == {name: min(counts[name], most) for name, most in BUDGET.items()}
