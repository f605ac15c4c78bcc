"""Cells that are tapped for many animals: words of what was seen, and only findings that weigh."""

import pytest

from collection.sexing import Finding, Method, cells_of, finding_of_count, methods_for, speaking, tapped_by
from collection.stages import Group

SAID = [method for method in Method if method is not Method.SAC]


@pytest.mark.parametrize("method", SAID)
def test_every_cell_weighs_and_has_a_word_of_its_own(method):
    cells = cells_of(method)
    assert [cell.finding for cell in cells] == [one for one in Finding if one in speaking(method.value + ",")]
    assert all(cell.word for cell in cells)
    assert len({cell.word for cell in cells}) == len(cells)


@pytest.mark.parametrize("method", [Method.MATURE_MALE, Method.PALPS])
def test_what_a_male_does_not_show_yet_has_no_cell(method):
    assert [cell.finding for cell in cells_of(method)] == [Finding.MALE]


def test_a_cell_of_segments_stands_for_the_count_it_says():
    for cell in cells_of(Method.SEGMENTS):
        assert cell.counted is None or finding_of_count(Method.SEGMENTS, cell.counted) is cell.finding


def test_a_brood_is_logged_one_by_one():
    assert Method.SAC not in tapped_by(tuple(Method))
    with pytest.raises(ValueError, match="one animal at a time"):
        cells_of(Method.SAC)


def test_every_group_has_something_to_tap_and_keeps_its_order():
    for group in Group:
        offered = tapped_by(methods_for(group))
        assert offered
        assert list(offered) == [method for method in methods_for(group) if method in offered]
