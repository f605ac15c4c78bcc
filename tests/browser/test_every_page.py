"""Every page, in three lights and at every width: axe, no sideways scroll, nothing but red in red light."""

import pytest

from tests.browser import audit
from tests.browser.pages import MISTAKES, PAGES, STRANGERS

SMALL = {"width": 360, "height": 780}


def problems(page) -> list[str]:
    page.evaluate(audit.UNFOLD)
    found = audit.lit_otherwise(page)
    found += [f"360 px, {line}" for line in audit.accessibility(page)]
    found += audit.sideways(page)  # ends at 1280 px
    return found + [f"1280 px, {line}" for line in audit.accessibility(page)]


@pytest.mark.parametrize("name", PAGES)
def test_the_page_is_fit_for_everybody_in_every_light(open_page, name):
    page = open_page(PAGES[name], SMALL)
    assert page.locator("h1").count() == 1
    assert problems(page) == []


@pytest.mark.parametrize("name", STRANGERS)
def test_the_page_before_the_door_is_fit_too(open_page, name):
    page = open_page(STRANGERS[name], SMALL, storage_state=None)
    assert problems(page) == []


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_answered_by_a_page_that_is_fit_too(open_page, name):
    path, status = MISTAKES[name]
    page = open_page("/", SMALL)
    assert page.goto(page.url + path.lstrip("/")).status == status
    open_page.complaints.clear()  # the browser reports the status itself
    assert problems(page) == []


WRONG = """() => {
  document.querySelector("main").innerHTML = "<h1>Wrong</h1><p class='pale'>pale words</p><p class='broad'>x</p>";
  const style = new CSSStyleSheet();
  style.replaceSync(".pale { color: #999; } .broad { width: 1400px; background: #fff; }");
  document.adoptedStyleSheets = [style];
}"""


def test_the_audit_sees_what_is_wrong(open_page):
    page = open_page("/", SMALL)
    page.evaluate(WRONG)
    assert len(audit.lit_otherwise(page)) == 2
    assert any("color-contrast" in line for line in audit.accessibility(page))
    assert len(audit.sideways(page)) == len(audit.WIDTHS)
