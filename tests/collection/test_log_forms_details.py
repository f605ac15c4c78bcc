"""What the forms of the bottom app know beforehand, and the refusals of their own."""

from datetime import date

import pytest
from django.urls import reverse

from collection.forms.events import MeasureForm
from collection.forms.evidence import EvidenceForm
from collection.forms.molts import MoltForm
from collection.forms.specimen import SpecimenForm
from collection.models import Arrival, Contact, Molt, SexEvidence, Specimen
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 11, 1)


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def post(client, name, record=None, /, **data):
    return client.post(reverse(f"collection:{name}", args=[record.pk] if record else []), data)


def test_the_next_molt_is_one_instar_up_in_the_same_numbering(animal):
    make.molted(animal, DAY, instar=4, numbering="L")
    form = MoltForm(specimen=animal)
    assert (form["instar"].value(), form["numbering"].value(), form["on"].value()) == (5, "L", make.TODAY)


def test_the_exuvia_is_kept_not_kept_or_not_found(keeper_client, animal):
    for day, said, kept in (("2026-11-01", "True", True), ("2026-11-02", "False", False), ("2026-11-03", "", None)):
        post(keeper_client, "molt-new", animal, on=day, numbering="i", exuvia_kept=said)
        assert Molt.objects.get(earliest=day).exuvia_kept is kept


def test_two_molts_of_one_day_are_refused(keeper_client, animal):
    make.molted(animal, DAY)
    answer = post(keeper_client, "molt-new", animal, on="2026-11-01", numbering="i")
    assert answer.status_code == 422
    assert "A molt on this day is on record already." in answer.content.decode()


@pytest.mark.parametrize(
    ("group", "has", "lacks"),
    [
        ("tarantula", {"exuvia", "ventral"}, {"pectines", "gonopods", "segments", "epigyne"}),
        ("scorpion", {"pectines"}, {"exuvia", "mature_male"}),
        ("mantis", {"segments"}, {"exuvia", "ventral"}),
        ("isopod", {"sac", "seller"}, {"exuvia", "ventral", "pectines", "dimorphism"}),
    ],
)
def test_the_ways_to_tell_the_sex_are_those_of_the_group(group, has, lacks):
    offered = {
        value for value, _ in EvidenceForm(specimen=make.SpecimenFactory(taxon__group=group))["method"].field.choices
    }
    assert has <= offered
    assert not offered & lacks


def test_a_way_of_another_group_is_refused(keeper_client):
    scorpion = make.SpecimenFactory(taxon__group="scorpion")
    assert post(keeper_client, "evidence-new", scorpion, method="exuvia", finding="female").status_code == 422
    assert not SexEvidence.objects.exists()


def test_evidence_knows_the_last_size_and_the_animals_own_molts_only(animal):
    make.molted(make.SpecimenFactory(), DAY)
    own = make.molted(animal, DAY, leg_span_mm=55)
    form = EvidenceForm(specimen=make.fresh(animal))
    assert form["size_mm"].value() == 55
    assert list(form.fields["molt"].queryset) == [own]


def test_stages_are_said_in_the_words_of_the_group():
    mantis = make.SpecimenFactory(taxon__group="mantis")
    assert ("subadult", "subadult nymph") in MeasureForm(specimen=mantis).fields["stage_seen"].choices


def test_a_measurement_measures_something(keeper_client, animal):
    answer = post(keeper_client, "measure-new", animal, on="2026-11-01")
    assert "Give at least one size, a mass or the stage seen." in answer.content.decode()
    assert post(keeper_client, "measure-new", animal, stage_seen="adult").status_code == 302
    assert make.fresh(animal).standing.stage == "adult"


@pytest.mark.parametrize("about", ["2026-13", "spring", "2026-03-15/2026-03-01", "26-03"])
def test_a_vague_day_that_is_none_says_what_to_write(keeper_client, animal, about):
    answer = post(keeper_client, "note-new", animal, text="calm", about=about)
    assert answer.status_code == 422
    assert about in answer.content.decode()


def test_a_refused_field_that_was_folded_away_is_shown(keeper_client, animal):
    said = post(keeper_client, "molt-new", animal, numbering="i", carapace_mm="-1").content.decode()
    assert "<details open" in said


def test_a_rule_between_records_is_said_beside_the_day(keeper_client, animal):
    make.died(animal, DAY)
    said = post(keeper_client, "molt-new", animal, on="2026-11-02", numbering="i").content.decode()
    beside = said.partition('id="id_on_error">')[2].partition("</p>")[0]
    assert beside == "B-1 died on 2026-11-01; this day lies after it."


def test_evidence_is_withdrawn_with_a_reason_and_weighed_anew(keeper_client):
    dam = make.female()
    row = SexEvidence.objects.get()
    assert dam.standing.sex == "probably_female"
    assert post(keeper_client, "evidence-withdraw", row, withdrawn=" ").status_code == 422
    assert make.fresh(dam).standing.sex == "probably_female"
    assert post(keeper_client, "evidence-withdraw", row, withdrawn="another skin").url == dam.get_absolute_url()
    assert make.fresh(dam).standing.sex == "unsexed"
    assert SexEvidence.objects.count() == 1


PARTICULARS = {"code": "N-1", "kind": "single", "origin": "U"}


def test_an_animal_is_entered_with_vague_days_and_parents_by_code(keeper_client):
    taxon, dam = make.TaxonFactory(name="Fictor niger"), make.female(code="F-1")
    data = PARTICULARS | {"taxon": "fictor NIGER", "hatched": "2025", "acquired": "2026-03", "dam": "f-1"}
    answer = post(keeper_client, "specimen-new", None, **data)
    new = Specimen.objects.get(code="N-1")
    assert answer.url == new.get_absolute_url()
    assert (new.taxon, new.dam) == (taxon, dam)
    assert (str(new.hatched), str(new.acquired)) == ("2025", "2026-03")


def test_an_old_name_finds_its_taxon(keeper_client):
    taxon = make.TaxonFactory()
    taxon.other_names.create(name="Fictor antiquus")
    post(keeper_client, "specimen-new", None, **PARTICULARS, taxon="Fictor antiquus")
    assert Specimen.objects.get(code="N-1").taxon == taxon


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("taxon", "Fictor nigger", "Did you mean Fictor niger?"),
        ("taxon", "Nemo nullus", "Add it under Papers, Taxa."),
        ("code", "b-1", "is the code of another animal"),
        ("code", "B-1", "is the code of another animal"),
        ("hatched", "2025-02-30", "There is no day 2025-02-30"),
        ("acquired", "2027", "This lies in the future."),
        ("dam", "Z-9", "No animal is called “Z-9”"),
        ("dam", "M-1", "The evidence says that M-1 is a male"),
        ("sire", "F-1", "The evidence says that F-1 is a female"),
        ("price", "-1", "Write a number from 0 to"),
    ],
)
def test_particulars_that_cannot_be_are_refused_beside_their_field(keeper_client, animal, field, typed, says):
    make.TaxonFactory(name="Fictor niger")
    make.male(code="M-1")
    make.female(code="F-1")
    answer = post(keeper_client, "specimen-new", None, **PARTICULARS | {"taxon": "Fictor niger", field: typed})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert says in said.partition(f'id="id_{field}_error">')[2].partition("</p>")[0]
    assert f'value="{typed}"' in said
    assert not Specimen.objects.filter(code="N-1").exists()


def test_an_animal_cannot_have_come_before_it_hatched(keeper_client, animal):
    data = PARTICULARS | {"taxon": animal.taxon.name, "hatched": "2026-05", "acquired": "2026-04-30"}
    assert (
        "It cannot have come before it hatched." in post(keeper_client, "specimen-new", None, **data).content.decode()
    )


def test_particulars_are_shown_as_they_stand(animal):
    animal.hatched_earliest, animal.hatched_latest = date(2025, 3, 1), date(2025, 3, 31)
    animal.sire = make.male(code="M-1")
    shown = SpecimenForm(instance=animal)
    assert (shown["hatched"].value(), shown["sire"].value(), shown["dam"].value()) == ("2025-03", "M-1", "")


def test_people_and_boxes_are_entered_and_changed(keeper_client):
    assert post(keeper_client, "contact-new", None, name="Somebody").status_code == 302
    somebody = Contact.objects.get()
    post(keeper_client, "contact-edit", somebody, name="Somebody else")
    assert Contact.objects.get().name == "Somebody else"
    data = {"on": "2026-12-01", "contact": somebody.pk, "expected": "5", "dead": "0", "box_celsius": "-41"}
    assert "from -40 to 60" in post(keeper_client, "arrival-new", None, **data).content.decode()
    assert "in the future" in post(keeper_client, "arrival-new", None, **data | {"on": "2026-12-05"}).content.decode()
    post(keeper_client, "arrival-new", None, **data | {"box_celsius": "14"})
    box = Arrival.objects.get()
    assert post(keeper_client, "arrival-edit", box, **data | {"box_celsius": "15"}).status_code == 302
    assert [row.box_celsius for row in box.history.all()] == [15, 14]


def test_a_contact_is_entered_once(keeper_client):
    make.ContactFactory(name="Somebody")
    assert post(keeper_client, "contact-new", None, name="Somebody").status_code == 422


@pytest.mark.parametrize("name", ["specimen-new", "contact-new", "arrival-new"])
def test_an_empty_form_sent_back_says_what_is_missing(keeper_client, name):
    answer = post(keeper_client, name, None)
    assert answer.status_code == 422
    assert "This field is required." in answer.content.decode()


@pytest.mark.parametrize("when", [{"on": "0001-01-01"}, {"about": "0026-03"}, {"on": "0206-12-01"}])
def test_a_year_that_is_a_slip_is_refused_beside_its_field(keeper_client, when):
    animal = make.SpecimenFactory()
    data = {"instar": 3, "numbering": "i", "leg_span_mm": 30, "on_skin": "on", **when}
    answer = keeper_client.post(reverse("collection:molt-new", args=[animal.pk]), data)
    assert answer.status_code == 422
    assert answer.context["form"].errors[next(iter(when))] == ["This lies before 1900. Check the year."]
