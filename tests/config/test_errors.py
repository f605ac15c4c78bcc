"""When something cannot be done, the answer is a sentence: in a page, or alone for a fragment."""

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client, RequestFactory

from config import errors

FRAGMENT = {"HX-Request": "true"}


def test_a_missing_page_says_so_and_leads_back(as_keeper):
    response = as_keeper.get("/no-such-page/")
    assert response.status_code == 404
    assert b"There is nothing at this address" in response.content
    assert b'href="/"' in response.content


def test_a_missing_fragment_says_so_in_one_sentence(as_keeper):
    response = as_keeper.get("/no-such-page/", headers=FRAGMENT)
    assert response.status_code == 404
    assert response.content.decode() == errors.SAYINGS[404]


def test_a_stale_form_says_to_load_the_page_again(keeper):
    client = Client(enforce_csrf_checks=True)
    response = client.post("/sign-in/", {"username": "keeper", "password": "x"})
    assert response.status_code == 403
    assert b"Load it again" in response.content


def test_a_refusal_repeats_the_views_own_reason(rf):
    response = errors.permission_denied(rf.get("/", headers=FRAGMENT), PermissionDenied("Not this one."))
    assert response.content == b"Not this one."


def test_a_refusal_without_a_reason_still_says_something(rf):
    response = errors.permission_denied(rf.get("/", headers=FRAGMENT), PermissionDenied())
    assert response.content.decode() == errors.SAYINGS[403]


def test_the_page_of_a_breakdown_needs_neither_database_nor_styles():
    response = errors.server_error(RequestFactory().get("/"))
    assert response.status_code == 500
    assert b"Something broke" in response.content


def test_if_even_that_page_breaks_a_sentence_is_left(monkeypatch, rf):
    monkeypatch.setattr(errors, "render", lambda *args, **kwargs: 1 / 0)
    response = errors.server_error(rf.get("/"))
    assert response.status_code == 500
    assert response.content.decode() == errors.SAYINGS[500]


@pytest.mark.django_db
def test_an_unreadable_request_gets_the_page_for_it(rf):
    request = rf.get("/", headers=FRAGMENT)
    assert errors.bad_request(request, ValueError()).content.decode() == errors.SAYINGS[400]


def test_a_tag_that_nothing_carries_says_what_to_check(as_keeper):
    said = as_keeper.get("/Q/ZZZZZZZZ").content.decode()
    assert "Nothing here carries this tag. Check the eight characters on the label." in said


def test_what_a_query_found_missing_is_not_told_in_its_words(as_keeper):
    said = as_keeper.get("/animals/999999/").content.decode()
    assert "There is nothing at this address" in said
    assert "matches the given query" not in said
