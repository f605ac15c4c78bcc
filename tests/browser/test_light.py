"""Day, night and red light: chosen once, remembered on this device."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PHONE

GROUND = "getComputedStyle(document.documentElement).backgroundColor"


def test_the_light_is_remembered(open_page):
    page = open_page("/", PHONE)
    page.get_by_role("button", name="Red").click()
    expect(page.locator("html")).to_have_attribute("data-light", "red")
    page.goto(page.url + "animals/")
    expect(page.locator("html")).to_have_attribute("data-light", "red")
    expect(page.get_by_role("button", name="Red")).to_have_attribute("aria-pressed", "true")
    assert page.evaluate(GROUND) == "rgb(0, 0, 0)"
    assert page.locator("meta[name=theme-color]").get_attribute("content") == "#000000"
    page.get_by_role("button", name="Day").click()
    assert page.evaluate(GROUND) == "rgb(242, 236, 224)"


@pytest.mark.parametrize("scripts", [True, False])
def test_without_a_choice_the_system_decides(open_page, scripts):
    page = open_page("/sign-in/", PHONE, color_scheme="dark", java_script_enabled=scripts)
    lights = page.get_by_role("group", name="Light")
    expect(lights).to_be_visible() if scripts else expect(lights).to_be_hidden()
    if scripts:
        assert page.evaluate(GROUND) == "rgb(21, 17, 12)"


def test_a_date_field_opens_no_white_calendar_in_red_light(open_page):
    page = open_page("/animals/1/molt/", PHONE)
    day = page.get_by_label("Day")
    value = day.input_value()
    page.get_by_role("button", name="Red").click()
    day.click()
    expect(day).to_have_attribute("type", "text")
    expect(day).to_have_value(value)
    page.get_by_role("button", name="Day").click()
    expect(day).to_have_attribute("type", "date")
    expect(day).to_have_value(value)
