"""How two of a group meet, in its own words: what is counted, what is minded before, nothing of spiders elsewhere."""

import pytest

from breeding.livelog import Seen, after, signs, word
from breeding.meetwords import WORDS, words_of
from breeding.risk import HARMLESS
from collection.stages import Group

SPIDERS = {Group.TARANTULA, Group.TRUE_SPIDER}
OTHERS = [group for group in Group if group not in SPIDERS]


def everything(group):
    """All that a group's words can say."""
    words = words_of(group)
    rows = [word(seen, group) for row in signs(group) for seen in row]
    counts = [words.say(count) for count in (None, 0, 1, 3)]
    done = [one for count in (None, 0, 2) for one in after("peace", count, group)]
    return " ".join([words.field, words.hint, *rows, *counts, *done, *words.cautions])


@pytest.mark.parametrize("group", OTHERS)
def test_nothing_of_spiders_is_said_of_others(group):
    said = everything(group)
    for theirs in ("insertion", "palp", "drum", "sperm web", "both empty", " left,"):
        assert theirs not in said


@pytest.mark.parametrize("group", [group for group in Group if group not in HARMLESS])
def test_whoever_eats_animals_has_a_caution(group):
    assert words_of(group).cautions


def test_a_mantis_is_known_to_eat_him_and_nobody_says_how_often():
    said = " ".join(words_of(Group.MANTIS).cautions)
    assert "She may eat him before he reaches her, while they are joined, or afterwards." in said
    assert "%" not in " ".join(caution for words in WORDS.values() for caution in words.cautions)


def test_the_count_is_said_in_words():
    assert [words_of(Group.TARANTULA).say(n) for n in (None, 0, 1, 4)] == [
        "insertions not seen", "no insertion seen", "1 insertion seen", "4 insertions seen",
    ]  # fmt: skip
    assert words_of(Group.SCORPION).say(1) == "1 sperm packet taken up"
    assert word(Seen.COUPLED, Group.SCORPION) == "she takes the packet"
    with pytest.raises(ValueError, match="from zero"):
        words_of(Group.MANTIS).say(-1)


def test_what_comes_next_names_the_brood_of_the_group():
    assert "the wait for an ootheca runs" in after("peace", 1, Group.MANTIS)[0]
    assert after("male_lost", 0, Group.MANTIS, logged=True)[0] == "Seen to the end: not joined. Another male is needed."
