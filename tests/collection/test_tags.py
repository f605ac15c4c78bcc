"""Tags and their check character, ISO/IEC 7064:2003 MOD 37,36."""

import random
import secrets

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.tags import ALPHANUMERIC, CROCKFORD, check_character, draw, is_valid, read
from tests.reference import rows

drawn = st.randoms(use_true_random=False).map(draw)


@pytest.mark.parametrize("row", rows("check_characters"), ids=lambda row: row["text"])
def test_check_characters_equal_published_examples(row):
    assert check_character(row["text"]) == row["check"]
    assert is_valid(row["text"] + row["check"])


@given(drawn, st.data())
def test_every_single_wrong_character_is_caught(tag, data):
    place = data.draw(st.integers(0, len(tag) - 1))
    wrong = data.draw(st.sampled_from(ALPHANUMERIC).filter(lambda character: character != tag[place]))
    assert not is_valid(tag[:place] + wrong + tag[place + 1 :])


def test_nearly_every_swap_of_neighbours_is_caught():
    """The standard's hybrid systems miss a few swaps; among these draws it is less than one in a hundred."""
    rng = random.Random(7)
    tags = [draw(rng) for _ in range(2000)]
    swapped = [t[:i] + t[i + 1] + t[i] + t[i + 2 :] for t in tags for i in range(7) if t[i] != t[i + 1]]
    assert sum(map(is_valid, swapped)) < len(swapped) / 100


@given(drawn)
def test_a_drawn_tag_is_eight_crockford_characters_and_valid(tag):
    assert len(tag) == 8
    assert set(tag) <= set(CROCKFORD)
    assert is_valid(tag)


def test_a_tag_can_be_drawn_from_any_source_of_random_bytes():
    assert is_valid(draw(lambda: secrets.randbelow(256)))


def test_draws_differ():
    rng = random.Random(1)
    assert len({draw(rng) for _ in range(1000)}) == 1000


@given(drawn, st.sampled_from(["{}", " {} ", "HTTP://10.0.0.5:8000/A/{}", "https://home/a/{}/", "/a/{}?x=1#top"]))
def test_a_tag_is_read_from_a_code_or_a_link(tag, form):
    assert read(form.format(tag)) == tag
    assert read(form.format(tag.lower())) == tag


@given(drawn)
def test_letters_that_look_like_digits_are_read_as_digits(tag):
    assert read(tag.replace("0", "o").replace("1", "l")) == tag
    assert read(tag.replace("0", "O").replace("1", "I")) == tag


@given(drawn, st.sampled_from(" -"))
def test_spaces_and_hyphens_in_a_tag_do_not_matter(tag, gap):
    assert read(f"{tag[:4]}{gap}{tag[4:]}") == tag


@given(drawn)
def test_a_wrong_check_character_reads_as_nothing(tag):
    other = next(character for character in CROCKFORD if character != tag[-1])
    assert read(tag[:-1] + other) is None


@pytest.mark.parametrize("text", ["", "/", "ABC", "http://home/a/", "UUUUUUUU", "ﬁ345678", "402WX6H7X", "٤02WX6H7"])
def test_what_is_no_tag_reads_as_nothing(text):
    assert read(text) is None


@given(st.text(max_size=40))
def test_anything_typed_reads_as_a_valid_tag_or_nothing(text):
    found = read(text)
    assert found is None or is_valid(found)


def test_nothing_has_no_check_character():
    with pytest.raises(ValueError, match="nothing to check"):
        check_character("")
    assert not is_valid("")


def test_characters_outside_the_system_are_refused():
    with pytest.raises(ValueError, match="capital letter"):
        check_character("ab12")
    assert not is_valid("abc1")
    assert not is_valid("A")
