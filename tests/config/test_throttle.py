"""Wrong passwords cost time, and never the account."""

from hypothesis import given
from hypothesis import strategies as st

from config.accounts.throttle import LONGEST_WAIT, MOST_KEYS, Gate, keys_for


def test_five_tries_are_free_then_the_wait_doubles_up_to_a_quarter_of_an_hour():
    gate, now, waits = Gate(), 0.0, []
    for _ in range(20):
        wait = gate.enter({"a": 5}, now)
        waits.append(wait)
        now += wait
        if wait:
            assert gate.enter({"a": 5}, now) == 0.0
    assert waits[:5] == [0.0] * 5
    assert waits[6:10] == [2.0, 4.0, 8.0, 16.0]
    assert waits[-1] == LONGEST_WAIT


def test_a_try_during_the_wait_is_not_counted():
    gate = Gate()
    gate.enter({"a": 0}, 0.0)
    assert [gate.enter({"a": 0}, 1.0) for _ in range(50)] == [1.0] * 50
    assert gate.enter({"a": 0}, 2.0) == 0.0


def test_success_clears_the_count():
    gate = Gate()
    for _ in range(6):
        gate.enter({"a": 5}, 0.0)
    gate.clear(["a"])
    assert gate.enter({"a": 5}, 0.0) == 0.0


def test_an_address_has_twenty_tries_over_all_accounts():
    gate = Gate()
    tries = [gate.enter(keys_for(f"name{n}", "192.168.1.9"), 0.0) for n in range(22)]
    assert tries[:21] == [0.0] * 21
    assert tries[21] == 2.0


def test_somebody_hammering_at_an_account_does_not_hold_up_its_owners_browser():
    gate = Gate()
    for _ in range(6):
        gate.enter(keys_for("keeper", "192.168.1.9"), 0.0)
    assert gate.enter(keys_for("keeper", "192.168.1.9"), 0.0) > 0
    assert gate.enter(keys_for("keeper", "192.168.1.9", known_browser="keeper|x"), 0.0) == 0.0


def test_capitals_and_ipv6_privacy_addresses_are_no_way_round():
    assert keys_for("Keeper", "2001:db8::1").keys() == keys_for("keeper", "2001:db8::ffff:2").keys()
    assert keys_for("keeper", "2001:db8::1").keys() != keys_for("keeper", "2001:db8:0:1::1").keys()


def test_old_failures_are_forgotten_after_a_day():
    gate = Gate()
    for _ in range(6):
        gate.enter({"a": 5}, 0.0)
    assert [gate.enter({"a": 5}, 90_000.0) for _ in range(5)] == [0.0] * 5


def test_a_flood_of_names_does_not_fill_the_memory():
    gate = Gate()
    for n in range(MOST_KEYS + 50):
        gate.enter({f"name{n}": 5}, 0.0)
    assert len(gate._counts) == MOST_KEYS


@given(st.lists(st.floats(0, 1000), max_size=40), st.integers(0, 6))
def test_no_wait_is_ever_longer_than_the_longest(steps, free):
    gate, now = Gate(), 0.0
    for step in steps:
        now += step
        assert 0.0 <= gate.enter({"a": free}, now) <= LONGEST_WAIT
