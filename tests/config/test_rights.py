"""Every address of the program, as nobody, as a helper, as the keeper."""

import re

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver

from collection.rights import is_for_helpers

OPEN_TO_ALL = {"/setup/", "/sign-in/", "/invited/x/", "/walk-worker.js", "/calendar/x.ics"}
# Never led to a page, which a phone's outbox or a sensor could take for a success: they get a 401.
FOR_SCRIPTS = {"/walks/1/taps/", "/breeding/pairings/1/taps/", "/api/readings"}
KEEPERS_ALONE = re.compile(
    r"/(edit|delete|new|import|calibrate|tokens|export|people|invite|withdraw|backups|contacts|arrivals|rhythm|departure)\b"
)


def walk(resolver=None, prefix="/"):
    """Each address with 1 for every number and x for every word, and its view."""
    for entry in (resolver or get_resolver()).url_patterns:
        route = prefix + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield re.sub(r"<(\w+:)?\w+>", lambda match: "1" if match[1] == "int:" else "x", route), entry.callback
        else:
            yield from walk(entry, route)


ADDRESSES = sorted(dict(walk()).items())


def test_the_walk_reaches_the_whole_program():
    assert len(ADDRESSES) > 40
    assert {"/", "/sign-in/", "/settings/people/"} <= dict(ADDRESSES).keys()


@pytest.mark.parametrize("method", ["get", "post"])
def test_nobody_gets_anywhere_without_signing_in(keeper, method):
    client = Client()
    shut = [address for address, _ in ADDRESSES if address not in OPEN_TO_ALL | FOR_SCRIPTS]
    answers = {address: getattr(client, method)(address) for address in shut}
    led_to = {address: answer.headers.get("Location", answer.status_code) for address, answer in answers.items()}
    assert {address for address, place in led_to.items() if not str(place).startswith("/sign-in/?next=/")} == set()


def test_only_the_listed_addresses_are_open_to_all():
    unguarded = {address for address, view in ADDRESSES if not getattr(view, "login_required", True)}
    assert unguarded == OPEN_TO_ALL | FOR_SCRIPTS


@pytest.mark.parametrize("address", sorted(FOR_SCRIPTS))
def test_a_script_that_is_not_signed_in_is_told_so_in_its_own_language(keeper, address):
    answer = Client().post(address, {}, content_type="application/json")
    assert answer.status_code == 401
    assert "error" in answer.json()


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_helper_gets_only_where_helpers_may(as_helper, method):
    shut = [address for address, view in ADDRESSES if not is_for_helpers(view)]
    shut = [address for address in shut if address not in OPEN_TO_ALL | FOR_SCRIPTS]
    answers = {address: getattr(as_helper, method)(address).status_code for address in shut}
    assert {address: status for address, status in answers.items() if status != 403} == {}


def test_a_helper_gets_wherever_helpers_may(as_helper):
    answers = {address: as_helper.get(address).status_code for address, view in ADDRESSES if is_for_helpers(view)}
    assert {address: status for address, status in answers.items() if status in {302, 403, 500}} == {}


def test_the_keeper_gets_everywhere(as_keeper):
    answers = {address: as_keeper.get(address).status_code for address, _ in ADDRESSES}
    assert {address: status for address, status in answers.items() if status in {403, 500}} == {}


def test_nothing_that_changes_or_hands_out_is_marked_for_helpers():
    assert [address for address, view in ADDRESSES if is_for_helpers(view) and KEEPERS_ALONE.search(address)] == []


def test_the_refusal_tells_a_helper_whose_it_is(as_helper):
    assert "This is the keeper’s to do" in as_helper.get("/settings/people/").content.decode()
