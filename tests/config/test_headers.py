"""What every answer says to the browser."""

import pytest
from django.test import Client


@pytest.fixture
def page(keeper):
    return Client().get("/sign-in/")


def test_the_policy_allows_nothing_inline_and_nothing_foreign(page):
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def test_addresses_with_codes_in_them_do_not_leave_the_house(page):
    assert page.headers["Referrer-Policy"] == "same-origin"
    assert page.headers["X-Content-Type-Options"] == "nosniff"
    assert page.headers["X-Frame-Options"] == "DENY"


def test_a_page_is_private_and_told_apart_from_its_fragment(page):
    assert page.headers["Cache-Control"] == "private, no-cache"
    assert "HX-Request" in page.headers["Vary"]


def test_a_fragment_is_never_kept(keeper):
    response = Client().get("/sign-in/", headers={"HX-Request": "true"})
    assert response.headers["Cache-Control"] == "no-store"


def test_the_refusal_of_a_foreign_host_carries_the_policy_too():
    response = Client(headers={"Host": "evil.example"}).get("/")
    assert "Content-Security-Policy" in response.headers
