"""The preview: the same items as in the PDF, at true size, safe to put on a page."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from collection.sexing import Verdict
from husbandry.label_services.contents import SEX_MARKS
from husbandry.labels import svg
from husbandry.labels.items import Box, Code, Sign, Text
from husbandry.labels.marks import MARKS
from husbandry.labels.papers import PAPERS
from husbandry.labels.run import lay_out
from tests.husbandry.labelled import contents, job

[SAID] = contents(1)


def drawn(said=SAID):
    """A label, and its preview read back."""
    [label] = lay_out(job(), [said]).labels
    return label, ET.fromstring(svg.label(label.items, 63.5, 33.9, f"Label of {said.code}"))


def test_a_label_has_its_size_in_millimetres():
    _, root = drawn()
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("63.5mm", "33.9mm", "0 0 6350 3390")


def test_every_item_of_the_label_is_drawn_once():
    label, root = drawn()
    kinds = {kind: sum(isinstance(item, kind) for item in label.items) for kind in (Text, Box, Sign, Code)}
    assert len(root.findall("text")) == kinds[Text]
    assert len(root.findall("rect")) == kinds[Box]
    assert len(root.findall("g")) == kinds[Sign]
    assert len(root.findall("path")) == kinds[Code]


def test_letters_keep_their_printed_length_whatever_the_browsers_typeface():
    label, root = drawn()
    texts = [item for item in label.items if isinstance(item, Text)]
    for item, element in zip(texts, root.findall("text"), strict=True):
        assert element.text == item.text
        assert int(element.get("textLength")) == pytest.approx(item.width * 100, abs=1)
        assert int(element.get("x")) == pytest.approx(item.x * 100, abs=1)


def test_what_a_keeper_wrote_cannot_become_markup():
    label, root = drawn(replace(SAID, code='<b>"&', common="<script>"))
    assert '<b>"&' in [element.text for element in root.findall("text")]
    assert root.get("aria-label") == 'Label of <b>"&'
    assert label.items


def test_the_sheet_shows_places_used_to_print_and_left():
    root = ET.fromstring(svg.sheet(PAPERS["a4-3x8"], 6, 7, "Page of 24"))
    states = [rect.get("class").split()[-1] for rect in root.findall("rect")[1:]]
    assert states == ["used"] * 5 + ["go"] * 7 + ["free"] * 12


def test_there_is_a_mark_for_everything_that_can_be_known_of_a_sex():
    assert set(SEX_MARKS) == {verdict.value for verdict in Verdict}
    assert set(SEX_MARKS.values()) | {"group", "evidence clashes", "bite", "hairs"} <= MARKS.keys()
