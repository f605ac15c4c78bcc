"""A sensor from its token to its alarms: what it sends over the network, and what the pages say of it."""

import json
import time
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PHONE

NAME, MINUTE = "Journey’s shelf", 60


@pytest.fixture
def sensor(open_page):
    """The page on which a sensor was added: in a box, patient for ten minutes, missed after half an hour."""
    page = open_page("/racks/climate/new/")
    page.get_by_label("Name", exact=True).fill(NAME)
    page.get_by_label("or in the enclosure").fill("E-B-001")
    page.locator("form.entry details").evaluate_all("all => all.forEach((one) => (one.open = true))")
    page.locator("[name=key]").fill("journey")
    for name, value in {"patience_minutes": 10, "overdue_minutes": 30, "celsius_min": 22, "celsius_max": 28}.items():
        page.locator(f"[name={name}]").fill(str(value))
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(NAME)
    return page


@pytest.fixture
def send(open_page, house):
    """Send readings of so many minutes ago with a token that the page shows once."""
    page = open_page("/racks/climate/tokens/")
    page.get_by_label("name of the device").fill("Journey’s hub")
    page.get_by_role("button", name="Draw a token").click()
    token, now = page.locator("code.token").inner_text(), time.time()

    def sent(*rows, **more):
        readings = [{"sensor": "journey", "at": now - ago * MINUTE, "temperature": value} for ago, value in rows]
        body = json.dumps([{**one, **more} for one in readings]).encode()
        headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        try:
            return json.load(urlopen(Request(f"{house.url}/api/readings", body, headers)))
        except HTTPError as refused:
            return json.load(refused)

    return sent


def test_silence_and_warm_air_come_and_go_on_every_page_and_what_cannot_be_is_counted(sensor, send, open_page):
    said, dashboard = sensor.locator("main"), open_page("/", PHONE)
    shown = dashboard.locator("main")
    assert send((100, 25), (90, 25))["stored"] == 2
    sensor.reload(), dashboard.reload()
    expect(said).to_contain_text("called silent after 30 min")
    expect(shown).to_contain_text(NAME)
    warm = ((45, 31), (35, 31.5), (25, 32))
    assert [send(*warm)["stored"], send(*warm)["repeated"]] == [3, 3]
    sensor.reload(), dashboard.reload()
    expect(said).to_contain_text("too warm 32.0 °C since")
    expect(said).to_contain_text("Over after 10 min at 27.5 °C or less.")
    expect(said).not_to_contain_text("called silent")
    expect(said.locator(".ribbon .says").first).to_contain_text("outside 22–28 °C, above")
    expect(shown).to_contain_text("–28 °C (the band of this sensor")
    send((14, 25), (3, 25))
    sensor.reload(), dashboard.reload()
    expect(shown).not_to_contain_text(NAME)
    expect(said.locator("table", has_text="until")).to_contain_text("too warm")  # it stays on record
    answer = send((2, 25), humidity=140)
    assert (answer["stored"], answer["refused"]) == (0, 1)
    sensor.reload()
    expect(said.locator("table", has_text="how often")).to_contain_text(answer["reasons"][0]["says"])
