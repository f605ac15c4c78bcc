"""The door for taps: who may hand a parcel in, from where, in what form; and that nothing but JSON ever comes back."""

import pytest
import time_machine
from django.test import Client
from django.utils import timezone

from husbandry.models import Feeding, Tap, Walk
from tests import factories as make
from tests.husbandry.walking import post, stored, tap, walk_past

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _still():
    with time_machine.travel(make.NOW, tick=False):
        yield


@pytest.fixture
def animal():
    return make.SpecimenFactory()


@pytest.fixture
def walk(animal, keeper) -> Walk:
    return walk_past(animal, by=keeper)


def refused(answer, status: int, sentence: str) -> None:
    """No tap was taken, no page was sent, nobody was led anywhere."""
    assert (answer.status_code, answer.headers["Content-Type"]) == (status, "application/json")
    assert answer.json() == {"error": sentence}
    assert not Tap.objects.exists()


def test_the_answer_repeats_the_keys_and_tells_the_time(keeper_client, walk, animal):
    good, bad = tap("taken", animal), tap("taken", None)
    answer = post(keeper_client, walk, good, bad)
    assert answer.status_code == 200
    assert answer.json() == {
        "saved": [good["key"]],
        "refused": {bad["key"]: "This animal is not on record here."},
        "now": int(timezone.now().timestamp() * 1000),
    }
    assert "scopula_csrf" not in answer.cookies


def test_history_says_who_tapped(helper_client, helper, animal):
    raw = tap("taken", animal)
    post(helper_client, walk_past(make.SpecimenFactory(), by=helper), raw)
    assert stored(raw).feeding.history.get().history_user == helper


def test_somebody_signed_out_gets_401_and_no_sign_in_page(walk, animal):
    refused(post(Client(), walk, tap("taken", animal)), 401, "Sign in again; nothing is lost.")


NOT_YOURS = "This walk is not yours, or is not on record here. Sign in as the one who walked it."


def test_a_helper_cannot_post_to_another_persons_walk(helper_client, walk, animal):
    refused(post(helper_client, walk, tap("taken", animal)), 404, NOT_YOURS)


def test_a_walk_that_does_not_exist_answers_like_another_persons(keeper_client, walk, animal):
    walk.pk = 999
    refused(post(keeper_client, walk, tap("taken", animal)), 404, NOT_YOURS)


def test_a_walk_that_began_at_another_time_is_another_walk_under_the_same_number(keeper_client, walk, animal):
    parcel = {"taps": [tap("taken", animal)], "began": "2026-11-01T10:00:00+00:00"}
    refused(post(keeper_client, walk, body=parcel), 404, NOT_YOURS)
    parcel["began"] = walk.started_at.isoformat()
    assert post(keeper_client, walk, body=parcel).json()["saved"]


def test_the_keeper_can_hand_in_what_a_helper_left_on_the_phone(keeper_client, helper, animal):
    assert post(keeper_client, walk_past(animal, by=helper), tap("water", animal)).json()["saved"]


@pytest.mark.parametrize(
    "origin",
    [
        "http://elsewhere.test",
        "http://testserver:8001",
        "https://testserver",
        "null",
        "",
        "http://testserver.evil.test",
    ],
)
def test_a_parcel_from_another_page_is_turned_away(keeper_client, walk, animal, origin):
    answer = post(keeper_client, walk, tap("taken", animal), Origin=origin)
    refused(answer, 403, "Taps are taken from the page of the walk alone.")


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"])
def test_what_a_form_elsewhere_could_send_is_turned_away(keeper_client, walk, kind):
    headers = {"Origin": "http://testserver"}
    answer = keeper_client.post(f"/walks/{walk.pk}/taps/", '{"taps": []}', content_type=kind, headers=headers)
    refused(answer, 403, "Taps are taken from the page of the walk alone.")


def test_no_token_is_asked_for_because_the_origin_is(walk, animal, keeper):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(keeper)
    raw = tap("taken", animal)
    refused(
        post(strict, walk, raw, Origin="http://elsewhere.test"), 403, "Taps are taken from the page of the walk alone."
    )
    assert post(strict, walk, raw).json()["saved"] == [raw["key"]]


@pytest.mark.parametrize(
    "body",
    [" ", "{", "[]", "17", "null", "[[[]]]", '{"tap": []}', "[" * 20_000, '"taps"', '{"taps": {}}', '{"taps": null}'],
)
def test_what_is_no_parcel_is_refused(keeper_client, walk, body):
    answer = post(keeper_client, walk, body=body)
    assert answer.status_code == 400
    assert set(answer.json()) == {"error"}


def test_a_parcel_holds_two_hundred_taps_and_no_more(keeper_client, walk):
    many = [tap("note") for _ in range(201)]
    refused(post(keeper_client, walk, *many), 400, "A parcel holds at most 200 taps.")
    assert len(post(keeper_client, walk, *many[:200]).json()["refused"]) == 200


@pytest.mark.parametrize("method", ["get", "put", "delete", "options"])
def test_the_door_knows_posts_alone(keeper_client, walk, method):
    assert getattr(keeper_client, method)(f"/walks/{walk.pk}/taps/").status_code == 405


def empty_since(client, walk, **parcel):
    """When the phone last said that nothing waits on it, after this parcel."""
    post(client, walk, body={"taps": [], "sent_at": None, **parcel})
    walk.refresh_from_db()
    return walk.phone_empty_at


def test_the_phone_is_empty_once_it_says_so_and_all_it_sent_was_saved(keeper_client, walk, animal):
    assert empty_since(keeper_client, walk, taps=[tap("water", animal)], waiting=2) is None
    assert empty_since(keeper_client, walk, taps=[tap("water", None)], waiting=0) is None
    assert empty_since(keeper_client, walk, taps=[tap("water", animal)]) is None
    assert empty_since(keeper_client, walk, taps=[tap("water", animal)], waiting=0) == timezone.now()


def test_a_parcel_sent_again_writes_nothing_again(keeper_client, walk, animal):
    raw = [tap("taken", animal), tap("water", animal)]
    answers = [post(keeper_client, walk, *raw).json()["saved"] for _ in range(3)]
    assert answers == [[one["key"] for one in raw]] * 3
    assert (Tap.objects.count(), Feeding.objects.count()) == (2, 1)
