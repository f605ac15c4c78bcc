"""The sac watch, pairings and sacs as pages: who stands there, in which order, and what to do now."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from breeding import services as breeding
from breeding.models import HeadCount, Pairing, Sign
from breeding.sacwatch import SacOutlook
from breeding.watchwords import advice
from collection.intervals import Race
from collection.stages import Group
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY, PAIRED = make.TODAY, date(2026, 9, 20)


def page(client, name, *pks, **query):
    answer = client.get(reverse(f"breeding:{name}", args=pks), query)
    assert answer.status_code == 200
    return answer


def outlook(opens=-10, closes=10, sac=0.6, molt=0.3, signs=()):
    """An outlook whose window lies so many days around today."""
    day = {name: TODAY + timedelta(days=n) for name, n in (("opens", opens), ("closes", closes))}
    chances = Race(sac, molt, 1 - sac - molt)
    return SacOutlook(day["opens"], TODAY, TODAY, day["closes"], chances, chances, chances, True, True, signs)


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (outlook(closes=-1), "The window is over. Expect a molt rather than a sac, and pair again after it."),
        (outlook(opens=5), "Too early. Fatten her until she refuses. The window opens on 9 December."),
        (outlook(signs=("closed", "webbing")), "She has closed herself in. Do not open it"),
        (outlook(signs=("webbing",)), "One more meal if she comes for it"),
        (outlook(signs=("refusing",)), "One more meal if she comes for it"),
        (outlook(sac=0.3, molt=0.6), "A molt is likelier than a sac. Do not pair again before it."),
        (outlook(), "No sign yet. Feed well and keep her undisturbed"),
    ],
)
def test_what_to_do_now_follows_the_window_the_signs_and_the_chances(seen, words):
    assert advice(seen, TODAY, Group.TARANTULA).startswith(words)


def test_a_mantis_lays_no_sac_and_molts_no_more():
    said = advice(outlook(closes=-1), TODAY, Group.MANTIS)
    assert "an ootheca" in said
    assert "molt" not in said


def test_paired_females_stand_in_the_order_of_their_likeliest_day(keeper_client):
    for code, day in (("Late", date(2026, 10, 20)), ("Soon", PAIRED), ("Over", date(2026, 6, 1))):
        make.paired(make.female(code=code), day)
    rows = page(keeper_client, "home").context["rows"]
    assert [row.female.code for row in rows] == ["Over", "Soon", "Late"]
    text = page(keeper_client, "home").content.decode()
    assert "3 paired females" in text
    assert "no molt of hers on record" in text


def test_signs_and_chances_stand_beside_her(keeper_client):
    dam = make.female()
    make.molted(dam, date(2026, 1, 1), leg_span_mm=145)
    make.paired(dam, PAIRED)
    breeding.record_sign(Sign(female=dam, kind="webbing", earliest=TODAY, latest=TODAY))
    text = page(keeper_client, "home").content.decode()
    assert "Heavy webbing today." in text
    assert "within 14 days; in the end" in text


def test_every_chance_says_why_with_its_records(keeper_client):
    dam = make.female()
    make.molted(dam, date(2026, 1, 1), leg_span_mm=145)
    make.paired(dam, PAIRED, insertions_left=2)
    for taxon_mate, ends in ((make.female(taxon=dam.taxon), True), (make.female(taxon=dam.taxon), False)):
        make.paired(taxon_mate, date(2026, 6, 1))
        if ends:
            make.laid(taxon_mate, date(2026, 8, 10))
    breeding.record_sign(Sign(female=dam, kind="webbing", earliest=TODAY, latest=TODAY))
    rows = page(keeper_client, "sac-watch", dam.pk).context["rows"]
    row = next(row for row in rows if row.female == dam)
    reasons = {reason.what: reason for reason in row.reasons()}
    assert list(reasons) == [
        "The taxon", "Your own records", "Pairing of 20 September", "Her molt", "Heavy webbing", "All signs",
    ]  # fmt: skip
    assert reasons["Your own records"].says.startswith("1 that ended in a sac after 70 days; 1 still running")
    assert "2 insertions seen" in reasons["Pairing of 20 September"].says
    assert reasons["Pairing of 20 September"].chance > reasons["Your own records"].chance
    assert reasons["All signs"].chance == row.outlook.month.first_a


def test_a_sign_that_is_not_sure_is_not_called_none():
    assert advice(outlook(signs=("fattening",)), TODAY, Group.TARANTULA).startswith("No sure sign yet.")


def test_a_female_is_found_on_the_page_where_she_stands(keeper_client):
    females = [make.female(code=f"F-{n:02d}") for n in range(26)]
    for n, dam in enumerate(females):
        make.paired(dam, PAIRED + timedelta(days=n))
    found = page(keeper_client, "sac-watch", females[-1].pk)
    assert [row.female.code for row in found.context["rows"]] == ["F-25"]
    assert f'open" id="female-{females[-1].pk}"' in found.content.decode()
    assert len(page(keeper_client, "sac-watch", females[0].pk).context["rows"]) == 25
    assert len(page(keeper_client, "sac-watch", 999).context["rows"]) == 25
    assert len(page(keeper_client, "home", page="x").context["rows"]) == 25


def test_nobody_waits_and_the_page_says_how_it_begins(keeper_client):
    text = page(keeper_client, "home").content.decode()
    assert "No female is waiting for a sac." in text
    assert "It starts with a pairing" in text


def test_a_running_sac_stands_below(keeper_client):
    sac = make.laid(make.female(code="Mother"), PAIRED)
    make.laid(make.female(code="Done"), PAIRED, outcome="eaten", ended_on=TODAY)
    found = page(keeper_client, "home")
    assert list(found.context["sacs"]) == [sac]


def test_pairings_and_sacs_have_lists_and_pages(keeper_client):
    dam = make.female(code="F-1")
    sire = make.male(code="M-1", taxon=dam.taxon)
    pairing = make.paired(dam, PAIRED, sire=sire, insertions_left=2, drumming=True, ending="peace").pairing
    sac = make.laid(dam, date(2026, 11, 20), incubator="shelf")
    count = HeadCount(sac=sac, stage="egg", alive=90, dead=3, cause="dried", earliest=TODAY, latest=TODAY)
    breeding.record_head_count(count)
    assert "F-1" in page(keeper_client, "pairing-list").content.decode()
    said = page(keeper_client, "pairing-detail", pairing.pk).content.decode()
    for words in ("F-1 × M-1", "parted in peace", "Sac of 2026-11-20"):
        assert words in said
    said = page(keeper_client, "sac-detail", sac.pk).content.decode()
    for words in ("Sac of 2026-11-20", "dried", "90"):
        assert words in said
    assert "F-1" in page(keeper_client, "sac-list").content.decode()


def test_a_planned_pairing_with_a_male_not_known_has_a_page(keeper_client):
    pairing = breeding.record_pairing(Pairing(female=make.female(), planned_for=TODAY))
    said = page(keeper_client, "pairing-detail", pairing.pk).content.decode()
    assert "unknown male" in said
    assert "Planned; no meeting yet." in said


@pytest.mark.parametrize("name", ["home", "pairing-list", "sac-list"])
def test_breeding_is_the_keepers(helper_client, name):
    assert helper_client.get(reverse(f"breeding:{name}")).status_code == 403
