"""Instars in the conventions of the trade. The table of events is Vachon's scheme and common practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.instars import (
    SCHEMES,
    Convention,
    Count,
    Reading,
    at_least,
    conventions_for,
    convert,
    label,
    leaving,
    others,
    step_of,
    tray,
)
from collection.stages import Group

I, L, F, S, N = list(Convention)  # noqa: E741 - the trade writes it so
CONVERTIBLE = [(group, key) for group, schemes in SCHEMES.items() for key in schemes]


@pytest.mark.parametrize(
    ("trade", "central_european", "german", "scientific"),
    [
        (0, "N1", "prelarva", "prelarva"),
        (1, "N2", "larva", "larva"),
        (2, "L1", "FH1", "nymph 1"),
        (3, "L2", "FH2", "nymph 2"),
    ],
)
def test_the_table_of_a_tarantula(trade, central_european, german, scientific):
    found = [convert(Group.TARANTULA, trade, I, other).text for other in (L, F, S)]
    assert found == [central_european, german, scientific]


def test_the_i_number_is_one_more_than_l_and_fh():
    assert convert(Group.TARANTULA, 4, L, I) == convert(Group.TARANTULA, 4, F, I) == Reading("5i")


def test_one_instar_is_shown_in_the_other_conventions():
    assert others(Group.TARANTULA, 5, I) == ["L4", "FH4", "nymph 4"]
    assert others(Group.TRUE_SPIDER, 3, L) == ["4i", "FH3"]
    assert others(Group.MANTIS, 3, L) == []


def test_a_newborn_scorpion_is_i1_and_a_mantis_starts_at_l1():
    assert (label(Group.SCORPION, 1, I), step_of(Group.SCORPION, 1, I)) == ("i1", 1)
    assert (label(Group.MANTIS, 1, L), step_of(Group.MANTIS, 1, L)) == ("L1", 1)


def test_what_a_convention_does_not_cover_is_unknown_with_a_reason():
    assert convert(Group.MANTIS, 3, L, F).unknown == "No FH number is in use for this group (mantis)."
    assert convert(Group.ISOPOD, 3, I, L).unknown == "No i-number is in use for this group (isopod)."
    assert "no instar" in convert(Group.TARANTULA, 3, N, I).unknown
    assert others(Group.TARANTULA, 3, N) == others(Group.CENTIPEDE, 3, I) == []


def test_a_count_says_that_it_is_one():
    assert label(Group.TARANTULA, 3, N) == "3 molts counted"


def test_nobody_is_offered_another_groups_convention():
    assert [key for key, _ in conventions_for(Group.MANTIS)] == [L, N]
    assert [key for key, _ in conventions_for(Group.SCORPION)] == [I, N]
    assert [key for key, _ in conventions_for(Group.ISOPOD)] == [N]
    assert [key for key, _ in conventions_for(Group.TARANTULA)] == [I, L, F, S, N]


def test_a_count_is_a_lower_bound_unless_it_began_at_the_sac():
    from_sac, later = [Count(3, I), Count(7, I)], [Count(6, I), Count(7, I)]
    assert not at_least(Group.TARANTULA, from_sac, bred_here=True)
    assert at_least(Group.TARANTULA, from_sac, bred_here=False)
    assert at_least(Group.TARANTULA, later, bred_here=True)
    assert at_least(Group.TARANTULA, from_sac, bred_here=True, missed=1)
    assert at_least(Group.TARANTULA, [], bred_here=True)
    assert not at_least(Group.TARANTULA, [Count(1, N), Count(2, N)], bred_here=True)


def test_a_tray_is_told_apart_by_instar():
    assert tray([(3, 30), (4, 22), (5, 8)], 30) == [(5, 8), (4, 14), (3, 8)]
    assert tray([(3, 30), (4, 22)], 25) == [(4, 22), (3, 3)]  # five died meanwhile
    assert tray([], 30) == []


@pytest.mark.parametrize("call", [lambda: step_of(Group.MANTIS, -1, L), lambda: tray([(3, -1)], 5)])
def test_nothing_is_counted_below_zero(call):
    with pytest.raises(ValueError, match="counted from zero up"):
        call()


@given(st.sampled_from(CONVERTIBLE), st.integers(1, 20))
def test_a_number_comes_back_from_every_convention(kind, number):
    group, source = kind
    step = step_of(group, number, source)
    for scheme in SCHEMES[group].values():
        assert scheme.say(step) in {scheme.form.format(step - scheme.offset), *scheme.early}
    assert convert(group, number, source, source).text == label(group, number, source)


@given(st.lists(st.tuples(st.integers(2, 9), st.integers(0, 40)), max_size=8), st.integers(0, 60))
def test_a_tray_never_holds_more_than_its_heads(logged, heads):
    found = tray(logged, heads)
    assert sum(count for _, count in found) <= heads
    assert all(count > 0 for _, count in found)
    assert [instar for instar, _ in found] == sorted({instar for instar, _ in found}, reverse=True)


@pytest.mark.parametrize(
    ("group", "said"), [("tarantula", "2i"), ("scorpion", "i2"), ("mantis", "L1"), ("whip_spider", "nymph 1")]
)
def test_young_are_housed_at_the_instar_that_leaves_sac_mother_or_ootheca(group, said):
    kind = Group(group)
    assert label(kind, leaving(kind), conventions_for(kind)[0][0]) == said


def test_of_a_group_that_nobody_counts_nothing_is_said():
    assert leaving(Group.ISOPOD) is None
