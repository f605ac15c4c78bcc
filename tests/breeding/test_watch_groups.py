"""Other groups on the watch: their own words, clocks and holds; who lays again; who is never watched."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from breeding.forms import HeadCountForm, SacForm
from breeding.models import Sign
from breeding.pairings import inseminations, taxon_records
from breeding.secondclutch import lays_again
from breeding.services import record_sign
from breeding.watching import waiting
from collection import panels
from collection.models import Due
from collection.stages import Group
from husbandry import holds
from husbandry.rhythm import HoldKind
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
PAIRED = date(2026, 9, 1)
OF = {
    "scorpion": ("Pandinus imperator", (1, 4)),
    "mantis": ("Hierodula membranacea", (1, 4)),
    "centipede": ("Scolopendra cingulata", (1, 3)),
    "whip_spider": ("Damon diadema", (2, 4)),
    "stick_insect": ("Extatosoma tiaratum", (1, 4)),
}
TARANTULAS_ONLY = ("webbing", "retreat", "burrow", " a sac", "Sac ", "spiderling", "insertions left")


def dam_of(group, name="", months=None, **values):
    known = OF.get(group, (name, months))
    low, high = months or known[1]
    taxon = make.TaxonFactory(name=name or known[0], group=group, sac_months_min=low, sac_months_max=high, **values)
    return make.SpecimenFactory(taxon=taxon)


def rows():
    return list(waiting(Due.objects.of("sac"), make.TODAY))


def held_of(dam):
    """What stops her feeding, without the rest after her arrival long ago."""
    return [hold for hold in holds.gather([dam.pk]).get(dam.pk, []) if hold.kind is not HoldKind.ARRIVAL]


def sign(dam, kind, day=date(2026, 12, 1)):
    record_sign(Sign(female=dam, kind=kind, earliest=day, latest=day))


@pytest.mark.parametrize("group", OF)
def test_no_word_of_a_tarantula_stands_on_the_watch_of_another(keeper_client, group):
    dam = dam_of(group)
    make.paired(dam, PAIRED)
    sign(dam, "nothing")
    text = keeper_client.get(reverse("breeding:home")).content.decode()
    row = text[text.index('<article class="racer') : text.index('</section>\n<p class="small quiet">A molt ends')]
    assert [word for word in TARANTULAS_ONLY if word in row] == []
    (due,) = Due.objects.of("sac")
    assert " sac" not in str(due.facts)


@pytest.mark.parametrize(
    ("group", "kinds", "stages", "title"),
    [
        ("scorpion", {"live"}, {"larva", "young"}, "Log a litter"),
        ("mantis", {"ootheca"}, {"egg", "young"}, "Log an ootheca"),
        ("centipede", {"guarded"}, {"egg", "larva", "young"}, "Log a clutch"),
        ("stick_insect", {"single", "ootheca", "soil"}, {"egg", "young"}, "Log eggs"),
        ("tarantula", {"carried", "fixed"}, {"egg", "ewl", "larva", "spiderling"}, "Log a sac"),
    ],
)
def test_forms_ask_in_the_groups_own_kinds_and_stages(group, kinds, stages, title):
    dam = dam_of(group, "Genus species", (1, 3))
    form = SacForm(specimen=dam)
    assert (set(dict(form.fields["kind"].choices)), form.title) == (kinds, title)
    sac = make.laid(dam, PAIRED, kind=sorted(kinds)[0])
    assert set(dict(HeadCountForm(sac=sac).fields["stage"].choices)) == stages


def test_a_scorpion_is_held_while_her_young_ride_on_her():
    """Rhopalurus rochai disperses 8 to 19 days after birth (J. Arachnol. 36:476–479); of others nothing is known."""
    dam = dam_of("scorpion")
    make.laid(dam, date(2026, 12, 1), kind="live")
    (held,) = held_of(dam)
    assert (held.kind, held.ends) == (HoldKind.BROOD, date(2026, 12, 20))
    assert held.reason.startswith("Carrying her young since")


def test_a_centipede_guards_and_is_not_disturbed():
    dam = dam_of("centipede")
    make.laid(dam, PAIRED, kind="guarded")
    (held,) = held_of(dam)
    assert (held.kind, held.ends) == (HoldKind.BROOD, None)
    assert "disturbed, she may eat it" in held.reason


@pytest.mark.parametrize(("kind", "days"), [("closed", 30), ("refusing", 14)])
def test_a_paired_female_that_closes_herself_in_is_left_alone_for_a_time(kind, days):
    dam = make.female()
    sign(dam, kind, date(2026, 11, 1))
    assert held_of(dam) == []
    make.paired(dam, PAIRED)
    (held,) = held_of(dam)
    assert (held.kind, held.begins, held.ends) == (
        HoldKind.EXPECTING,
        date(2026, 11, 1),
        date(2026, 11, 1) + timedelta(days=days),
    )
    assert held.reason == "A sac expected: she " + {"closed": "has closed herself in", "refusing": "refuses food"}[
        kind
    ] + (" since 1 November 2026")
    make.molted(dam, date(2026, 11, 20))
    assert [hold.kind for hold in held_of(dam)] == [HoldKind.HARDENING]


def test_fattening_ends_when_she_webs():
    from husbandry import influences
    from husbandry.rhythm_choice import InfluenceKind

    dam = make.female()
    make.paired(dam, PAIRED)
    sign(dam, "webbing", date(2026, 9, 20))
    found = [one for one in influences.gather([dam.pk])[dam.pk] if one.kind is InfluenceKind.FATTENING]
    assert [one.ends for one in found] == [date(2026, 9, 20)]


def test_after_a_sac_a_psalmopoeus_is_watched_on_until_she_molts():
    """Common practice: a second sac one to three months after the first, in these genera."""
    dam = dam_of("tarantula", "Psalmopoeus irminia", (2, 4))
    make.paired(dam, PAIRED, insertions_left=1)
    make.laid(dam, date(2026, 11, 10))
    (row,) = rows()
    assert (row.since.earliest, row.one.paired.earliest) == (date(2026, 11, 10), PAIRED)
    assert "one to three months after the first" in row.again
    assert row.outlook.opens < date(2026, 12, 11) < date(2027, 2, 9) < row.outlook.closes
    assert row.advice.startswith("Leave her alone")
    make.molted(dam, date(2026, 12, 1))
    assert rows() == []


def test_another_genus_is_not_watched_on():
    dam = dam_of("tarantula", "Brachypelma hamorii", (4, 10))
    make.paired(dam, PAIRED)
    make.laid(dam, date(2026, 11, 10))
    assert inseminations([dam.pk]) == {}


def test_a_pairing_after_the_sac_begins_a_wait_of_its_own():
    dam = dam_of("mantis")
    make.paired(dam, PAIRED)
    make.laid(dam, date(2026, 10, 1), kind="ootheca")
    make.paired(dam, date(2026, 11, 1))
    one = inseminations([dam.pk])[dam.pk]
    assert (one.laid, one.waits_from.earliest, len(one.meetings)) == (None, date(2026, 11, 1), 1)


def test_second_sacs_are_records_of_their_own():
    dam = dam_of("tarantula", "Poecilotheria regalis", (2, 6))
    make.paired(dam, date(2026, 1, 1))
    make.laid(dam, date(2026, 4, 1))
    make.laid(dam, date(2026, 5, 31))
    make.molted(dam, date(2026, 9, 1))
    record = taxon_records([dam.taxon_id], make.TODAY)[dam.taxon_id]
    assert (record.intervals, record.successes, record.failures) == ((90.0,), 1, 0)
    assert (record.again.intervals, record.again.failures) == ((60.0,), 1)


def test_waits_that_run_and_that_were_cut_short_are_no_failures():
    running, dead, sold = (make.female(**{"taxon": taxon} if taxon else {}) for taxon in [None] * 3)
    taxon = running.taxon
    for one in (dead, sold):
        one.taxon = taxon
        one.save()
    for one in (running, dead, sold):
        make.paired(one, PAIRED)
    make.died(dead, date(2026, 10, 1))
    make.left(sold, date(2026, 10, 11))
    record = taxon_records([taxon.pk], make.TODAY)[taxon.pk]
    assert (record.successes, record.failures, sorted(record.censored)) == (0, 0, [30.0, 40.0])
    assert record.running == ((running.pk, 94.0),)


def test_cultures_are_never_watched_and_who_needs_no_mate_is_not_asked_for_one():
    roach = dam_of("roach", "Blaptica dubia", (1, 3))
    make.paired(roach, PAIRED)
    assert not Due.objects.of("sac").exists()
    stick = dam_of("stick_insect", "Carausius morosus", (1, 3), parthenogenetic=True)
    offered = {form.label for form in panels.log_forms.values() if form.fits(make.fresh(stick))}
    assert "Eggs" in offered
    assert not {"Pairing", "Sign", "Sac"} & offered


@pytest.mark.parametrize(
    ("name", "group", "again"),
    [
        ("Neoholothele incei", Group.TARANTULA, True),
        ("Pterinochilus murinus", Group.TARANTULA, True),
        ("Grammostola pulchra", Group.TARANTULA, False),
        ("Phidippus regius", Group.TRUE_SPIDER, True),
        ("Pandinus imperator", Group.SCORPION, False),
    ],
)
def test_who_lays_again(name, group, again):
    assert (lays_again(name, group) is not None) is again
