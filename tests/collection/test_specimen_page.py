"""An animal's page: who it is and how sure we are, what is due, its panels, and all its history."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from breeding import services as breeding
from breeding.models import Sign, SpermWeb
from collection import attention, dues, panels, services
from collection.attention import DueKind, StoredDue
from collection.models import GroupCount, Listing, Measurement, Note
from husbandry.models import Upkeep
from husbandry.services import record_upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 5, 1)


def page(client, animal, name="specimen-detail", **query):
    answer = client.get(reverse(f"collection:{name}", args=[animal.pk]), query)
    assert answer.status_code == 200
    return answer


def text(client, animal, name="specimen-detail"):
    return page(client, animal, name).content.decode()


def shown(client, animal):
    return [kind.name for kind, _ in page(client, animal).context["panels"]]


def offered(client, animal):
    return [form.name for form in page(client, animal).context["forms"]]


def full_life():
    """A female with something of every kind on record."""
    dam = make.female(code="F-1")
    sire = make.male(code="M-1", taxon=dam.taxon)
    make.housed(dam, "E-1", water_days=5)
    molt = make.molted(dam, DAY, instar=9, leg_span_mm=130, exuvia_kept=True)
    make.molted(dam, DAY - timedelta(days=200), instar=8, leg_span_mm=110)
    make.looked(dam, "female", DAY, molt=molt)
    for n, outcome in enumerate(["taken", "refused", "left"]):
        make.fed(dam, date(2026, 10, 1) + timedelta(days=n), outcome, prey="roach")
    make.held(dam, date(2026, 11, 1), reason="a limp")
    make.rhythm(dam, 12)
    make.paired(dam, date(2026, 9, 20), sire=sire, insertions_left=2)
    for kind, record in (
        ("note", Note(specimen=dam, text="calm", earliest=DAY, latest=DAY)),
        ("measured", Measurement(specimen=dam, mass_g=14.5, leg_span_mm=131, earliest=DAY, latest=DAY)),
    ):
        services.write(record, [dam], kind)
    breeding.record_sign(Sign(female=dam, kind="webbing", earliest=make.TODAY, latest=make.TODAY))
    breeding.record_sperm_web(SpermWeb(male=sire, earliest=DAY, latest=DAY))
    make.laid(make.female(code="F-2", taxon=dam.taxon, dam=dam), DAY)
    record_upkeep(Upkeep(enclosure=dam.stays.get().enclosure, kind="water", on=date(2026, 12, 1)))
    make.ill(dam, "limb", DAY)
    return dam, sire


def test_an_animal_of_which_nothing_is_known_has_a_page(keeper_client):
    animal = make.SpecimenFactory(code="B-1")
    said = text(keeper_client, animal)
    assert "Unsexed" in said
    assert "no evidence yet." in said
    assert "Stands in no enclosure yet." in said


def test_a_full_life_shows_every_panel(keeper_client):
    dam, sire = full_life()
    of_others = {"death", "losses"}  # of the dead, and of groups
    assert shown(keeper_client, dam) == [kind.name for kind in panels.kinds() if kind.name not in of_others]
    said = text(keeper_client, dam)
    for words in ("E-1", "a limp", "heavy webbing", "M-1", "calm", "roach", "14.5"):
        assert words in said
    assert "breeding" in shown(keeper_client, sire)


def test_the_head_says_how_sure_we_are_of_the_sex(keeper_client):
    said = text(keeper_client, make.female())
    assert "Probably female, 99 %:" in said
    assert "Spermathecae seen in an exuvia, last on 5 January 2025." in said


def test_a_clash_is_said_and_not_a_chance(keeper_client):
    dam = make.female()
    make.looked(dam, "male", DAY, looked_by="another")
    said = text(keeper_client, dam)
    assert "Evidence in conflict:" in said
    assert "Weigh the evidence" in said


def test_what_is_due_stands_in_the_head_with_its_buttons(keeper_client):
    animal = make.SpecimenFactory()
    make.fed(animal, date(2026, 11, 15))
    assert [(kind, what.plate) for kind, what in page(keeper_client, animal).context["said"]] == [
        ("feed", "12 days over")
    ]
    assert f'formaction="/animals/{animal.pk}/fed/"' in text(keeper_client, animal)


def test_a_quiet_animal_says_that_nothing_is_due(keeper_client):
    animal = make.SpecimenFactory()
    make.fed(animal, make.TODAY)
    assert "Nothing is due." in text(keeper_client, animal)


@pytest.mark.parametrize(
    ("end", "words"), [(make.died, "Dead."), (make.left, "Passed on since 1 May")], ids=["dead", "passed on"]
)
def test_who_is_gone_says_so_and_offers_only_a_note(keeper_client, end, words):
    animal = make.SpecimenFactory()
    end(animal, DAY)
    assert words in text(keeper_client, animal)
    assert offered(keeper_client, animal) == ["note"]


def test_who_is_lent_out_can_come_back(keeper_client):
    animal = make.SpecimenFactory()
    make.left(animal, DAY, kind="loan_out", contact=make.ContactFactory(name="Somebody"))
    assert "Lent out since 1 May, Somebody" in text(keeper_client, animal)
    assert offered(keeper_client, animal) == ["return", "note"]


def test_forms_are_those_of_the_animal(keeper_client):
    assert "spermweb" not in offered(keeper_client, make.female())
    assert not {"sac", "sign"} & set(offered(keeper_client, make.male()))
    culture = make.SpecimenFactory(kind="culture", taxon__group="isopod")
    assert not {"molt", "evidence", "pairing", "sac"} & set(offered(keeper_client, culture))
    assert "count" in offered(keeper_client, culture)
    assert "count" not in offered(keeper_client, make.SpecimenFactory())


@pytest.mark.parametrize("group", ["tarantula", "mantis", "scorpion", "isopod", "beetle", "other"])
@pytest.mark.parametrize("kind", ["single", "group", "culture"])
def test_every_sort_of_animal_has_a_page(keeper_client, group, kind):
    animal = make.SpecimenFactory(kind=kind, taxon__group=group)
    if kind != "single":
        services.record_count(GroupCount(specimen=animal, count=30, earliest=DAY, latest=DAY))
        assert "of 30" in text(keeper_client, animal)
    for name in ("specimen-detail", "specimen-history", "specimen-evidence"):
        assert page(keeper_client, animal, name)


def test_cautions_and_listings_stand_in_the_head(keeper_client):
    animal = make.SpecimenFactory(taxon__venom_class=3, taxon__hair_class=2)
    Listing.objects.create(taxon=animal.taxon, entry="II", since=DAY, as_of=make.TODAY)
    said = text(keeper_client, animal)
    assert "medically significant bite" in said
    assert "the local poison centre or a doctor, at once" in said
    assert "CITES II since 2026-05-01, as of 2026-12-04: check the current list." in said


def test_the_full_history_holds_everything_newest_first(keeper_client):
    dam, _ = full_life()
    found = panels.history(dam)
    assert [line.on for line in found] == sorted((line.on for line in found), reverse=True)
    whats = {line.what for line in found}
    assert {"molt", "sex evidence", "measured", "note", "came", "moved", "hold", "rhythm", "meeting", "sign"} <= whats
    assert {"food taken", "food refused", "food left in"} <= whats
    said = text(keeper_client, dam, "specimen-history")
    assert said.index("food left in") < said.index("food taken")


def test_the_history_of_an_end_is_part_of_it(keeper_client):
    animal = make.SpecimenFactory(hatched_earliest=date(2023, 1, 1), hatched_latest=date(2023, 12, 31), clutch="K-1")
    loan = make.left(animal, DAY, kind="loan_out", note="to a show")
    services.record_return(loan, date(2026, 5, 9))
    make.died(animal, date(2026, 6, 1), cause="age")
    said = text(keeper_client, animal, "specimen-history")
    for words in ("hatched or born", "2023", "K-1", "to a show, back 2026-05-09", "old age"):
        assert words in said


def test_a_male_of_many_pairings_keeps_them_all_in_his_history():
    sire = make.male()
    for n in range(14):
        make.paired(make.SpecimenFactory(taxon=sire.taxon), DAY + timedelta(days=n), sire=sire)
    assert sum(line.what == "meeting" for line in panels.history(sire)) == 14


def test_a_long_history_is_turned_page_by_page(keeper_client):
    animal = make.SpecimenFactory()
    for n in range(101):
        Note.objects.create(specimen=animal, text=f"note {n}", earliest=DAY - timedelta(days=n))
    assert "note 100" not in page(keeper_client, animal, "specimen-history").content.decode()
    assert "note 100" in page(keeper_client, animal, "specimen-history", page=2).content.decode()


def test_all_evidence_is_shown_with_how_it_weighs_and_what_was_withdrawn(keeper_client):
    dam = make.female()
    row = make.looked(dam, "male", DAY, looked_by="another")
    row.withdrawn = "another skin"
    services.write(row, [dam], "withdrew")
    said = text(keeper_client, dam, "specimen-evidence")
    assert "another skin" in said
    rows = page(keeper_client, dam, "specimen-evidence").context["rows"]
    assert [(line.row.finding, line.bar is not None) for line in rows] == [("male", False), ("female", True)]


def test_a_helper_opens_the_page_and_not_the_ledgers(helper_client):
    dam, _ = full_life()
    assert page(helper_client, dam)
    for name in ("specimen-history", "specimen-evidence", "specimen-edit"):
        assert helper_client.get(reverse(f"collection:{name}", args=[dam.pk])).status_code == 403


@pytest.mark.parametrize("name", ["specimen-detail", "specimen-history", "specimen-evidence", "specimen-edit"])
def test_an_animal_that_is_not_there_is_not_found(keeper_client, name):
    for number in (999, 10**30):
        assert keeper_client.get(reverse(f"collection:{name}", args=[number])).status_code == 404


def fails(*of_anything):
    raise ZeroDivisionError


def test_a_sentence_that_cannot_be_said_takes_no_page_down(keeper_client, settings, caplog):
    settings.CATCH_FAILING_SOURCES = True
    animal = make.SpecimenFactory()
    kind = DueKind("odd", "Odd things", lambda ids: [StoredDue(animal.pk, make.TODAY, make.TODAY, {})], fails, order=1)
    with attention.registered(kind):
        dues.refresh([animal.pk])
        said = text(keeper_client, animal)
    assert "This could not be worked out." in said
    assert "No meal on record" in said
    assert caplog.messages == ["The sentence for Odd things failed"]


def test_a_group_that_nobody_counted_is_not_said_to_be_one(keeper_client):
    many = make.SpecimenFactory(kind="group")
    said = keeper_client.get(many.get_absolute_url()).content.decode()
    assert "Communal group</b>, not counted yet" in said
    services.record_count(services.GroupCount(specimen=many, earliest=DAY, latest=DAY, count=1))
    said = keeper_client.get(many.get_absolute_url()).content.decode()
    assert "Communal group of 1</b>" in said
    assert "1 head, counted" in said


def test_a_helper_is_not_told_to_whom_an_animal_went(helper_client):
    animal = make.SpecimenFactory()
    make.left(animal, DAY, kind="loan_out", contact=make.ContactFactory(name="Somebody"))
    said = helper_client.get(animal.get_absolute_url()).content.decode()
    assert "Lent out since" in said
    assert "Somebody" not in said


@pytest.mark.parametrize(("group", "word"), [("scorpion", "born"), ("isopod", "born"), ("mantis", "hatched")])
def test_who_is_born_is_not_said_to_have_hatched(keeper_client, group, word):
    taxon = make.TaxonFactory(group=group)
    animal = make.SpecimenFactory(taxon=taxon, hatched_earliest=date(2023, 1, 1), hatched_latest=date(2023, 12, 31))
    page = keeper_client.get(animal.get_absolute_url()).content.decode()
    assert f"{word} <time>2023</time>" in page
