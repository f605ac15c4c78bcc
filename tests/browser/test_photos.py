"""Pictures from a phone: shrunk in the page, each with its day, kept; the refused ones named beside them."""

from playwright.sync_api import expect

from tests import pictures
from tests.browser.conftest import PHONE


def file(name, content, kind="image/jpeg"):
    return {"name": name, "mimeType": kind, "buffer": content}


def test_pictures_are_shrunk_in_the_page_and_a_refused_one_is_named(open_page):
    page = open_page("/animals/7/", PHONE, has_touch=True)
    page.get_by_role("link", name="Picture", exact=True).click()
    form = page.locator("#photo-form")
    sent = [file("large.jpg", pictures.jpeg(5000, 3000)), file("liar.jpg", b"<html>moss</html>")]
    form.get_by_label("Pictures").set_input_files(sent)
    expect(form.locator(".progress")).to_contain_text("2 pictures ready")
    days = form.get_by_label("Day")
    expect(days.first).to_have_value("2026-03-04")
    assert page.evaluate("document.querySelector('[name=pictures]').files[0].size") < 400_000
    form.get_by_label("Words under it").first.fill("on cork bark")
    form.get_by_role("button", name="Keep them").click()
    arrived = page.locator(".arrived")
    expect(arrived).to_contain_text("Kept. large.jpg: 2026-03-04")
    expect(arrived).to_contain_text("Not kept. liar.jpg: This is a web page.")
    page.get_by_role("link", name="To its pictures").click()
    expect(page.locator(".tiles")).to_contain_text("on cork bark")


def test_without_scripts_the_server_takes_them_as_they_are(open_page):
    page = open_page("/animals/8/photo/", PHONE, java_script_enabled=False)
    page.get_by_label("Pictures").set_input_files(file("IMG.jpg", pictures.jpeg(2600, 1300)))
    page.get_by_role("button", name="Keep them").click()
    expect(page.locator(".tiles time")).to_have_text("2026-03-04")
