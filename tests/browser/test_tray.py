"""A tray of thirty by thumb on a phone, from the sac to sexed juveniles: taps are counted, and so are fields filled."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect

from tests.browser import walker
from tests.browser.conftest import PHONE

SAC = "/breeding/sacs/2/"  # of which larvae are left, enough for a tray
TRAY = re.compile("^Tray C-")
SMALL = """() => [...document.querySelectorAll("main :is(button, summary, .cup > label, .cells label)")]
  .filter((one) => one.checkVisibility() && !one.closest(".vh"))
  .map((one) => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect()])
  .filter(([, {height, width}]) => height < 44 || width < 40)
  .map(([word, {height, width}]) => `${word}: ${width} by ${height}`)"""


class Thumb:
    """One thumb: taps are counted, and so are the fields that had to be filled in."""

    def __init__(self, page):
        self.page, self.taps, self.filled = page, 0, 0

    def tap(self, *things):
        for thing in things:
            thing.tap()
            self.taps += 1

    def link(self, name):
        self.tap(self.page.get_by_role("main").get_by_role("link", name=name, exact=True).first)

    def send(self, name):
        """Tap a button and wait until what it wrote is said to be saved."""
        self.tap(self.page.get_by_role("button", name=name))
        expect(self.page.locator(".bar-success").first).to_contain_text("Saved.")

    def fill(self, field, text):
        field.fill(text)
        self.filled += 1

    def rows(self):
        return self.page.locator(".cup")


@pytest.fixture
def thumb(open_page):
    return Thumb(open_page(SAC, PHONE, has_touch=True))


def ago(days: int) -> str:
    return (datetime.now(UTC) - timedelta(days=days)).date().isoformat()


def take_out_thirty(thumb):
    thumb.link("Take spiderlings out")
    thumb.fill(thumb.page.get_by_label("singles"), "30")
    thumb.send("Take them out")


def all_molt_to_3i(thumb):
    """The first molt of all of them, some days ago: the instar is known, since they came out of the sac here."""
    racks(thumb)
    thumb.link(TRAY)
    thumb.link("Many molts")
    expect(thumb.rows()).to_have_count(30)
    assert thumb.page.evaluate(SMALL) == []
    expect(thumb.page.get_by_text("so their first molt here makes 3i")).to_be_visible()
    thumb.tap(thumb.page.get_by_text("another day", exact=True))
    thumb.fill(thumb.page.get_by_label("On, or from"), ago(12))
    thumb.tap(thumb.page.get_by_text("All at once"), thumb.page.get_by_text("All of them molted"))
    thumb.send("Log the molts")
    assert thumb.rows().filter(has_text="3i → 4i").count() == 30


def some_skins_were_found_on_other_days(thumb):
    """All but the last to 4i: yesterday, two of them on days of their own, one of these measured too."""
    rows = thumb.rows()
    thumb.tap(thumb.page.get_by_text("yesterday", exact=True), *(rows.nth(n).locator("label").first for n in range(27)))
    for n, days in ((27, 3), (28, 5)):
        thumb.tap(rows.nth(n).locator("summary"))
        thumb.fill(rows.nth(n).get_by_label("Molted on"), ago(days))
    thumb.fill(rows.nth(28).get_by_label("Leg span, mm"), "11.5")
    thumb.send("Log the molts")
    assert thumb.rows().filter(has_text="4i → 5i").count() == 29
    expect(thumb.rows().nth(27)).to_contain_text("molted 3 days ago")


def racks(thumb):
    thumb.tap(thumb.page.get_by_role("link", name="Racks", exact=True))


def one_died(thumb):
    """From its cup in the tray to its death on record."""
    racks(thumb)
    thumb.link(TRAY)
    thumb.tap(thumb.page.locator(".cell .dweller").nth(29))
    thumb.tap(thumb.page.get_by_role("link", name="Death", exact=True))
    thumb.send("Died")


def fed_on_the_walk(thumb):
    """The first three of the tray, a tap each."""
    racks(thumb)
    thumb.link("Walk")
    thumb.tap(thumb.page.get_by_text("every enclosure"), thumb.page.get_by_role("button", name=TRAY))
    walker.ready(thumb.page)
    for _ in range(3):
        walker.press(thumb.page, "main")
        walker.rested(thumb.page)
        thumb.taps += 1
    walker.all_saved(thumb.page)
    thumb.link("Leave")


def grown_beside_its_clutch(thumb):
    """The one that was measured, too few others measured to be set beside."""
    racks(thumb)
    thumb.link(TRAY)
    thumb.tap(thumb.page.locator(".cell .dweller").nth(28))
    thumb.link("Growth, and its place among its kind")
    expect(thumb.page.get_by_text("11.5").first).to_be_visible()
    expect(thumb.page.get_by_text("of age: too few to compare with").first).to_be_visible()


def sexed_by_their_skins(thumb):
    """Spermathecae in eleven, none in nine, the rest unclear; every verdict stands on the page that follows."""
    racks(thumb)
    thumb.link(TRAY)
    thumb.link("Sexing many")
    expect(thumb.rows()).to_have_count(29)
    assert thumb.page.evaluate(SMALL) == []
    thumb.tap(thumb.page.get_by_text("loupe, 10× or more"))
    seen = ["spermathecae"] * 11 + ["none seen"] * 9 + ["unclear"] * 9
    thumb.tap(*(thumb.rows().nth(n).locator(".cells label", has_text=word) for n, word in enumerate(seen)))
    thumb.send("Log the looks")
    expect(thumb.page.locator("#moved")).to_contain_text("29 looked at, and now")
    assert thumb.page.locator("#moved tbody tr").count() == 29


STEPS = {  # what a keeper does, with the taps and the fields that it costs
    take_out_thirty: (2, 1),
    fed_on_the_walk: (8, 0),
    all_molt_to_3i: (7, 1),
    some_skins_were_found_on_other_days: (31, 3),
    one_died: (5, 0),
    grown_beside_its_clutch: (4, 0),
    sexed_by_their_skins: (34, 0),
}


def test_a_tray_of_thirty_from_the_sac_to_sexed_juveniles(thumb):
    for step, (taps, filled) in STEPS.items():
        before = thumb.taps, thumb.filled
        step(thumb)
        assert (thumb.taps - before[0], thumb.filled - before[1]) == (taps, filled), step.__name__
    thumb.page.locator(".bar-success").get_by_role("button", name="Undo").tap()
    expect(thumb.page.locator("#messages")).to_contain_text("Taken back")
    expect(thumb.page.locator("#moved")).to_have_count(0)
