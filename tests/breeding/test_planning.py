"""What a pairing is worth, and the best set of pairs with what the keeper has fixed."""

from datetime import date
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breeding.kinship.words import as_fraction, percent, say_inbreeding
from breeding.pedigree_chart import ROW, layout
from breeding.planning import Aim, Prospect, Temperament, choose, need_of, outcome, temperament
from breeding.wishes import Wish, read
from collection.stages import Group

DAY = date(2026, 12, 4)


def prospect(**values):
    usual = {"before_molt": 0.8, "success": 0.5, "mean_kinship": 0.25, "inbreeding": 0.0, "need": 1.0}
    return Prospect(**{**usual, "temperament": Temperament.MIXED, **values})


def test_the_worth_is_what_the_design_says():
    one = prospect()
    assert one.worth() == pytest.approx(0.8 * 0.5 * 0.75 - 0.08)
    assert one.worth(Aim.SACS) == pytest.approx(0.4)
    assert one.worth(Aim.MALES) == pytest.approx(0.3 - 0.4)


def test_each_aim_ranks_by_what_it_aims_at():
    sure, rare = prospect(mean_kinship=0.4), prospect(before_molt=0.5, mean_kinship=0.05)
    assert sure.worth(Aim.SACS) > rare.worth(Aim.SACS)
    assert rare.worth(Aim.KIN) > sure.worth(Aim.KIN)


@pytest.mark.parametrize("values", [{"before_molt": 1.2}, {"need": -0.1}, {"mean_kinship": float("nan")}])
def test_what_is_no_chance_is_refused(values):
    with pytest.raises(ValueError, match="between 0 and 1"):
        prospect(**values)


def test_the_only_male_and_one_on_loan_are_needed_in_full():
    assert [need_of(1, False), need_of(3, True), need_of(4, False)] == [1, 1, 0.25]


def test_temperament_goes_by_genus_and_nothing_of_tarantulas_is_said_of_others():
    found = [temperament(name, Group.TARANTULA) for name in ("Grammostola rosea", "Pterinochilus murinus", "Novus x")]
    assert found == [Temperament.CALM, Temperament.FIERCE, Temperament.MIXED]
    assert temperament("Hierodula membranacea", Group.MANTIS) is Temperament.FIERCE
    assert temperament("Pandinus imperator", Group.SCORPION) is Temperament.MIXED


def test_what_is_fixed_is_in_and_the_rest_follows():
    options = {(f, m): prospect(before_molt=c) for (f, m), c in {(1, 8): 0.9, (1, 9): 0.8, (2, 8): 0.85}.items()}
    assert choose(options, male_limit=1) == [(1, 9), (2, 8)]
    assert choose(options, male_limit=1, forced=[(1, 8)]) == [(1, 8)]
    assert choose(options, male_limit=1, forbidden=[(2, 8)]) == [(1, 8)]


def test_what_cannot_be_fixed_is_said():
    options = {(1, 8): prospect(), (1, 9): prospect()}
    with pytest.raises(ValueError, match="cannot be made"):
        choose(options, forced=[(2, 8)])
    with pytest.raises(ValueError, match="More pairs are fixed"):
        choose(options, forced=[(1, 8), (1, 9)])


def test_the_totals_of_a_plan():
    options = {(1, 8): prospect(inbreeding=0.1, mean_kinship=0.1), (2, 8): prospect(before_molt=0.4, mean_kinship=0.4)}
    total = outcome([(1, 8), (2, 8)], options, males=3)
    assert (total.pairs, total.males_used, total.males_kept, total.inbreeding) == (2, 1, 2, 0.1)
    assert total.sacs == pytest.approx(0.6)
    assert total.mean_kinship == pytest.approx(0.2)
    assert outcome([], options, males=3).mean_kinship is None


chances = st.floats(0, 1)
tables = st.dictionaries(st.tuples(st.integers(1, 3), st.integers(7, 9)), st.tuples(chances, chances), max_size=7)


@given(tables, st.sampled_from(Aim))
@settings(max_examples=50, deadline=None)
def test_no_other_plan_is_worth_more(table, aim):
    options = {pair: prospect(before_molt=a, mean_kinship=b) for pair, (a, b) in table.items()}
    best = sum(options[pair].worth(aim) for pair in choose(options, aim, male_limit=1))
    for size in range(4):
        for plan in combinations(options, size):
            if len({f for f, _ in plan}) == len({m for _, m in plan}) == size:
                assert sum(options[pair].worth(aim) for pair in plan) <= best + 1e-9


def test_a_wish_reads_back_from_its_own_address():
    from urllib.parse import parse_qs

    wish = Wish(
        date(2027, 1, 2),
        DAY,
        Aim.KIN,
        0.0625,
        1,
        frozenset({7, 9}),
        frozenset({(1, 2)}),
        frozenset({(3, 4)}),
        frozenset({5}),
    )
    assert read(parse_qs(wish.query()[1:]), DAY) == wish
    assert read({}, DAY) == Wish(DAY, DAY)
    assert Wish(DAY, DAY).query() == "?"


@pytest.mark.parametrize(
    "said",
    [
        {"day": ["soon"]}, {"day": ["2026-01-01"]}, {"day": ["2031-01-01"]}, {"aim": ["best"]}, {"limit": ["nan"]},
        {"limit": ["-3"]}, {"each": ["0"]}, {"taxon": ["x"]}, {"fix": ["1x", "x2", "٣x٤", "1x2x3"]}, {"home": ["-1"]},
        {"taxon": ["9" * 30]}, {"aim": []},
    ],
)  # fmt: skip
def test_an_address_that_says_nonsense_says_nothing(said):
    assert read(said, DAY) == Wish(DAY, DAY)


def test_changing_a_wish():
    wish = Wish(DAY, DAY).fixing((1, 8)).fixing((1, 9)).without((2, 8))
    assert (wish.fixed, wish.forbidden) == ({(1, 9)}, {(2, 8)})
    assert wish.fixing((2, 8)).forbidden == frozenset()
    assert not wish.freeing((1, 9)).freeing((2, 8)).changed
    assert wish.calling(3).calling(3).home == frozenset()


@pytest.mark.parametrize(
    ("value", "said", "words"),
    [
        (0, "0 %", "no common ancestor"),
        (0.25, "25 %", "as young of full siblings"),
        (0.125, "12.5 %", "as young of half siblings"),
        (0.09375, "9.375 %", "between young of half siblings and of first cousins"),
        (0.3, "30 %", "more than young of full siblings"),
        (0.01, "1 %", "less than young of second cousins"),
        (0.0002, "under 0.05 %", "hardly related"),
    ],
)
def test_coefficients_in_words(value, said, words):
    assert percent(value) == said
    assert words in say_inbreeding(value)


def test_fractions_only_where_they_are_some():
    assert [as_fraction(value) for value in (0.125, 0.09375, 0.1234, 0)] == ["1/8", "3/32", "", ""]


PARENTS = {"x": ("d", "s"), "d": ("g", "h"), "s": ("g", None), "g": ("q", "r"), "h": (None, None)}


def test_a_pedigree_stands_parents_to_the_right_dam_above():
    chart = layout(PARENTS, "x")
    place = {(box.id, box.role, box.again): box for box in chart.boxes}
    assert place["d", "dam", False].y < place["x", "", False].y < place["s", "sire", False].y
    assert [place[key].x for key in (("x", "", False), ("d", "dam", False), ("g", "dam", False))] == [0, 20, 40]
    assert chart.height == ROW * 5


def test_an_ancestor_that_comes_twice_is_drawn_out_once_under_one_letter():
    boxes = [box for box in layout(PARENTS, "x").boxes if box.id == "g"]
    assert [(box.letter, box.again) for box in boxes] == [("A", False), ("A", True)]


def test_no_two_boxes_of_a_column_touch_at_five_generations():
    parents = {n: (2 * n, 2 * n + 1) for n in range(1, 64)}
    chart = layout(parents, 1)
    assert len(chart.boxes) == 31
    for column in range(5):
        rows = sorted(box.y for box in chart.boxes if box.column == column)
        assert all(b - a >= ROW for a, b in pairwise(rows))


def test_a_pedigree_of_no_generation_is_refused():
    with pytest.raises(ValueError, match="one generation"):
        layout(PARENTS, "x", generations=0)
