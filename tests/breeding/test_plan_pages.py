"""The pairing plan as a keeper meets it: suggestions, refusals with their reasons, changes by links, one button."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from breeding import plans
from breeding.models import Pairing
from breeding.wishes import Wish
from collection import services
from collection.models import Receipt
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
URL = "/breeding/plan/"


@pytest.fixture
def line():
    """Two grown females and two males of one line, a third male of another locality."""
    taxon = make.TaxonFactory(name="Fictor planus")
    house = {"taxon": taxon}
    for code in ("F1", "F2"):
        house[code] = make.female(code=code, taxon=taxon)
        make.molted(house[code], date(2026, 6, 1), leg_span_mm=150)
    for code, locality in (("M1", ""), ("M2", ""), ("M3", "Far hills")):
        house[code] = make.male(date(2026, 8, 1), code=code, taxon=taxon, locality=locality)
    return house


def build(**values):
    return plans.build(Wish(values.pop("day", TODAY), TODAY, **values))


def pairs(plan):
    return [f"{choice.option.female.code} × {choice.option.male.code}" for choice in plan.choices]


def why_not(plan, who):
    return next(row.why for row in plan.refused if row.who == who)


def test_both_females_get_a_male_and_the_reasons_are_said(line):
    plan = build()
    assert [pair[:2] for pair in pairs(plan)] == ["F1", "F2"]
    said = " ".join(plan.choices[0].option.why)
    for words in ("comes before her molt", "no pairing of yours to go by", "mean kinship with the line", "2 males"):
        assert words in said


def test_two_localities_are_never_merged(line):
    assert "another locality" in why_not(build(), "F1 × M3")


def test_hardening_and_a_molt_too_near(line):
    make.molted(line["F1"], TODAY - timedelta(days=2), leg_span_mm=152)
    make.molted(line["F2"], date(2023, 1, 1))
    line["F2"].molts.filter(earliest=date(2026, 6, 1)).delete()
    plan = build()
    assert "hardening after the molt of 2 December 2026" in why_not(plan, "F1")
    assert "molt too near" in why_not(plan, "F2")


def test_a_female_that_holds_sperm_waits(line):
    make.paired(line["F1"], date(2026, 11, 1), sire=line["M1"])
    assert why_not(build(), "F1") == "paired 1 November and not molted since"


def test_not_mature_spent_and_resting_males(line):
    make.looked(make.SpecimenFactory(code="Young", taxon=line["taxon"]), "female")
    old = make.male(date(2026, 1, 1), code="Old", taxon=line["taxon"])
    fresh = make.male(TODAY - timedelta(days=3), code="Fresh", taxon=line["taxon"])
    plan = build()
    assert "not known to be mature" in why_not(plan, "Young")
    assert "spent" in why_not(plan, old.code)
    assert "rests two weeks" in why_not(plan, fresh.code)
    assert "Fresh" not in {row.who for row in build(day=TODAY + timedelta(days=15)).refused}


def test_young_above_the_limit_are_refused_with_the_number(line):
    dam, sire = make.female(code="D", taxon=line["taxon"]), make.male(code="S", taxon=line["taxon"])
    for one in ("F1", "M1"):
        animal = make.fresh(line[one])
        animal.dam, animal.sire = dam, sire
        services.save_specimen(animal, "")
    assert "25 %, as young of full siblings: above your limit" in why_not(build(), "F1 × M1")
    assert "F1 × M1" not in {row.who for row in build(limit=0.25).refused}


def test_a_male_on_loan_elsewhere_can_be_called_home(line):
    make.left(line["M1"], TODAY - timedelta(days=30), "loan_out")
    make.left(line["M2"], TODAY - timedelta(days=30), "loan_out")
    plan = build()
    assert (pairs(plan), why_not(plan, "M1")) == ([], "on loan elsewhere")
    called = build(home=frozenset({line["M1"].pk}))
    assert pairs(called) == ["F1 × M1", "F2 × M1"]
    assert "asked to come home" in " ".join(called.choices[0].option.why)


def test_the_limit_of_a_male_leaves_a_female_over(line):
    make.left(line["M2"], TODAY, "loan_out")
    plan = build(male_limit=1)
    assert len(plan.choices) == 1
    assert "as often as allowed" in plan.idle[0].why


def test_fixing_and_forbidding_by_links(line, keeper_client):
    f, m = line["F1"].pk, line["M2"].pk
    page = keeper_client.get(f"{URL}?fix={f}x{m}").content.decode()
    assert "fixed by you" in page
    plan = build(fixed=frozenset({(f, m)}))
    assert "F1 × M2" in pairs(plan)
    assert "F1 × M2" not in pairs(build(forbidden=frozenset({(f, m)})))
    assert build(fixed=frozenset({(f, 999)})).problem.startswith("A pair that was fixed is not possible")


def test_every_aim_is_shown_with_its_totals(line):
    totals = {aim.value: total for aim, total, _ in build().totals}
    assert set(totals) == {"balance", "sacs", "kin", "males"}
    assert totals["sacs"].sacs >= totals["balance"].sacs
    assert totals["males"].males_used <= totals["balance"].males_used


def keep(client, plan_, day=TODAY):
    sent = [f"{choice.option.female.pk}x{choice.option.male.pk}" for choice in plan_.choices]
    return client.post(reverse("breeding:plan-keep"), {"day": day.isoformat(), "pair": sent, "once": "k1"})


def test_one_button_makes_planned_pairings_and_undo_takes_them_back(line, keeper_client):
    day = TODAY + timedelta(days=20)
    plan = build(day=day)
    assert keep(keeper_client, plan, day).status_code == 302
    assert keep(keeper_client, plan, day).status_code == 302
    assert set(Pairing.objects.values_list("planned_for", flat=True)) == {day}
    assert Pairing.objects.count() == len(plan.choices)
    receipt = Receipt.objects.get()
    assert receipt.label == "Planned 2 pairings for 24 December 2026"
    keeper_client.post(reverse("collection:undo", args=[receipt.pk]))
    assert not Pairing.objects.exists()


def test_what_is_planned_already_is_not_planned_twice(line, keeper_client):
    keep(keeper_client, build())
    answer = keeper_client.post(
        reverse("breeding:plan-keep"), {"pair": [f"{line['F1'].pk}x{Pairing.objects.first().male_id}"]}, follow=True
    )
    assert Pairing.objects.count() == 2
    assert "Planned already" in answer.content.decode()


def test_an_empty_plan_teaches(keeper_client):
    assert "Here will stand who is to be paired with whom" in keeper_client.get(URL).content.decode()


def test_an_old_bookmark_still_opens(keeper_client):
    assert keeper_client.get(f"{URL}?day=never&fix=a&not=1x&limit=x&taxon=77&home=q").status_code == 200
