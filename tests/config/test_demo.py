"""The invented collection: every situation the program knows, the same for the same day, never among real animals."""

from datetime import date, timedelta

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.forms.models import model_to_dict
from django.test import Client

from breeding.models import EggSac
from breeding.watching import waiting
from collection import attention, dues
from collection.models import Contact, Due, HeadLoss, HealthIssue, Receipt, Specimen, Standing, Taxon
from config.demo import accounts, load
from husbandry import feeder_outlook, isolation
from husbandry.models import FeederEntry, Feeding, Place, Stay, Walk

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
MOST_CHECKED = 400  # of one kind: three thousand readings are alike
NEEDS = [
    ("feed", "B-001", "over", "Last took food 26 days ago; rhythm 21."),
    ("feed", "B-004", "due", "Last took food 21 days ago; rhythm 21."),
    ("feed", "A-001", "held", "Hardening after the molt of 19 November, until 10 December."),
    ("feed", "G-002", "held", "Premolt likely since 13 November"),
    ("feed", "G-003", "held", "Cooling since 5 November, until 14 January 2027."),
    ("feed", "C-002", "held", "Guarding a sac since 9 November, until lifted."),
    ("feed", "H-002", "held", "Resting after arrival on 23 November, until 27 November."),
    ("feed", "C-004", "over", "Refused 4 times since 18 July; try again."),
    ("feed", "O-002", "over", "No meal on record since arrival 20 days ago; rhythm 10."),
    ("feed", "P-003", "due", "Last took food 7 days ago; rhythm 7."),
    ("hardening", "T-004", "look", "Molted 12 days ago"),
    ("water", "A-002", "over", "Water last on 16 November; rhythm 4."),
    ("condition", "A-002", "look", "Abdomen 0.66 times the carapace: shrunken"),
    (
        "health",
        "D-001",
        "due",
        "Mites, suspected, since 19 November; last looked at 3 days ago, a look wanted after 3 days.",
    ),
    (
        "concern",
        "C-004",
        "due",
        "Sits over the water dish, slow or limp. Over the dish since this morning. Seen today.",
    ),
    ("quarantine", "O-002", "look", "Kept apart since 5 November"),
    (
        "quarantine-check",
        "H-002",
        "over",
        "Not looked at yet; in quarantine until 22 January 2027, a look every 7 days.",
    ),
    ("time", "C-003", "look", "Mature since 24 April and never paired."),
    ("evidence", "P-005", "look", "Strong evidence stands on both sides"),
]


@pytest.fixture
def demo(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    accounts.ensure(TODAY)
    load.load(TODAY)


def said(kind, code, today=TODAY):
    row = Due.objects.of(kind).wanted(today).get(specimen__code=code)
    return attention.due_kinds[kind].say(dues.as_stored(row), today)


def dump():
    """All rows of the three apps as plain values, without what no seed can fix."""
    rows = []
    for label in ("collection", "husbandry", "breeding"):
        for model in apps.get_app_config(label).get_models():
            if not model.__name__.startswith("Historical") and model not in (Receipt, Taxon):
                rows += [(model.__name__, sorted(model_to_dict(row).items())) for row in model.objects.order_by("pk")]
    keys = {
        "id",
        "specimen",
        "female",
        "male",
        "enclosure",
        "place",
        "parent",
        "pairing",
        "sac",
        "molt",
        "dam",
        "origin",
        "sire",
        "young",
        "basis",
    }
    keys |= {"stock", "culture", "walk", "stops", "feeding", "sensor", "device", "key"}
    keys |= {"issue", "quarantine", "vet", "to"}
    keys |= {"arrival", "acquired_from", "contact", "user", "taxon"}
    return [(name, [(key, str(value)) for key, value in row if key not in keys]) for name, row in rows]


def test_every_kind_of_need_is_there(demo):
    for kind, code, urgency, words in NEEDS:
        found = said(kind, code)
        assert found.urgency == urgency, code
        assert words in found.sentence, code


def test_a_week_of_feeding_was_planned_shopped_for_walked_and_settled(demo):
    found = feeder_outlook.look(TODAY)
    by_name = {str(one.stock): one for one in found.standings}
    assert (found.strangers, by_name["pinhead cricket 4 mm"].low, by_name["small cricket 7 mm"].low) == (
        [],
        True,
        False,
    )
    assert {one.left >= 0 for one in found.standings} == {True}
    walk = Walk.objects.get()
    assert walk.taps.count() == Feeding.objects.filter(on=walk.started_at.date(), taps__walk=walk).count() >= 3
    settled = FeederEntry.objects.filter(kind="counted", on=TODAY - timedelta(days=1))
    assert settled.count() == 4
    rhythms = {(due.facts.get("name"), due.facts["interval"]) for due in Due.objects.of("feed")}
    assert ("rhythm of Tray of cups", 4) in rhythms


def test_paired_females_wait_at_every_stage(demo):
    rows = {row.female.code: row.outlook for row in waiting(Due.objects.of("sac"), TODAY)}
    assert rows["B-003"].opens > TODAY
    assert rows["T-001"].due
    assert "webbing" in rows["T-001"].signs
    assert rows["T-003"].closes - TODAY < timedelta(days=60)
    assert rows["T-003"].molt_first > rows["T-003"].ever.first_a
    assert "P-001" not in rows  # her molt ended it


def test_sacs_run_fail_and_hatch(demo):
    sacs = {sac.female.code: sac for sac in EggSac.objects.select_related("female", "pairing__male")}
    assert sacs["P-004"].outcome == "eaten"
    assert (sacs["T-001"].outcome, sacs["T-001"].head_counts.count()) == ("hatched", 3)
    assert [count.alive for count in sacs["C-001"].head_counts.all()] == [118, 112]
    assert sacs["C-001"].pairing.male.code == "C-007"


def test_the_dead_and_the_gone_are_not_here_and_their_boxes_are_empty(demo):
    status = dict(Standing.objects.values_list("specimen__code", "status"))
    assert [status[code] for code in ("T-002", "L-002", "E-001", "C-006")] == ["dead", "dead", "passed_on", "loan_in"]
    assert not Stay.objects.open().filter(specimen__code__in=("T-002", "L-002", "E-001", "T-005")).exists()
    assert Stay.objects.open().count() == Specimen.objects.here().count()


def test_a_shelf_is_marked_for_the_mites_on_it_and_quarantine_among_others_is_warned_of(demo):
    shelf, rack = Place.objects.get(name="A2"), Place.objects.get(name="Rack B")
    marks = isolation.marks(list(shelf.enclosures.values_list("pk", flat=True)))
    words = sorted(found.word for row in marks.values() for found in row)
    assert words == ["keep apart", "neighbour", "neighbour"]  # the boxes of the dead and the gone are empty
    assert isolation.mixed(rack)[0].startswith("H-002 is in quarantine and shares Rack B")
    assert isolation.mixed(Place.objects.get(name="Quarantine shelf")) == []
    assert HealthIssue.objects.get(specimen__code="X-001").outcome == "resolved"
    assert HeadLoss.objects.get().specimen.code == "P-003"


def test_groups_cultures_and_a_tray_of_thirty_stand_in_walking_order(demo):
    kinds = dict(Specimen.objects.values_list("code", "kind"))
    assert (kinds["P-003"], kinds["U-001"], Specimen.objects.filter(code__startswith="S-").count()) == (
        "group",
        "culture",
        30,
    )
    keys = list(Place.objects.in_walking_order().values_list("walk_key", flat=True))
    assert all(keys)
    assert len(set(keys)) == len(keys)
    assert Place.objects.get(name="Tray of cups").enclosures.count() == 30


def test_every_row_passes_its_own_checks(demo):
    for label in ("collection", "husbandry", "breeding"):
        for model in apps.get_app_config(label).get_models():
            if model.__name__.startswith("Historical") or model in (Due, Standing, Receipt):
                continue
            for row in model.objects.all()[:MOST_CHECKED]:
                row.full_clean(validate_unique=False, validate_constraints=False)


def test_nothing_happened_after_today(demo):
    assert Feeding.objects.filter(on__gt=TODAY).count() == 0
    assert Specimen.objects.filter(acquired_latest__gt=TODAY).count() == 0


def test_the_same_day_gives_the_same_collection(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    load.load(TODAY)
    first = dump()
    load.load(TODAY)
    assert dump() == first


@pytest.mark.parametrize("today", [date(2028, 2, 29), date(2027, 1, 1)])
def test_any_day_will_do(settings, tmp_path, today):
    settings.DATA_DIR = tmp_path
    load.load(today)
    assert "26 days ago" in said("feed", "B-001", today).sentence
    assert load.loaded_for() == today


def test_the_history_says_that_the_keeper_wrote_it(demo):
    row = Specimen.objects.get(code="B-001").history.get()
    assert (row.history_user.username, row.history_change_reason) == ("keeper", "invented")


def test_it_refuses_among_real_animals_and_writes_nothing(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    taxon = Taxon.objects.create(name="Brachypelma hamorii", group="tarantula")
    Specimen.objects.create(code="MINE-1", taxon=taxon)
    with pytest.raises(CommandError, match="somebody's own"):
        call_command("load_demo")
    assert list(Specimen.objects.values_list("code", flat=True)) == ["MINE-1"]
    assert not Contact.objects.exists()


def test_it_refuses_beside_somebodys_account(settings, tmp_path, django_user_model):
    settings.DATA_DIR = tmp_path
    django_user_model.objects.create_superuser("somebody", password="long-enough-word")
    with pytest.raises(CommandError, match="somebody's own"):
        call_command("load_demo")


def sign_in(said_text):
    word = said_text.split("Sign in as keeper with ")[1].split()[0]
    client = Client()
    client.post("/sign-in/", {"username": "keeper", "password": word})
    return client


def test_it_prints_how_to_sign_in_and_the_second_time_the_same(settings, tmp_path, capsys):
    settings.DATA_DIR = tmp_path
    call_command("load_demo", today=TODAY)
    first = capsys.readouterr().out
    count = Specimen.objects.count()
    call_command("load_demo", today=TODAY)
    assert capsys.readouterr().out == first
    assert Specimen.objects.count() == count
    assert "_auth_user_id" in sign_in(first).session


def test_an_old_one_is_named_and_made_anew_on_demand(settings, tmp_path, capsys):
    settings.DATA_DIR = tmp_path
    call_command("load_demo", today=TODAY)
    later = TODAY + timedelta(days=30)
    capsys.readouterr()
    call_command("load_demo", today=later)
    assert "was made for 2026-11-25" in capsys.readouterr().out
    call_command("load_demo", today=later, anew=True)
    assert load.loaded_for() == later
    assert said("feed", "B-004", later).urgency == "due"
