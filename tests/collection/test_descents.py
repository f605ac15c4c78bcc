"""Hybrid and unsure sires: marked for ever, wherever an animal goes."""

import pytest
from django.urls import reverse
from django.utils import timezone

from breeding.models import PossibleSire
from collection import descents
from collection.exporting import lists
from collection.models import Specimen
from collection.services import save_specimen
from husbandry.label_services import contents
from husbandry.labels import names
from tests import factories as make
from tests.collection.test_import_animals import imported, lines, previewed

pytestmark = pytest.mark.django_db


@pytest.fixture
def dam():
    return make.female(code="D-1")


def young(dam, **values):
    animal = Specimen(code=values.pop("code", "Y-1"), taxon=dam.taxon, dam=dam, **values)
    save_specimen(animal, "")
    return animal


def test_young_of_two_taxa_are_hybrids_for_ever_and_so_are_theirs(dam):
    other = make.male(code="S-1")
    one = young(dam, sire=other)
    assert one.hybrid
    one.sire = None
    save_specimen(one, "")
    assert Specimen.objects.get(pk=one.pk).hybrid
    assert young(one, code="Y-2").hybrid
    assert not young(dam, code="Y-3", sire=make.male(code="S-2", taxon=dam.taxon)).hybrid


def test_what_is_told_of_a_sire(dam):
    known = young(dam, code="Y-1", sire=make.male(code="S-1", taxon=dam.taxon))
    unknown, several = young(dam, code="Y-2"), young(dam, code="Y-3")
    for code, chance in (("M-1", 0.3), ("M-2", 0.7)):
        PossibleSire.objects.create(young=several, male=make.male(code=code, taxon=dam.taxon), chance=chance)
    assert descents.notes([known.pk, unknown.pk, several.pk, dam.pk]) == {
        unknown.pk: "sire not known", several.pk: "sire M-2 or M-1",
    }  # fmt: skip
    PossibleSire.objects.filter(chance=0.7).delete()
    assert descents.note(several) == "sire M-1 or another"


def test_it_stands_on_both_kinds_of_labels_and_in_the_export(dam):
    one = young(dam, sire=make.male(code="S-1"))
    box = make.housed(one)
    told = contents.of_specimens([one.pk], timezone.localdate())[one.pk]
    assert told.names[0].name == f"{dam.taxon.name} hybrid"
    assert names.runs(told.names[0].name)[-1] == ("hybrid", False)
    other = young(dam, code="Y-2")
    assert contents.of_specimens([other.pk], timezone.localdate())[other.pk].descent == "sire not known"
    assert contents.of_enclosures([box.pk], timezone.localdate())[box.pk].names == told.names
    rows = {row[0]: dict(zip(lists.ANIMALS, row, strict=False)) for row in lists.animals(Specimen.objects.all())}
    assert (rows["Y-1"]["hybrid"], rows["Y-1"]["descent"]) == (True, "hybrid")
    assert (rows["Y-2"]["hybrid"], rows["Y-2"]["descent"]) == (None, "sire not known")


def test_the_particulars_of_an_animal_say_it(keeper_client, dam):
    one = young(dam, sire=make.male(code="S-1"))
    page = keeper_client.get(reverse("collection:specimen-detail", args=[one.pk])).content.decode()
    assert "<b>Hybrid</b>" in page


def test_a_list_brings_the_mark_and_takes_none_away(dam):
    text = f"Code,Species,Hybrid,Dam,Sire\nH-1,{dam.taxon.name},yes,,\nH-2,{dam.taxon.name},,D-1,S-1\n"
    make.male(code="S-1")
    batch = imported(text)
    assert set(Specimen.objects.filter(hybrid=True).values_list("code", flat=True)) == {"H-1", "H-2"}
    assert "hybrid: its parents are of two taxa" in lines(batch)[3][1]
    again = lines(previewed(text.replace(",yes,", ",no,")))
    assert again[2] == ("same", "stays marked as a hybrid")
