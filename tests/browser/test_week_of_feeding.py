"""A week of feeding: planned, shopped for, walked by thumb and settled."""

import re

from playwright.sync_api import expect

from tests.browser.conftest import PHONE
from tests.browser.walker import all_saved, press, ready, rested


def test_what_is_bought_leaves_the_list_and_stands_in_the_book(open_page):
    page = open_page("/racks/feeders/shopping/", PHONE)
    line = page.locator("table.shopping tbody tr").first
    feeder, wanted = line.locator(".lead").inner_text(), line.locator("b").inner_text()
    line.get_by_role("link", name="Bought").click()
    expect(page.get_by_label("How many")).to_have_value(wanted)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Shopping list")
    expect(page.locator("table.shopping", has_text=feeder)).to_have_count(0)
    page.goto(page.url.replace("shopping/", ""))
    page.get_by_role("link", name=feeder, exact=True).click()
    expect(page.locator("table tbody tr").first).to_contain_text(f"+{wanted}")


def books(page, house) -> dict[str, int]:
    """What the book of each feeder says is there."""
    text = page.request.get(f"{house.url}/racks/feeders/").text()
    rows = re.findall(r'aria-label="(?:The book says )?([−\d]+)[,:]', text)
    names = re.findall(r'class="name"><a href="[^"]+">([^<]+)</a>(?: <span class="n">([^<]+)</span>)?', text)
    return {f"{kind}, {size}": int(left.replace("−", "-")) for (kind, size), left in zip(names, rows, strict=True)}


def test_a_shelf_is_walked_by_thumb_and_the_books_settle(open_page, house):
    page = open_page("/racks/walk/", PHONE)
    before = books(page, house)
    page.get_by_label("every enclosure").check()
    page.get_by_role("button", name="A1", exact=True).click()
    ready(page)
    codes, eaten = [], []
    for tap in ("main", "main", "b1"):  # taken, taken, refused
        codes.append(page.locator(".card .code").inner_text())
        eaten.append(re.match(r"Taken\s*(.+), one", page.locator("[data-do=main]").inner_text())[1])
        press(page, tap)
        rested(page)
    press(page, "b3")  # water
    page.locator("[data-do=next]").click()
    expect(page.locator(".card")).to_contain_text("2 took food, 1 refused, 0 not offered, 1 watered, 0 of 4 left out.")
    all_saved(page)
    after = books(page, house)
    used = {name: before[name] - after[name] for name in before if before[name] != after[name]}
    assert used == {name.replace("\xa0", " "): eaten[:2].count(name) for name in eaten[:2]}
    page.locator("[data-do=next]").click()
    page.get_by_role("button", name="End the walk").click()
    expect(page.locator("main")).to_contain_text("2 took food, 1 refused")
    page.goto(f"{house.url}/")
    for code in codes[:2]:
        expect(page.locator("li.need", has=page.get_by_role("button", name=f"Taken {code}"))).to_have_count(0)
