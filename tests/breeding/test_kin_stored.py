"""Stored kinship: extended as animals come, moved when parents are edited, equal to all of it worked out anew."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
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
