"""Who was near whom, worked out from stays by hand; and what holds whatever the stays are."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from husbandry.exposure import Contact, How, Lived, contacts, window

TODAY, SINCE = date(2026, 12, 4), date(2026, 11, 4)
SICK, WIDE = 1, frozenset({10})


def day(n):
    return SINCE + timedelta(days=n)


def lived(who, box, begins, ends=None, shelf=10, position=0):
    return Lived(who, box, shelf, position, day(begins), None if ends is None else day(ends))


def near(*stays, wide=WIDE):
    return contacts(SICK, stays, SINCE, TODAY, wide)


def test_two_in_one_enclosure_shared_it_for_the_days_they_have_in_common():
    assert near(lived(1, 5, 0), lived(2, 5, 3, 9)) == [Contact(2, How.TOGETHER, day(3), day(9), 5)]


def test_who_moves_in_on_the_day_it_moves_out_came_after_it():
    assert near(lived(1, 5, 0, 9), lived(1, 6, 9, shelf=11), lived(2, 5, 9)) == [Contact(2, How.AFTER, day(9), None, 5)]


def test_who_lived_there_before_may_be_where_it_comes_from():
    assert near(lived(1, 5, 9), lived(2, 5, 0, 8)) == [Contact(2, How.BEFORE, day(0), day(8), 5)]


def test_beside_goes_before_the_rest_of_the_shelf():
    found = near(lived(1, 5, 0, position=3), lived(2, 6, 0, position=1), lived(3, 7, 0, position=4))
    assert [(contact.specimen, contact.how) for contact in found] == [(3, How.BESIDE), (2, How.SHELF)]


def test_on_a_rack_without_shelves_only_the_places_beside_are_near():
    stays = lived(1, 5, 0, position=3), lived(2, 6, 0, position=1), lived(3, 7, 0, position=4)
    assert [contact.specimen for contact in near(*stays, wide=frozenset())] == [3]


def test_another_shelf_no_shelf_and_another_time_are_not_near():
    own = lived(1, 5, 0, 9)
    others = lived(2, 6, 0, shelf=11), lived(3, 7, 0, shelf=None), lived(4, 8, 10)
    assert near(own, *others) == []


def test_what_ended_before_the_days_asked_for_is_left_out_and_what_runs_on_is_cut():
    assert near(lived(1, 5, -90), lived(2, 5, -60, -1)) == []
    assert near(lived(1, 5, -90), lived(2, 5, -60, 3)) == [Contact(2, How.TOGETHER, SINCE, day(3), 5)]


def test_days_before_the_first_or_in_the_dark_past_are_refused():
    with pytest.raises(ValueError, match="between 1 and 3650"):
        window(TODAY, 0)
    with pytest.raises(ValueError, match="ends before it begins"):
        lived(1, 5, 3, 2)


STAYS = st.builds(
    lambda who, box, begins, length, shelf, position: lived(
        who, box, begins, None if length is None else begins + length, shelf, position
    ),
    st.integers(1, 4),
    st.integers(1, 3),
    st.integers(-60, 30),
    st.none() | st.integers(0, 60),
    st.sampled_from([10, 11, None]),
    st.integers(0, 3),
)


@given(st.lists(STAYS, max_size=12))
def test_nobody_is_near_oneself_and_every_day_lies_in_the_days_asked_for(stays):
    for contact in near(*stays):
        assert contact.specimen != SICK
        assert SINCE <= contact.begins <= TODAY
        assert contact.ends is None or contact.ends >= contact.begins


@given(st.lists(STAYS, max_size=12), STAYS)
def test_one_stay_more_never_makes_a_contact_go_away(stays, more):
    assert set(near(*stays)) <= set(near(*stays, more))


@given(st.lists(STAYS, max_size=12))
def test_the_order_of_the_records_does_not_matter(stays):
    assert near(*stays) == near(*reversed(stays))
