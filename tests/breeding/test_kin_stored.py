"""Stored kinship: extended as animals come, moved when parents are edited, equal to all of it worked out anew."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breeding import kin
from breeding.models import Kin, PossibleSire
from breeding.relations import relation
from collection import dues, receipts, services
from collection.models import Receipt, Specimen
from collection.services import Refused
from tests import factories as make

pytestmark = pytest.mark.django_db


def stored():
    return {row.pk: (row.inbreeding, row.generations, row.basis) for row in Kin.objects.all()}


def bred(code, dam, sire, clutch="", taxon=None):
    return make.SpecimenFactory(code=code, dam=dam, sire=sire, clutch=clutch, taxon=taxon or (dam or sire).taxon)


@pytest.fixture
def family():
    """Two full siblings out of two sacs, and the young of them."""
    dam, sire = make.female(code="D"), make.male(code="S")
    sister, brother = bred("Sister", dam, sire, "1"), bred("Brother", dam, sire, "2")
    return {"D": dam, "S": sire, "sister": sister, "brother": brother, "young": bred("Young", sister, brother, "3")}


def f_of(animal):
    return Kin.objects.get(pk=animal.pk).inbreeding


def test_young_of_siblings_are_on_file_with_a_quarter(family):
    assert (f_of(family["young"]), f_of(family["sister"])) == (0.25, 0)
    assert Kin.objects.get(pk=family["young"].pk).generations == 2


def test_an_edited_parent_moves_the_animal_and_its_descendants_alone(family):
    other = make.male(code="T", taxon=family["D"].taxon)
    before = stored()
    brother = Specimen.objects.get(pk=family["brother"].pk)
    brother.sire = other
    services.save_specimen(brother, "")
    assert f_of(family["young"]) == 0.125
    changed = {pk for pk, row in stored().items() if before.get(pk) != row}
    assert changed == {brother.pk, family["young"].pk}


def test_sac_mates_take_the_sire_that_one_of_them_names(family):
    dam, sire = family["sister"], family["brother"]
    silent = bred("Silent", dam, None, "4")
    assert f_of(silent) == 0
    bred("Named", dam, sire, "4")
    assert f_of(silent) == 0.25


def test_a_meal_works_out_no_kinship(family):
    with CaptureQueriesContext(
        connection,
    ) as seen:
        make.fed(family["young"], make.TODAY)
    assert not [query for query in seen if "breeding_kin" in query["sql"]]


def test_a_molt_reads_and_writes_nothing_new(family):
    with CaptureQueriesContext(connection) as seen:
        make.molted(family["young"], make.TODAY)
    kept = [query["sql"] for query in seen if "breeding_kin" in query["sql"]]
    assert [sql[:6] for sql in kept] == ["SELECT"]


def test_rebuilding_all_changes_nothing(family):
    before = stored()
    Kin.objects.filter(pk=family["young"].pk).update(inbreeding=0.9)
    dues.refresh_all()
    assert stored() == before


def test_possible_sires_count_by_their_chance(family):
    young = bred("Doubt", family["sister"], None, "5")
    kin.name_sires(young, [(family["brother"], 0.6), (make.male(taxon=young.taxon), 0.4)])
    assert f_of(young) == pytest.approx(0.15)


def test_possible_sires_can_be_taken_back(family):
    young = bred("Doubt", family["sister"], None, "5")
    receipt = Receipt.objects.create(key="k", at="2026-12-04T09:00:00Z")
    with receipts.writing(receipt) as entry:
        kin.name_sires(young, [(family["brother"], 0.6)])
    receipt.entries, receipt.specimens = entry.writes, sorted(entry.specimens)
    receipt.save()
    receipts.undo(receipt)
    assert (f_of(young), PossibleSire.objects.count()) == (0, 0)


@pytest.mark.parametrize(
    ("males", "words"),
    [
        (lambda f: [(f["S"], 0.7), (f["brother"], 0.6)], "more than 100 %"),
        (lambda f: [(f["S"], 0.2), (f["S"], 0.2)], "named twice"),
        (lambda f: [(f["S"], 0.0)], "between 0 and 100 %"),
        (lambda f: [(f["D"], 0.5)], "is a female"),
        (lambda f: [(f["grandson"], 0.5)], "descends from it"),
    ],
)
def test_sires_that_cannot_be_are_refused(family, males, words):
    doubt = bred("Doubt", family["sister"], None, "5")
    family["grandson"] = bred("Grandson", doubt, None)
    with pytest.raises(Refused, match=words):
        kin.name_sires(doubt, males(family))


def test_a_sire_on_file_leaves_no_doubt(family):
    with pytest.raises(Refused, match="has a sire on file"):
        kin.name_sires(family["young"], [(family["S"], 0.5)])


def test_a_circle_over_a_possible_sire_is_refused_when_parents_are_entered(family):
    doubt = bred("Doubt", family["sister"], None, "5")
    kin.name_sires(doubt, [(family["S"], 0.5)])
    old = Specimen.objects.get(pk=family["S"].pk)
    old.dam = make.fresh(doubt)
    with pytest.raises(Refused, match="its own ancestor"):
        services.save_specimen(old, "")


def test_young_of_a_parthenogenetic_taxon_are_clones():
    taxon = make.TaxonFactory(parthenogenetic=True, group="stick_insect")
    mother = make.SpecimenFactory(taxon=taxon)
    young = bred("c1", mother, None, taxon=taxon)
    known = kin.family([young.pk])
    assert known.pedigree.kinship(young.pk, mother.pk) == 0.5
    assert relation(known.relatives, young.pk, mother.pk).words == "clones, genetically one animal"


def test_the_family_holds_every_ancestor_and_nobody_else(family):
    make.SpecimenFactory()
    assert set(kin.family([family["young"].pk]).rows) == {animal.pk for animal in family.values()}


class Ledger(TestCase):
    """Whatever is entered and edited in whatever order, the stored rows equal those worked out anew."""

    @given(st.lists(st.tuples(*[st.integers(0, 9)] * 4), min_size=1, max_size=12))
    @settings(max_examples=12, deadline=None)
    def test_stored_rows_equal_those_worked_out_anew(self, steps):
        taxon = make.TaxonFactory()
        animals = Specimen.objects.bulk_create(Specimen(code=f"L-{n}", taxon=taxon, tag=f"L{n:07}") for n in range(9))
        kin.refresh([animal.pk for animal in animals])
        for which, dam, sire, clutch in steps:
            young = animals[which % 9]
            young.dam, young.sire = (animals[n] if n < which % 9 else None for n in (dam, sire))
            young.sire = None if young.sire == young.dam else young.sire
            young.clutch = str(clutch) if clutch < 4 else ""
            Specimen.objects.filter(pk=young.pk).update(dam=young.dam, sire=young.sire, clutch=young.clutch)
            try:
                kin.refresh([young.pk])
            except Refused:
                return
        before = stored()
        kin.refresh(None)
        for pk, (inbreeding, generations, basis) in stored().items():
            assert before[pk] == (pytest.approx(inbreeding), pytest.approx(generations), basis)


def test_one_sac_without_a_male_in_a_taxon_that_usually_has_one_holds_for_all_its_mates_and_is_undone():
    mother = make.female(code="D-1")
    young, mate, other = (bred(name, mother, None, clutch=sac) for name, sac in (("a", "s1"), ("b", "s1"), ("c", "s2")))
    kin.say_fatherless(young, True)
    known = kin.family([mate.pk, other.pk])
    assert known.pedigree.kinship(mate.pk, mother.pk) == 0.5
    assert relation(known.relatives, mate.pk, mother.pk).words == "clones, genetically one animal"
    assert not known.rows[other.pk].clonal
    assert Kin.objects.get(pk=mate.pk).basis.endswith("|clonal")
    kin.say_fatherless(make.fresh(young), None)
    assert not Kin.objects.get(pk=mate.pk).basis.endswith("|clonal")


def test_a_sire_and_no_male_exclude_each_other():
    mother = make.female(code="D-1")
    father = make.male(code="S-1", taxon=mother.taxon)
    young = bred("a", mother, father)
    with pytest.raises(Refused, match="has a sire on file"):
        kin.say_fatherless(young, True)
    alone = bred("b", mother, None)
    kin.say_fatherless(alone, True)
    with pytest.raises(Refused, match="on file as young without a male"):
        kin.name_sires(alone, [(father, 1.0)])
    alone.sire = father
    with pytest.raises(Refused, match="Take that back"):
        services.save_specimen(alone, "")
    with pytest.raises(Refused, match="no dam on file"):
        kin.say_fatherless(make.SpecimenFactory(), True)


def test_a_male_in_a_parthenogenetic_taxon_makes_no_clones():
    taxon = make.TaxonFactory(parthenogenetic=True, group="stick_insect")
    young = bred("c1", make.SpecimenFactory(taxon=taxon), None, taxon=taxon)
    kin.say_fatherless(young, False)
    assert not kin.family([young.pk]).rows[young.pk].clonal


def test_it_is_said_on_the_page_of_its_sire(keeper_client):
    mother = make.female(code="D-1")
    young = bred("a", mother, None)
    url = reverse("breeding:sires-edit", args=[young.pk])
    assert keeper_client.post(url, {"male": "no", "sires": ""}).status_code == 302
    page = keeper_client.get(reverse("breeding:specimen-kin", args=[young.pk])).content.decode()
    assert "It came without a male and is taken as a clone of its dam" in page
    assert "Either no male" in keeper_client.post(url, {"male": "no", "sires": "D-1 50 %"}).content.decode()
