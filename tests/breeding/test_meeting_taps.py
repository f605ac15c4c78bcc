"""A meeting logged on the phone: its taps arrive once, in any order, and make one meeting that can be taken back."""

import json
import uuid
from datetime import UTC, datetime, time, timedelta

import pytest
import time_machine
from django.utils import timezone

from breeding import services, sittings
from breeding.models import Meeting, MeetingTap, Pairing
from collection import receipts
from collection.models import Receipt
from husbandry.models import Posting, Reading, Sensor
from tests import factories as make

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 12, 4, 20, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _still():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def pair():
    female = make.female(code="F-1")
    make.housed(female, "E-1")
    return services.record_pairing(Pairing(female=female, male=make.male(code="M-1", taxon=female.taxon)))


def tapped(pair, *kinds, sitting=None, begins=30, **last):
    """Taps a minute apart; the last gets what is given."""
    sitting, since = sitting or str(uuid.uuid4()), timezone.now() - timedelta(minutes=60)
    raws = [
        {
            "key": str(uuid.uuid4()),
            "kind": kind,
            "sitting": sitting,
            "pair": sittings.pair_of(pair),
            "since": since.isoformat(),
            "at": (timezone.now() - timedelta(minutes=begins - n)).isoformat(),
        }
        for n, kind in enumerate(kinds)
    ]
    raws[-1].update(last)
    return raws


def whole(pair, *kinds, ending="peace"):
    return tapped(pair, "begin", *kinds, "end", ending=ending)


def undo_of(pair, raw, begins=1):
    return tapped(pair, "undo", sitting=raw["sitting"], undoes=raw["key"], begins=begins)[0]


def take(pair, raws, keeper):
    return sittings.take_in(pair, raws, timezone.now().isoformat(), keeper)


def test_the_end_writes_the_meeting(pair, keeper):
    raws = whole(pair, "drum_him", "left", "right", "left")
    assert take(pair, raws[:-1], keeper).refused == {}
    assert not Meeting.objects.exists()
    take(pair, raws[-1:], keeper)
    meeting = Meeting.objects.get()
    assert (meeting.insertions_left, meeting.insertions_right, meeting.drumming, meeting.ending) == (
        2,
        1,
        True,
        "peace",
    )
    local = timezone.localtime(NOW - timedelta(minutes=30))
    assert (meeting.earliest, meeting.begins_at) == (local.date(), local.time())
    assert meeting.ends_at == (local + timedelta(minutes=5)).time()


def test_a_parcel_that_comes_twice_counts_once(pair, keeper):
    raws = whole(pair, "left")
    first, second = take(pair, raws, keeper), take(pair, raws, keeper)
    assert first.saved == second.saved == [raw["key"] for raw in raws]
    assert (MeetingTap.objects.count(), Meeting.objects.count(), Meeting.history.count()) == (3, 1, 1)


def test_any_order_makes_the_same_meeting(pair, keeper):
    raws = whole(pair, "left", "right")
    take(pair, list(reversed(raws)), keeper)
    meeting = Meeting.objects.get()
    assert (meeting.insertions_left, meeting.insertions_right) == (1, 1)
    assert meeting.begins_at == timezone.localtime(NOW - timedelta(minutes=30)).time()


@pytest.mark.parametrize("overtakes", [False, True])
def test_an_undone_tap_does_not_count_even_where_the_undo_comes_first(pair, keeper, overtakes):
    raws = whole(pair, "left", "left")
    undo = undo_of(pair, raws[1])
    take(pair, [undo, *raws] if overtakes else [*raws, undo], keeper)
    assert Meeting.objects.get().insertions_left == 1


def test_an_end_undone_takes_the_meeting_away_and_the_log_goes_on(pair, keeper):
    raws = whole(pair, "left")
    take(pair, [*raws, undo_of(pair, raws[-1])], keeper)
    assert not Meeting.objects.exists()
    assert [tap.kind for tap in sittings.running(pair)] == ["begin", "left"]
    again = tapped(pair, "end", sitting=raws[0]["sitting"], begins=0, ending="attack")
    take(pair, again, keeper)
    assert Meeting.objects.get().ending == "attack"


def test_an_undo_is_not_undone(pair, keeper):
    raws = whole(pair, "left")
    undo = undo_of(pair, raws[1])
    answer = take(pair, [*raws, undo, undo_of(pair, undo)], keeper)
    assert list(answer.refused.values()) == ["An undo is not undone; tap again what was seen."]


def test_two_meetings_of_one_pairing_stand_side_by_side(pair, keeper):
    take(pair, whole(pair, "left"), keeper)
    take(pair, whole(pair, "right"), keeper)
    assert sorted(m.insertions_left for m in pair.meetings.all()) == [0, 1]


def test_a_receipt_takes_the_meeting_back_and_what_comes_late_does_not_bring_it_again(pair, keeper):
    raws = whole(pair, "left")
    take(pair, raws, keeper)
    receipts.undo(Receipt.objects.get(key=uuid.UUID(raws[-1]["key"]).hex))
    assert not Meeting.objects.exists()
    late = tapped(pair, "right", sitting=raws[0]["sitting"], begins=29)
    assert take(pair, late, keeper).saved == [late[0]["key"]]
    assert not Meeting.objects.exists()


def test_a_meeting_mended_by_hand_is_not_written_over(pair, keeper):
    raws = whole(pair, "left")
    take(pair, raws, keeper)
    meeting = Meeting.objects.get()
    meeting.insertions_left = 5
    services.record_meeting(meeting)
    answer = take(pair, tapped(pair, "left", sitting=raws[0]["sitting"]), keeper)
    assert list(answer.refused.values()) == ["This meeting was corrected on its own page since; mend it there."]
    assert Meeting.objects.get().insertions_left == 5


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"kind": "danced"}, "This kind of tap is not known here. Load the page anew."),
        ({"kind": "end"}, "Say how the meeting ended."),
        ({"kind": "left", "ending": "peace"}, "Say how the meeting ended."),
        ({"pair": "9x9"}, "This pairing is not on record here. Load the page anew."),
        ({"sitting": "x"}, "It is not said which meeting this belongs to."),
        ({"kind": "undo"}, "It is not said which tap to undo."),
        ({"at": None}, "The tap has no proper time."),
        ({"key": "17"}, "The tap has no proper key."),
    ],
)
def test_what_is_no_proper_tap_is_refused(pair, keeper, wrong, sentence):
    answer = take(pair, [tapped(pair, "left")[0] | wrong], keeper)
    assert list(answer.refused.values()) == [sentence]
    assert not MeetingTap.objects.exists()


def test_the_climate_of_the_moment_is_kept_where_a_sensor_knows_it(pair, keeper):
    sensor = Sensor.objects.create(name="Shelf", key="shelf")
    box = pair.female.stays.get().enclosure
    Posting.objects.create(sensor=sensor, enclosure=box, since=NOW - timedelta(days=9))
    at = int((NOW - timedelta(minutes=31)).timestamp())
    Reading.objects.create(sensor=sensor, at=at, celsius=2460, humidity=6800)
    take(pair, whole(pair, "left"), keeper)
    meeting = Meeting.objects.get()
    assert (meeting.celsius, meeting.climate) == (24.6, "24.6 °C, 68 %")


def test_a_meeting_that_nobody_ended_is_not_gone_on_with_the_day_after(pair, keeper):
    take(pair, tapped(pair, "begin", "left"), keeper)
    assert len(sittings.running(pair)) == 2
    with time_machine.travel(NOW + timedelta(hours=25), tick=False):
        assert sittings.running(pair) == []


def test_the_door_takes_a_parcel_of_the_keeper_and_of_nobody_else(pair, keeper_client, helper_client):
    url, body = f"/breeding/pairings/{pair.pk}/taps/", {"taps": whole(pair), "sent_at": timezone.now().isoformat()}
    sent = {"content_type": "application/json", "headers": {"Origin": "http://testserver"}}
    assert helper_client.post(url, json.dumps(body), **sent).status_code == 404
    answer = keeper_client.post(url, json.dumps(body), **sent)
    assert (answer.status_code, len(answer.json()["saved"])) == (200, 2)
    assert Meeting.objects.get().begins_at > time(0)


def test_only_the_end_says_how_it_ended(pair, keeper):
    raws = tapped(pair, "begin", ending="\ud800")
    assert take(pair, raws, keeper).refused == {}
    assert MeetingTap.objects.get().ending == ""
