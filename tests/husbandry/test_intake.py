"""What may come in as a reading, and what is refused with its reason."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from husbandry import intake
from husbandry.intake import Held, Incoming, Reason, Refused, read_message, read_topic, sift

NOW = 1_796_400_000  # 2026-12-04


def reading(**values):
    return read_message({"sensor": "rack-a", **values}, NOW)


def refused(**values):
    with pytest.raises(Refused) as caught:
        reading(**values)
    assert str(caught.value)
    return caught.value.reason


def test_temperature_and_humidity_in_one_message():
    assert reading(at=NOW - 60, temperature=24.53, humidity=61.2) == Incoming("rack-a", NOW - 60, 2453, 6120)


def test_a_value_says_its_unit():
    assert reading(value=76.1, unit="F").celsius == 2450
    assert reading(value="61.2", unit="%").humidity == 6120
    assert reading(value=24.5, unit="°C") == Incoming("rack-a", NOW, 2450, None, timed=False)


def test_an_instant_comes_in_seconds_milliseconds_or_with_its_zone():
    assert reading(at=(NOW - 60) * 1000, temperature=20).at == NOW - 60
    assert reading(at="2026-12-01T10:00:00+01:00", temperature=20).at == 1_796_115_600
    assert reading(at="2026-12-01T09:00:00Z", temperature=20).at == 1_796_115_600


IMPOSSIBLE = {
    "RH 140": ({"humidity": 140}, Reason.HUMIDITY),
    "RH below 0": ({"humidity": -1}, Reason.HUMIDITY),
    "−80 °C": ({"temperature": -80}, Reason.TEMPERATURE),
    "the reset value of a common sensor": ({"temperature": 85.1}, Reason.TEMPERATURE),
    "no number": ({"temperature": "nan"}, Reason.TEMPERATURE),
    "infinite": ({"humidity": float("inf")}, Reason.HUMIDITY),
    "a truth": ({"temperature": True}, Reason.TEMPERATURE),
    "a list": ({"humidity": [60]}, Reason.HUMIDITY),
    "1970": ({"temperature": 20, "at": 60}, Reason.PAST),
    "a clock that was never set": ({"temperature": 20, "at": "2000-01-01T00:10:00Z"}, Reason.PAST),
    "the future": ({"temperature": 20, "at": NOW + 601}, Reason.FUTURE),
    "no zone": ({"temperature": 20, "at": "2026-12-01T10:00:00"}, Reason.ZONE),
    "no time": ({"temperature": 20, "at": "yesterday"}, Reason.SHAPE),
    "a time that is none": ({"temperature": 20, "at": {}}, Reason.SHAPE),
    "nothing measured": ({}, Reason.SHAPE),
    "no unit": ({"value": 20}, Reason.SHAPE),
    "nameless": ({"sensor": " ", "temperature": 20}, Reason.SENSOR),
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_the_impossible_is_refused_with_its_reason(name):
    values, reason = IMPOSSIBLE[name]
    assert refused(**values) is reason


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)
names = st.sampled_from(["sensor", "at", "temperature", "humidity", "value", "unit"])


@given(json_values | st.dictionaries(names, json_values))
def test_whatever_comes_is_a_sound_reading_or_a_refusal(message):
    try:
        found = read_message(message, NOW)
    except Refused:
        return
    assert intake.EARLIEST <= found.at <= NOW + intake.AHEAD
    assert found.celsius is None or -4000 <= found.celsius <= 8500
    assert found.humidity is None or 0 <= found.humidity <= 10000


TOPICS = {
    "rack/a/temperature": (b"24.5", (2450, None)),
    "rack/a/humidity": (b'{"v": 61, "at": 1796399000}', (None, 6100)),
    "rack/a": (b'{"temperature": 24.5, "humidity": 61}', (2450, 6100)),
}


@pytest.mark.parametrize("topic", TOPICS)
def test_a_broker_sends_numbers_or_json(topic):
    payload, (celsius, humidity) = TOPICS[topic]
    found = read_topic(topic, payload, NOW)
    assert (found.sensor, found.celsius, found.humidity) == ("a", celsius, humidity)


@pytest.mark.parametrize("topic", ["rack", "rack//temperature", "a/b/c/d"])
def test_a_topic_that_names_no_sensor_is_refused(topic):
    with pytest.raises(Refused, match="Topics are"):
        read_topic(topic, b"1", NOW)


@given(st.binary(max_size=40))
def test_whatever_a_broker_sends_is_sound_or_refused(payload):
    try:
        found = read_topic("rack/a/temperature", payload, NOW)
    except Refused:
        return
    assert found.sensor == "a"


def row(at, celsius=None, humidity=None):
    return Incoming("a", at, celsius, humidity)


def test_the_same_again_is_harmless():
    sifted = sift({100: Held(2000, 6000)}, [row(100, 2000, 6000), row(100, 2000)])
    assert (sifted.repeated, sifted.refused, sifted.held) == (2, [], {100: Held(2000, 6000)})


def test_what_comes_apart_joins_into_one():
    sifted = sift({}, [row(100, 2000), row(103, None, 6000)])
    assert sifted.held == {100: Held(2000, 6000, new=True)}
    later = sift({100: Held(2000, None)}, [row(104, None, 6000)])
    assert later.held == {100: Held(2000, 6000, filled=True)}


def test_another_value_for_the_same_instant_does_not_replace_the_first():
    sifted = sift({100: Held(2000, None)}, [row(100, 2100)])
    assert [reason for _, reason, _ in sifted.refused] == [Reason.DIFFERS]
    assert sifted.held[100].celsius == 2000


def test_a_flood_is_thinned_and_counted():
    sifted = sift({}, [row(second, 2000 + second) for second in range(10_000)])
    assert len(sifted.held) == 1000
    assert {reason for _, reason, _ in sifted.refused} == {Reason.FLOOD}
    assert len(sifted.held) + len(sifted.refused) == 10_000


arrivals = st.lists(
    st.builds(row, st.integers(0, 200), st.none() | st.integers(1900, 1903), st.none() | st.integers(5000, 5003)),
    max_size=25,
).map(lambda rows: [one for one in rows if one.celsius is not None or one.humidity is not None])


@given(arrivals)
def test_nothing_appears_or_vanishes_between_what_came_and_what_is_held(rows):
    sifted = sift({}, rows)
    kept = len(rows) - sifted.repeated - len(sifted.refused)
    assert len(sifted.held) <= kept <= 2 * len(sifted.held)
    instants = sorted(sifted.held)
    assert all(b - a >= intake.SPACING for a, b in pairwise(instants))
    again = sift({at: Held(h.celsius, h.humidity) for at, h in sifted.held.items()}, rows)
    assert {at: (h.celsius, h.humidity) for at, h in again.held.items()} == {
        at: (h.celsius, h.humidity) for at, h in sifted.held.items()
    }
