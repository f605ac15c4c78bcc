"""Parents from a list: linked by code, shown as written, refused with the sentence that the animal's page would say."""

import pytest

from collection.importing import batches
from collection.models import Specimen
from tests.collection.test_import_animals import TODAY, imported, lines, previewed
from tests.factories import TaxonFactory, female, looked, male

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def taxon(db):
    return TaxonFactory(name="Fictor hamatus")


def text(*rows: str) -> str:
    return "\n".join(["Code,Species,Sex,Hatched,Dam,Sire,Clutch", *rows])


FAMILY = (
    "D-1,Fictor hamatus,F,2020-05,,,",
    "S-1,Fictor hamatus,M,2020-04,,,",
    "Y-1,Fictor hamatus,,2023-01,D-1,s-1,D-1/1",
    "Y-2,Fictor hamatus,,2023-01,D-1,,D-1/1",
)


def test_parents_of_the_same_file_are_linked():
    batch = imported(text(*FAMILY))
    young = Specimen.objects.get(code="Y-1")
    assert (young.dam.code, young.sire.code, young.clutch) == ("D-1", "S-1", "D-1/1")
    assert "dam D-1 · sire S-1 · sac D-1/1" in lines(batch)[4][1]
    assert young.kin.basis.startswith(f"{young.dam_id}|{young.sire_id}|")


def test_the_same_list_again_changes_nothing():
    imported(text(*FAMILY))
    assert {outcome for outcome, _ in lines(previewed(text(*FAMILY))).values()} == {"same"}


def test_an_import_of_a_family_can_be_taken_back():
    batch = imported(text(*FAMILY))
    batches.undo(batch, None)
    assert not Specimen.objects.exists()


def test_a_parent_further_down_is_linked_at_once_and_the_preview_stays_in_the_order_of_the_file():
    upside_down = text(*FAMILY[::-1])
    batch = imported(upside_down)
    assert [row[1] for row in batch.rows] == ["Y-2", "Y-1", "S-1", "D-1"]
    assert "dam D-1 · sire S-1" in lines(batch)[3][1]
    assert Specimen.objects.get(code="Y-1").sire.code == "S-1"
    assert {outcome for outcome, _ in lines(previewed(upside_down)).values()} == {"same"}


def test_a_new_parent_of_the_same_file_takes_the_place_of_one_on_file_and_is_taken_back():
    imported(text(*FAMILY))
    batch = imported(text("Y-1,Fictor hamatus,,2023-01,D-2,,", "D-2,Fictor hamatus,F,2020,,,"))
    assert "dam: D-1 → D-2" in lines(batch)[2][1]
    assert Specimen.objects.get(code="Y-1").dam.code == "D-2"
    batches.undo(batch, None)
    assert Specimen.objects.get(code="Y-1").dam.code == "D-1"
    assert not Specimen.objects.filter(code="D-2").exists()


def test_who_descend_from_each_other_are_refused_and_their_young_left_unlinked():
    found = lines(previewed(text(
        "A,Fictor hamatus,F,,B,,", "B,Fictor hamatus,F,,A,,", "C,Fictor hamatus,F,,A,,", "E,Fictor hamatus,F,,,,"
    )))  # fmt: skip
    assert [found[row][0] for row in (2, 3, 4, 5)] == ["refused", "refused", "new", "new"]
    assert "By this list B and A descend from each other" in found[2][1]
    assert "dam A: its own row is refused, so the two are not linked" in found[4][1]


REFUSED = {
    "Y-1,Fictor hamatus,,2023,Y-1,,": "is named as its own dam",
    "Y-1,Fictor hamatus,,2023,F-1,F-1,": "named as dam and as sire",
    "Y-1,Fictor hamatus,,2023,M-1,,": "M-1 is a male, and cannot be the dam",
    "Y-1,Fictor hamatus,,2023,,F-1,": "F-1 is a female, and cannot be the sire",
    "Y-1,Fictor hamatus,,2023,X-9,,": "No animal has the code X-9, named as the dam",
    "Y-1,Fictor hamatus,,2017,F-1,,": "F-1 hatched 2018: not before its young",
}


@pytest.mark.parametrize("row", REFUSED)
def test_what_cannot_be_is_refused(row, taxon):
    hatched = {"hatched_earliest": "2018-01-01", "hatched_latest": "2018-12-31"}
    female(code="F-1", taxon=taxon, **hatched)
    male(code="M-1", taxon=taxon)
    outcome, said = lines(previewed(text(row)))[2]
    assert (outcome, REFUSED[row] in said) == ("refused", True), said


def test_a_male_of_the_same_file_is_no_dam():
    found = lines(previewed(text(FAMILY[1], "Y-1,Fictor hamatus,,2023,S-1,,")))
    assert "S-1 is a male" in found[3][1]


def test_a_circle_of_descent_is_refused():
    imported(text("A,Fictor hamatus,F,,,,", "B,Fictor hamatus,F,,A,,", "C,Fictor hamatus,F,,B,,"))
    assert "C descends from A; nobody is its own ancestor" in lines(previewed(text("A,Fictor hamatus,F,,C,,")))[2][1]


def test_evidence_that_came_since_counts():
    imported(text("D-1,Fictor hamatus,,2020,,,"))
    looked(Specimen.objects.get(code="D-1"), "male", TODAY, method="mature_male", size_mm=None, lens="")
    assert "D-1 is a male" in lines(previewed(text("Y-1,Fictor hamatus,,2023,D-1,,")))[2][1]
