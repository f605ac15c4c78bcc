"""Whatever happens, and whatever is corrected or taken back: the stored rows equal those of a full rebuild."""

from datetime import date, timedelta
from uuid import uuid4

from django.db import IntegrityError, transaction
from django.utils import timezone
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breeding import services as breeding
from breeding.models import EggSac, Meeting, Pairing, Sign
from collection import attention, dues, health_services, receipts, services
from collection.health import Outcome
from collection.models import (
    Death,
    Due,
    HeadLoss,
    HealthEntry,
    HealthIssue,
    Measurement,
    Molt,
    Receipt,
    SexEvidence,
    Specimen,
    Standing,
)
from collection.services import Refused
from husbandry import services as husbandry
from husbandry.models import FeedRhythm, Hold, Upkeep
from tests import factories as make

FIRST = date(2025, 1, 1)


def stored():
    """Every derived row, without the numbers that only count rows."""
    kept = sorted(map(str, Standing.objects.values()))
    return kept, sorted(map(str, Due.objects.values("specimen", "kind", "wanted_on", "due_on", "ends_on", "facts")))


class World:
    """Two females and a male of one taxon, a female of another, a group, and two enclosures to share."""

    def __init__(self):
        taxon = make.TaxonFactory()
        self.taxa = [taxon, make.TaxonFactory(sac_months_min=5, sac_months_max=9)]
        self.animals = [
            make.female(taxon=taxon),
            make.female(taxon=taxon, how="bred"),
            make.male(taxon=taxon),
            make.female(taxon=self.taxa[1]),
            make.SpecimenFactory(taxon=taxon, kind="group"),
        ]
        self.boxes = [make.EnclosureFactory(water_days=6), make.EnclosureFactory()]
        self.receipts = []

    def happen(self, act, who, day, n):
        """One event, refused or not, with a receipt as a form would leave it."""
        animal = make.fresh(self.animals[who])
        try:
            with transaction.atomic(), receipts.writing() as entry:
                act(self, animal, FIRST + timedelta(days=day), n)
        except (Refused, IntegrityError):
            return
        kept = {"entries": entry.writes, "specimens": sorted(entry.specimens)}
        self.receipts.append(Receipt.objects.create(key=uuid4().hex, at=timezone.now(), label=entry.label, **kept))


def molt(world, animal, day, n):
    make.molted(animal, day, day + timedelta(days=n % 3 * 9), instar=n + 1, matured=n == 7)


def meal(world, animal, day, n):
    make.fed(animal, day, "refused" if n % 2 else "taken")


def hold(world, animal, day, n):
    husbandry.set_hold(Hold(specimen=animal, kind="illness", begins=day, ends=day + timedelta(days=n) if n else None))


def lift(world, animal, day, n):
    if held := animal.holds.first():
        husbandry.lift_hold(held, day)


def rhythm(world, animal, day, n):
    husbandry.set_rhythm(FeedRhythm(specimen=animal, since=day, days=n * 3))


def move(world, animal, day, n):
    husbandry.move(animal, world.boxes[n % 2], day, companion=n > 4)


def water(world, animal, day, n):
    husbandry.record_upkeep(Upkeep(enclosure=world.boxes[n % 2], kind="water", on=day))


def box(world, animal, day, n):
    world.boxes[n % 2].water_days = n + 1
    husbandry.save_enclosure(world.boxes[n % 2])


def measure(world, animal, day, n):
    record = Measurement(specimen=animal, earliest=day, latest=day, leg_span_mm=20.0 * (n + 1))
    services.write(record, [animal], "measured")


def evidence(world, animal, day, n):
    make.looked(animal, "male" if n % 2 else "female", day)


def withdraw(world, animal, day, n):
    if row := SexEvidence.objects.filter(specimen=animal, withdrawn="").first():
        row.withdrawn = "a mistake"
        services.write(row, [animal], "withdrew")


def pairing(world, animal, day, n):
    seen = None if n % 3 == 2 else n
    make.paired(animal, day, day + timedelta(days=n * 4), sire=world.animals[2], insertions_left=seen)


def sign(world, animal, day, n):
    breeding.record_sign(Sign(female=animal, kind="webbing", earliest=day, latest=day))


def sac(world, animal, day, n):
    make.laid(animal, day, kind="ootheca" if n == 3 else "carried")


def sac_taken(world, animal, day, n):
    if row := EggSac.objects.filter(female=animal, taken_on=None).first():
        row.taken_on = max(day, row.earliest)
        breeding.record_sac(row)


def away(world, animal, day, n):
    make.left(animal, day, kind=["loan_out", "missing", "passed_on"][n % 3])


def back(world, animal, day, n):
    if gone := animal.departures.filter(back_on=None).first():
        services.record_return(gone, day)


def death(world, animal, day, n):
    make.died(animal, day)


def no_death_after_all(world, animal, day, n):
    if row := Death.objects.filter(specimen=animal).first():
        services.remove_death(row)


def ill(world, animal, day, n):
    make.ill(animal, ["mites", "injury", "dry", "limb"][n % 4], day, again_days=n or None)


def look(world, animal, day, n):
    if issue := HealthIssue.objects.filter(specimen=animal).first():
        health_services.record_entry(HealthEntry(issue=issue, earliest=day, latest=day, course="same"))


def well(world, animal, day, n):
    if issue := HealthIssue.objects.filter(specimen=animal, closed_on=None).select_related("specimen").first():
        health_services.close_issue(issue, day, Outcome.RESOLVED)


def worry(world, animal, day, n):
    make.worried(animal, "slow", *["dish"][: n % 2], day=day)


def apart(world, animal, day, n):
    make.apart(animal, day, day + timedelta(days=n * 7), check_days=n + 1)


def some_died(world, animal, day, n):
    services.record_head_loss(HeadLoss(specimen=animal, earliest=day, latest=day, number=n + 1), n if n % 2 else None)


def other_taxon(world, animal, day, n):
    animal.taxon = world.taxa[n % 2]
    services.save_specimen(animal, "")


def no_molt_after_all(world, animal, day, n):
    if row := Molt.objects.filter(specimen=animal).first():
        services.remove_molt(row)


def no_meeting_after_all(world, animal, day, n):
    if row := Meeting.objects.filter(pairing__female=animal).first():
        services.remove(row, [animal], "no meeting")


def undo(world, animal, day, n):
    if world.receipts:
        try:
            receipts.undo(Receipt.objects.get(pk=world.receipts[-1 - n % len(world.receipts)].pk))
        except receipts.CannotUndo:
            return


ACTS = [
    *(molt, meal, hold, lift, rhythm, move, water, box, measure, evidence, withdraw, pairing, sign, sac, sac_taken),
    *(no_death_after_all, ill, look, well, worry, apart, some_died),
    *(away, back, death, other_taxon, no_molt_after_all, no_meeting_after_all, undo),
]
EVENTS = st.tuples(st.sampled_from(ACTS), st.integers(0, 4), st.integers(0, 700), st.integers(0, 7))


UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # each life takes a second: a failure is read as it came


class TestRebuilt(TestCase):
    """Random lives of a small house."""

    @settings(max_examples=40, phases=UNSHRUNK)
    @given(st.lists(EVENTS, min_size=1, max_size=14))
    def test_stored_rows_equal_those_of_a_full_rebuild(self, events):
        world = World()
        for act, who, day, n in events:
            world.happen(act, who, day, n)
        before = stored()
        dues.refresh_all()
        assert stored() == before

    @settings(max_examples=10, phases=UNSHRUNK)
    @given(st.lists(EVENTS, min_size=1, max_size=8))
    def test_taking_everything_back_newest_first_leaves_the_house_as_it_was(self, events):
        world = World()
        before, animals = stored(), Specimen.objects.count()
        for act, who, day, n in events:
            if act is not undo:
                world.happen(act, who, day, n)
        for receipt in reversed(world.receipts):
            receipts.undo(receipt)
        assert (stored(), Specimen.objects.count()) == (before, animals)
        assert not Pairing.objects.exists()


class TestLeftovers(TestCase):
    """What no kind asks for any more."""

    def test_a_full_rebuild_clears_dues_of_a_kind_that_is_gone(self):
        animal = make.SpecimenFactory()
        Due.objects.create(specimen=animal, kind="of old", wanted_on=FIRST)
        assert dues.refresh_all() == 1
        assert "of old" not in attention.due_kinds
        assert not Due.objects.filter(kind="of old").exists()

    def test_a_full_rebuild_clears_a_due_that_is_no_longer_worked_out(self):
        culture = make.SpecimenFactory(kind="culture")
        Due.objects.create(specimen=culture, kind="feed", wanted_on=FIRST)
        dues.refresh_all()
        assert not Due.objects.exists()
