"""Logging on a phone, on the animal's own page: few taps, in place, and nothing typed is lost."""

from playwright.sync_api import expect

from tests.browser.conftest import PHONE

ANIMAL = "/find/?q=S-010"  # a spiderling of the tray


def test_a_molt_is_logged_with_three_taps(open_page):
    page = open_page(ANIMAL, PHONE)
    before = page.locator("#molts tbody tr").count()
    page.get_by_role("link", name="Molt", exact=True).click()
    expect(page.locator("#log")).to_be_focused()
    form = page.locator("#log form")
    today = form.get_by_label("Day").input_value()
    form.get_by_text("kept", exact=True).click()
    form.get_by_role("button", name="Molted").click()
    expect(page.locator("#messages")).to_contain_text("Saved.")
    row = page.locator("#molts tbody tr").first
    expect(row).to_contain_text(today)
    expect(row).to_contain_text("kept")
    page.locator("#messages").get_by_role("button", name="Undo").click()
    expect(page.locator("#molts tbody tr")).to_have_count(before)


def test_a_refused_form_says_why_and_keeps_what_was_typed(open_page):
    page = open_page(ANIMAL, PHONE)
    page.get_by_role("link", name="Molt", exact=True).click()
    form = page.locator("#log form")
    form.get_by_label("Day").fill("2999-01-01")
    form.get_by_text("More, if you know it").click()
    form.get_by_label("Condition of the animal").fill("one leg short")
    with page.expect_response(lambda answer: answer.status == 422):
        form.get_by_role("button", name="Molted").click()
    expect(form).to_contain_text("This day lies in the future.")
    expect(form.get_by_label("Day")).to_be_focused()
    form.get_by_text("More, if you know it").click()
    expect(form.get_by_label("Condition of the animal")).to_have_value("one leg short")
    expect(page.locator("h1")).to_have_count(1)
    open_page.complaints.clear()  # the refusal's status


def test_the_form_is_a_page_of_its_own_without_scripts(open_page):
    page = open_page(ANIMAL, PHONE, java_script_enabled=False)
    page.get_by_role("link", name="Molt", exact=True).click()
    expect(page.get_by_role("heading", name="Log a molt", level=1)).to_be_visible()
    page.get_by_label("Day").fill("2999-01-01")
    page.get_by_role("button", name="Molted").click()
    expect(page.get_by_text("This day lies in the future.")).to_be_visible()
    expect(page.get_by_label("Day")).to_have_value("2999-01-01")
    open_page.complaints.clear()  # the refusal's status
