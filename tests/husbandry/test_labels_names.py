"""Scientific names on labels: italics where they belong, and the genus cut short."""

import pytest

from husbandry.labels.names import abbreviated, qualified, runs


def italics(name: str) -> str:
    """The name with its italic words in underscores."""
    return " ".join(f"_{word}_" if italic else word for word, italic in runs(name))


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Poecilotheria regalis", "_Poecilotheria_ _regalis_"),
        ("Heterometrus cf. silenus", "_Heterometrus_ cf. _silenus_"),
        ("Phormictopus aff. cancerides", "_Phormictopus_ aff. _cancerides_"),
        ("Chilobrachys sp. Vietnam", "_Chilobrachys_ sp. Vietnam"),
        ("Davus sp. ‘Panama’", "_Davus_ sp. ‘Panama’"),
        ("Porcellio scaber ‘dark ruby’", "_Porcellio_ _scaber_ ‘dark ruby’"),
        ("Brachypelma × hybridum", "_Brachypelma_ × _hybridum_"),
        ("Brachypelma (Brachypelma) smithi", "_Brachypelma_ (Brachypelma) _smithi_"),
        ("Selenocosmia", "_Selenocosmia_"),
    ],
)
def test_only_the_name_itself_is_italic(name, shown):
    assert italics(name) == shown


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Chromatopelma cyaneopubescens", "C. cyaneopubescens"),
        ("Heterometrus cf. silenus", "H. cf. silenus"),
        ("Chilobrachys sp. Vietnam", "C. sp. Vietnam"),
        ("Selenocosmia", "Selenocosmia"),
    ],
)
def test_the_genus_is_cut_short_and_never_the_species(name, short):
    assert " ".join(word for word, _ in abbreviated(runs(name))) == short


def test_a_doubtful_name_is_marked_so_even_when_its_entry_is_not():
    assert qualified("Heterometrus silenus", "cf") == "Heterometrus cf. silenus"
    assert qualified("Heterometrus cf. silenus", "cf") == "Heterometrus cf. silenus"
    assert qualified("Heterometrus silenus", "species") == "Heterometrus silenus"
