"""The day's list: a row is done where it stands, with scripts and without, and can be taken back."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PHONE


def due_row(page, number: int = 0):
    """A row that asks for a feed, found again by its own name whatever becomes of it."""
    row = page.locator("li.need", has=page.get_by_role("button", name="Taken")).nth(number)
    return page.locator(f"#{row.get_attribute('id')}")


def meals(page, house, row) -> int:
    """How many meals its animal's page counts in a year."""
    answer = page.request.get(house.url + row.locator(".name a").get_attribute("href")).text()
    return int(re.search(r"In a year (\d+) meal", answer)[1])


def test_a_row_turns_into_done_and_the_keyboard_goes_on_at_its_undo(open_page, house):
    page = open_page("/", PHONE)
    row = due_row(page)
    before = meals(page, house, row)
    row.get_by_role("button", name="Taken").click()
    undo = row.get_by_role("button", name="Undo")
    expect(undo).to_be_focused()
    expect(row).to_contain_text("saved")
    assert page.locator("h1").count() == 1  # the row alone was exchanged
    assert meals(page, house, row) == before + 1
    undo.click()
    expect(page.locator("#messages")).to_contain_text("Taken back")
    expect(row.get_by_role("button", name="Taken")).to_be_visible()
    assert meals(page, house, row) == before


def test_the_same_goes_without_scripts(open_page):
    page = open_page("/", PHONE, java_script_enabled=False)
    row = due_row(page)
    row.get_by_role("button", name="Refused").click()
    message = page.locator("#messages")
    expect(message).to_contain_text("Saved.")
    expect(page.locator("h1")).to_be_visible()
    message.get_by_role("button", name="Undo").click()
    expect(message).to_contain_text("Taken back")


@pytest.mark.parametrize("scripts", [True, False])
def test_two_clicks_are_one_meal(open_page, house, scripts):
    page, reader = open_page("/", java_script_enabled=scripts), open_page("/")
    row = due_row(page)
    still = reader.locator(f"#{row.get_attribute('id')}")
    before = meals(reader, house, still)
    row.get_by_role("button", name="Taken").dblclick()
    undo = (row if scripts else page.locator("#messages")).get_by_role("button", name="Undo")
    expect(undo).to_be_visible()
    assert meals(reader, house, still) == before + 1
    undo.click()
    expect(page.locator("#messages")).to_contain_text("Taken back")


def test_a_server_that_is_gone_is_said_and_stays_said(open_page, house):
    page = open_page("/", PHONE)
    row = due_row(page, -1)
    before = meals(page, house, row)
    page.context.set_offline(True)
    row.get_by_role("button", name="Taken").click()
    bar = page.locator("#messages .bar")
    expect(bar).to_contain_text("Not saved: the server did not answer.")
    expect(row.get_by_role("button", name="Taken")).to_be_enabled()
    page.wait_for_timeout(1500)
    expect(bar).to_be_in_viewport()
    page.context.set_offline(False)
    open_page.complaints.clear()  # the lost connection
    bar.get_by_role("button", name="Load the page again").click()
    expect(bar).to_have_count(0)
    assert meals(page, house, row) == before


def test_an_ended_session_leads_to_the_door_and_back(open_page):
    page = open_page("/?show=over", PHONE)
    row = due_row(page)
    page.context.clear_cookies(name="scopula_session")
    row.get_by_role("button", name="Taken").click()
    expect(page.get_by_role("heading", name="Sign in", level=1)).to_be_visible()
    assert "next=" in page.url
