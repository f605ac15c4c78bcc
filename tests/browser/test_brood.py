"""From two that meet to their young in other hands: the whole way by hand, the phone where it happens at the rack."""

import re

from playwright.sync_api import expect

from tests.browser.conftest import PHONE


def log(page, name: str, button: str) -> None:
    """One form of the page as it is offered, sent."""
    page.get_by_role("link", name=name, exact=True).click()
    page.get_by_role("button", name=button, exact=True).click()


def test_two_meet_from_her_page_in_four_taps(open_page):
    page = open_page("/find/?q=PS-001", PHONE)
    page.get_by_role("link", name="Pairing", exact=True).click()
    page.get_by_role("link", name="They meet now").click()
    expect(page.get_by_label(re.compile("PS-003: Ready"))).to_be_checked()
    page.get_by_role("button", name="To the stopwatch").click()
    expect(page.locator("[data-card]")).to_contain_text("Be ready to part them")
    expect(page.locator("[data-do=begin]")).to_be_visible()
    page.get_by_role("link", name="Note a way out").click()
    page.get_by_label("yes").first.check()
    page.get_by_role("button", name="Save").click()
    expect(page.locator("[data-card]")).to_contain_text("He has room to run")


def counted(page) -> None:
    """Fifteen eggs, of which two turn out to have been dead: the count is mended, and the books balance."""
    page.get_by_role("link", name="Count", exact=True).click()
    page.get_by_label("Stage").select_option("egg")
    page.get_by_label("Alive").fill("15")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("link", name="15 eggs").click()
    page.get_by_label("Alive").fill("13")
    page.get_by_label("Dead since the last count").fill("2")
    page.get_by_role("button", name="Save the correction").click()
    says(page, "15 at the opening count = 2 dead + 0 taken out + 13 here. It balances.")


def shared(page) -> None:
    """Half of them to the owner of the male, in two lots."""
    page.get_by_role("link", name="Agree a share").click()
    page.get_by_label("To", exact=True).select_option(index=1)
    page.get_by_role("button", name="Save", exact=True).click()
    log(page, "Take spiderlings out", "Take them out")
    says(page, "13 taken out under codes of their own: 13 singles")
    for number in ("4", ""):
        page.get_by_role("link", name="Deliver").click()
        if number:
            page.get_by_label("How many").fill(number)
        page.get_by_role("button", name="Delivered").click()
    says(page, "7 still here")


def says(page, words: str) -> None:
    expect(page.locator("main")).to_contain_text(words)


def test_a_sac_is_counted_mended_shared_and_handed_over_to_the_last_head(open_page):
    page = open_page("/find/?q=M-001", PHONE)
    page.get_by_role("link", name="Sac", exact=True).click()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", name=re.compile("Sac of"))).to_be_visible()
    log(page, "Taken from her", "Save")
    says(page, "taken 2")
    counted(page)
    shared(page)
    page.get_by_role("link", name="Pass some on").click()
    page.get_by_label("How many singles").fill("7")
    page.get_by_label("To", exact=True).select_option(index=2)
    page.get_by_role("button", name="Passed on").click()
    says(page, "0 still here")
    says(page, "15 at the opening count = 2 dead + 13 taken out + 0 here. It balances.")
