"""Whole labels: all of it inside its border, nothing on top of anything, and what gives way where there is no room."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection import tags
from husbandry.labels import faces
from husbandry.labels.content import DEFAULTS, LIVE, Content, Hazard, Kind, Name, Part
from husbandry.labels.faces import Face
from husbandry.labels.items import Box, Code, Sign, Text, overlaps
from husbandry.labels.layout import Label
from husbandry.labels.papers import PAPERS, Paper
from husbandry.labels.run import TooSmall, lay_out
from tests.husbandry.labelled import contents, job, ten_longest

ROOMY = ["a4-3x8", "a4-3x7", "a4-2x7", "a4-4x12", "a4-3x8-full", "letter-3x10", "letter-2x5"]
ROLLS = ["roll-40x30", "roll-50x25", "roll-50x30", "roll-57x32", "roll-62x29", "roll-89x36", "roll-102x152"]
SMALL = ["a4-5x13", "letter-4x20"]
HAIR = 0.02  # mm
ALL = frozenset(Part)


def outside(label: Label, paper: Paper) -> list:
    """What reaches beyond the border; the code's white may, its dark part may not."""
    x, y = paper.border
    right, bottom = paper.label_width - x + HAIR, paper.label_height - y + HAIR
    found = []
    for item in label.items:
        rect = item.rect
        if isinstance(item, Code):
            edge = item.modules * item.module
            rect = (item.x, item.y, item.x + edge, item.y + edge)
        if rect[0] < x - HAIR or rect[1] < y - HAIR or rect[2] > right or rect[3] > bottom:
            found.append(item)
    return found


def texts(label: Label) -> list[str]:
    return [item.text for item in label.items if isinstance(item, Text)]


def check(label: Label, paper: Paper) -> None:
    assert outside(label, paper) == []
    assert overlaps(label.items) == []
    assert min(item.pt for item in label.items if isinstance(item, Text)) >= faces.FLOOR_PT


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("key", [*ROOMY, *ROLLS])
def test_the_ten_longest_names_stand_inside_their_labels(kind, key):
    run = lay_out(job(kind, key, parts=ALL, dpi=203 if key in ROLLS else 600), ten_longest())
    for label in run.labels:
        check(label, PAPERS[key])


@pytest.mark.parametrize("key", SMALL)
def test_the_ten_longest_names_stand_on_the_smallest_cups(key):
    run = lay_out(job(Kind.SPIDERLING, key, dpi=600), ten_longest())
    for label in run.labels:
        check(label, PAPERS[key])


def test_an_enclosure_label_carries_the_whole_name():
    names = {content.names[0].name for content in ten_longest()}
    run = lay_out(job(), ten_longest())
    printed = {
        " ".join(i.text for i in label.items if isinstance(i, Text) and i.face is Face.ITALIC) for label in run.labels
    }
    assert printed == names


def test_a_cup_cuts_the_genus_short_and_never_the_species():
    [label] = lay_out(job(Kind.SPIDERLING, "a4-5x13", dpi=600), ten_longest()[:1]).labels
    assert "C. cyaneopubescens" in texts(label)


@pytest.mark.parametrize("kind", Kind)
def test_name_code_tag_and_hazard_class_are_always_there(kind):
    run = lay_out(job(kind, parts=frozenset()), contents(97))
    for label, said in zip(run.labels, contents(97), strict=True):
        words = " ".join(texts(label))
        assert said.clear_tag in words
        assert said.code in words
        assert all(hazard.text in words for hazard in said.hazards)
        assert said.names[0].name.split()[-1] in words
        assert sum(isinstance(item, Code) for item in label.items) == 1


def test_a_species_without_a_class_says_its_hazard_in_words():
    said = Content(
        "7K3QABC8", "M-1", (Name("Archispirostreptus gigas"),), note="chemical: the secretion irritates eyes"
    )
    [label] = lay_out(job(Kind.SPIDERLING, "a4-5x13", dpi=600), [said]).labels
    assert "Chemical." in texts(label)


def test_a_long_hazard_without_a_class_leads_to_the_animals_page():
    said = Content("7K3QABC8", "M-1", (Name("Fictor longus"),), note="nobody knows what its secretion does to eyes")
    [label] = lay_out(job(Kind.SPIDERLING, "a4-5x13", dpi=600), [said]).labels
    assert "hazard: see its page".capitalize() + "." in " ".join(texts(label))


def test_ink_grows_with_the_hazard_class():
    hazards = tuple(Hazard("bite", f"V{level}", level, "") for level in (1, 2, 3))
    said = Content("7K3QABC8", "A-1", (Name("Fictor unus"),), hazards=hazards)
    [label] = lay_out(job(), [said]).labels
    plates = [item for item in label.items if isinstance(item, Box)]
    assert [plate.solid for plate in plates] == [False, False, True]
    assert plates[0].line < plates[1].line
    assert [item.inverse for item in label.items if isinstance(item, Sign)] == [False, False, True]


def test_a_transport_label_says_that_it_is_alive_and_no_price_unless_asked():
    assert Part.PRICE not in DEFAULTS[Kind.TRANSPORT]
    for label in lay_out(job(Kind.TRANSPORT), contents(12)).labels:
        assert LIVE in texts(label)
        assert "Price 25.00" not in texts(label)
    priced = lay_out(job(Kind.TRANSPORT, parts=frozenset({Part.PRICE})), contents(2))
    assert all("Price 25.00" in texts(label) for label in priced.labels)


def test_the_keepers_code_is_the_largest_thing_to_read():
    for label in lay_out(job(), contents(40)).labels:
        sizes = {item.text: item.pt for item in label.items if isinstance(item, Text)}
        code = next(pt for text, pt in sizes.items() if text[1:2] == "-")
        assert code == max(sizes.values())
        assert code >= 12


def test_what_finds_no_room_is_reported_and_the_least_needed_gives_way_first():
    run = lay_out(job(paper="a4-4x12", parts=ALL, dpi=600), ten_longest())
    gone = run.left_out()
    assert gone[Part.COMMON] >= gone.get(Part.LISTING, 0)
    for label, said in zip(run.labels, ten_longest(), strict=True):
        printed = " ".join(texts(label))
        assert (said.date in printed) == (Part.DATE not in label.left_out)
        assert (said.price in printed) == (Part.PRICE not in label.left_out)


def test_all_labels_of_a_run_have_codes_of_one_size():
    run = lay_out(job(paper="roll-57x32", dpi=203), contents(60))
    assert len({item.module for label in run.labels for item in label.items if isinstance(item, Code)}) == 1


def test_an_enclosure_of_several_names_them_all():
    said = Content(
        "7K3QABC8",
        "E-14",
        (Name("Fictor unus", "Nobody, 1900"), Name("Fictor duo", "Nobody, 1901")),
        lives_here="A-1, A-2",
    )
    [label] = lay_out(job(paper="a4-2x7"), [said]).labels
    assert {"Fictor unus", "Fictor duo", "A-1, A-2", "E-14"} <= set(texts(label))


WORDS = st.text(alphabet="abcdefgh MWil-éß×.", min_size=1, max_size=40).filter(lambda text: text.strip())


@settings(max_examples=60)
@given(
    WORDS, WORDS, WORDS, st.sampled_from(Kind), st.sampled_from(["a4-3x8", "a4-5x13", "roll-62x29"]), st.integers(0, 99)
)
def test_whatever_it_says_a_label_is_whole_or_refused(code, name, common, kind, paper, seed):
    said = replace(contents(1)[0], tag=tags.draw(random.Random(seed)), code=code.strip(), common=common.strip())
    said = replace(said, names=(Name(name.strip(), "Tesmoingt, Cleton & Verdez, 1997"),))
    try:
        run = lay_out(job(kind, paper, parts=ALL, dpi=600), [said])
    except TooSmall:
        assert len(code) + len(name) > 12
    else:
        check(run.labels[0], PAPERS[paper])
