"""Everything by keyboard: skip to the page, find, feed; and the place where one is can always be seen."""

from playwright.sync_api import expect

from tests.browser.conftest import PHONE

FOCUS = "document.activeElement"
SEEN = """() => {
  const {left, top, width, height} = document.activeElement.getBoundingClientRect();
  const hit = document.elementFromPoint(left + width / 2, top + height / 2);
  return !!hit && (document.activeElement.contains(hit) || hit.contains(document.activeElement));
}"""
NAME = "document.activeElement.textContent.trim().replace(/\\s+/g, ' ')"


def tab_to(page, text: str, most: int = 60) -> None:
    """Press Tab until what has the focus begins with the text."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate(NAME).startswith(text):
            return
    raise AssertionError(f"{text} was not reached")


def test_from_the_first_tab_to_a_meal_and_back(open_page):
    page = open_page("/")
    page.keyboard.press("Tab")
    assert page.evaluate(NAME) == "Skip to the page"
    expect(page.locator(".skip")).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()
    tab_to(page, "Taken")
    row = page.evaluate(f"{FOCUS}.closest('li').id")
    page.keyboard.press("Enter")
    undo = page.locator(f"#{row}").get_by_role("button", name="Undo")
    expect(undo).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#messages")).to_contain_text("Taken back")


def test_the_find_box_is_reached_before_the_page(open_page):
    page = open_page("/")
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate(f"{FOCUS}.id") == "find":
            break
    page.keyboard.type("b-001")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Brachypelma hamorii")


def test_nothing_that_has_the_focus_is_covered_on_a_phone(open_page):
    page = open_page("/", PHONE)
    for stop in range(40):
        page.keyboard.press("Tab")
        assert page.evaluate(SEEN), f"stop {stop}: {page.evaluate(NAME)}"
