"""Text on labels: it shrinks to 8 points, then the genus is cut short, then it wraps; it is never clipped."""

import pytest

from husbandry.labels import fitting
from husbandry.labels.faces import Face, em, missing, width
from husbandry.labels.fitting import Word, fit, line_width, words

LONG = (Word("Chromatopelma", Face.ITALIC), Word("cyaneopubescens", Face.ITALIC))
SHORT = (Word("C.", Face.ITALIC), Word("cyaneopubescens", Face.ITALIC))


def said(fitted: fitting.Fitted) -> list[str]:
    return [" ".join(word.text for word in line) for line in fitted.lines]


def test_what_has_room_stands_at_its_own_size():
    fitted = fit(LONG, 90, 11, SHORT)
    assert (said(fitted), fitted.pt) == (["Chromatopelma cyaneopubescens"], 11)


def test_what_has_less_room_shrinks():
    fitted = fit(LONG, 55, 11, SHORT)
    assert said(fitted) == ["Chromatopelma cyaneopubescens"]
    assert 8 <= fitted.pt < 11


def test_what_does_not_fit_at_8_points_has_its_genus_cut_short():
    assert said(fit(LONG, 40, 11, SHORT)) == ["C. cyaneopubescens"]


def test_where_no_genus_may_be_cut_short_it_wraps():
    assert said(fit(LONG, 40, 11)) == ["Chromatopelma", "cyaneopubescens"]


def test_what_does_not_fit_even_so_wraps():
    assert said(fit(SHORT, 27, 11, SHORT)) == ["C.", "cyaneopubescens"]


def test_wrapped_lines_grow_as_far_as_their_number_allows():
    fitted = fit(LONG, 40, 11)
    assert fitted.pt == 11
    assert all(line_width(line, 11) <= 40 for line in fitted.lines)


def test_a_word_that_is_longer_than_the_line_is_broken_after_its_hyphen():
    fitted = fit(words("LIBRARY-SHELF-000123"), 24, 12)
    assert said(fitted) == ["LIBRARY-SHELF-", "000123"]
    assert fitted.pt == 8


def test_nothing_fits_where_not_even_a_letter_does():
    assert fit(words("W"), 2, 12) is None


def test_widths_are_those_of_the_typeface():
    """DejaVu Sans: every digit is 1303 of 2048 units wide, as its hmtx table says."""
    assert width("0123456789", Face.PLAIN, 10) == pytest.approx(10 * 1303 / 2048 * em(10), rel=1e-3)


def test_letters_of_names_are_all_there():
    assert missing("Češka Żółw Ñandú × é ‘blue’ – Ελλάς Кавказ") == ""


def test_letters_that_are_not_there_are_named():
    assert missing("ab\u6a39c\u6a39") == "\u6a39"
