"""A typed species finds its taxon, or a suggestion that must be confirmed; nothing near is taken in silence."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.spreadsheets.names import TaxonIndex, TaxonMatch, distance, match_taxon

NAMES = {
    name: name
    for name in (
        "Brachypelma hamorii", "Brachypelma smithi", "Brachypelma boehmei", "Tliltocatl albopilosus",
        "Tliltocatl vagans", "Grammostola pulchra", "Grammostola pulchripes", "Poecilotheria metallica",
        "Cyriopagopus lividus", "Ceratogyrus darlingi", "Ceratogyrus marshalli", "Pamphobeteus antinous",
        "Ephebopus murinus", "Pterinochilus murinus",
    )
}  # fmt: skip
SYNONYMS = {
    "Brachypelma albopilosum": "Tliltocatl albopilosus",
    "Brachypelma vagans": "Tliltocatl vagans",
    "Haplopelma lividum": "Cyriopagopus lividus",
    "OBT": "Pterinochilus murinus",
}


def matched(text: str) -> TaxonMatch:
    return match_taxon(text, NAMES, SYNONYMS)


@pytest.mark.parametrize(
    ("text", "key", "kind"),
    [
        ("Brachypelma hamorii", "Brachypelma hamorii", "exact"),
        ("  brachypelma   HAMORII ", "Brachypelma hamorii", "exact"),
        ("Brachypelma hamorii Tesmoingt, Cleton & Verdez, 1997", "Brachypelma hamorii", "exact"),
        ("Tliltocatl albopilosus (Valerio, 1980)", "Tliltocatl albopilosus", "exact"),
        ("Brachypelma albopilosum", "Tliltocatl albopilosus", "synonym"),
        ("Haplopelma lividum (Smith, 1996)", "Cyriopagopus lividus", "synonym"),
        ("obt", "Pterinochilus murinus", "synonym"),
        ("B. hamorii", "Brachypelma hamorii", "abbreviated"),
        ("b hamorii", "Brachypelma hamorii", "abbreviated"),
        ("B. albopilosum", "Tliltocatl albopilosus", "abbreviated"),
        ("hamorii", "Brachypelma hamorii", "abbreviated"),
        ("P. murinus", "Pterinochilus murinus", "abbreviated"),
        ("Brachypelma hamori", "Brachypelma hamorii", "near"),
        ("Brachypelam hamorii", "Brachypelma hamorii", "near"),
        ("Poecilotheria metalica", "Poecilotheria metallica", "near"),
        ("Tliltocatl albopilosum", "Tliltocatl albopilosus", "near"),
        ("B. hamori", "Brachypelma hamorii", "near"),
    ],
)
def test_a_typed_name_finds_its_taxon(text: str, key: str, kind: str) -> None:
    found = matched(text)
    assert (found.key, found.kind) == (key, kind)


@pytest.mark.parametrize("text", ["Brachypelma hamori", "B. hamorii", "Brachypelma albopilosum"])
def test_what_was_read_as_another_name_is_said(text: str) -> None:
    assert matched(text).sentence.startswith("read as ")
    assert matched("Brachypelma hamorii").sentence == ""


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("Brachypelma cf. hamorii", "Brachypelma hamorii"),
        ("Brachypelma hamorii x smithi", "Brachypelma hamorii"),
        ("Brachypelma hamorii × Brachypelma smithi", "Brachypelma hamorii"),
        ("Brachipelma hamori", "Brachypelma hamorii"),
        ("Pamphobeteus sp. 'big pink'", ""),
        ("Grammostola sp.", ""),
        ("murinus", "Ephebopus murinus or Pterinochilus murinus"),
        ("Xenesthis immanis", ""),
        ("", ""),
    ],
)
def test_what_is_not_surely_one_taxon_is_only_suggested(text: str, suggestion: str) -> None:
    found = matched(text)
    assert (found.key, found.kind, found.suggestion) == (None, "none", suggestion)


def test_an_abbreviation_that_fits_two_genera_is_not_taken() -> None:
    both = TaxonIndex({"Ceratogyrus darlingi": 1, "Cyriopagopus darlingi": 2})
    assert both.match("C. darlingi").kind == "none"
    assert "or" in both.match("C. darlingi").suggestion


def test_what_stands_behind_the_name_is_kept_as_written() -> None:
    assert matched("Tliltocatl albopilosus Nicaragua").rest == "Nicaragua"


# By hand after Damerau 1964 (Comm. ACM 7(3), 171-176): insertion, deletion, substitution, transposition.
@pytest.mark.parametrize(
    ("one", "other", "steps"),
    [
        ("hamorii", "hamorii", 0),
        ("hamori", "hamorii", 1),
        ("hamoriii", "hamorii", 1),
        ("hamoroi", "hamorii", 1),
        ("hamroii", "hamorii", 1),
        ("hmroii", "hamorii", 2),
    ],
)
def test_distance_counts_the_four_slips_of_a_typist(one: str, other: str, steps: int) -> None:
    assert distance(one, other, 2) == distance(other, one, 2) == steps


@given(st.text("abcde", max_size=8), st.text("abcde", max_size=8))
def test_distance_beyond_the_most_asked_for_is_cut_off(one: str, other: str) -> None:
    full = distance(one, other, 20)
    assert distance(one, other, 2) == min(full, 3)


@given(st.sampled_from(sorted(NAMES)), st.integers(0, 30), st.characters(codec="ascii", categories=["Ll"]))
def test_one_letter_put_in_anywhere_never_leads_to_another_taxon(name: str, at: int, letter: str) -> None:
    found = matched(name[:at] + letter + name[at:])
    assert found.key in {None, name}
