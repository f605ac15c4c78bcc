"""The walk in the hand: it fits every phone, every light and the keyboard, and a press does what it says, once."""

import pytest
from playwright.sync_api import expect

from tests.browser import audit
from tests.browser.walker import SAID, all_saved, fresh_phone, press, rack_of_four_hundred, rested  # noqa: F401 - fixtures

SIZES = [(390, 844), (390, 664), (320, 568), (844, 390), (1280, 900)]
TARGETS = """() => [...document.querySelectorAll("[data-thumb] :is(button, a)")].map((one) => {
  const {top, bottom, height, width} = one.getBoundingClientRect();
  return {name: one.dataset.do, small: !!one.closest(".row-d"), top, bottom, height, width};
})"""
SCROLLS = """() => ["html", ".phone", "[data-thumb]"].filter((name) => {
  const part = document.querySelector(name);
  return part.scrollHeight > part.clientHeight + 1 || part.scrollWidth > part.clientWidth + 1;
})"""


def misfits(page, height: int) -> list[str]:
    """What is too small for a wet thumb or out of its reach, and what would scroll."""
    found = [f"{part} scrolls" for part in page.evaluate(SCROLLS)]
    for one in page.evaluate(TARGETS):
        least = 48 if one["small"] else 64
        if one["height"] < least or one["width"] < least or one["bottom"] > height + 0.5:
            found.append(f"{one['name']}: {one['width']}x{one['height']} ends at {one['bottom']}")
    return found


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_every_target_is_within_reach_and_large_enough(walk, width, height):
    page = walk(size={"width": width, "height": height})
    press(page, "main")  # from here on there is something to undo
    for code in ("E-000", "E-001", "E-002", "E-003"):  # one alone, three together, one on hold, a group
        page.goto(f"{page.walk}#{code}")
        assert misfits(page, height) == []
        spot, name = page.locator(".card .spot").bounding_box(), page.locator(".card h2").bounding_box()
        thumb = page.locator("[data-thumb]").bounding_box()
        above = thumb["y"] if width < height else height
        assert spot["y"] >= 0
        assert name["y"] + name["height"] <= above


SCENES = {
    "a card": lambda page: None,
    "three together": lambda page: page.goto(f"{page.walk}#E-001"),
    "on hold": lambda page: page.goto(f"{page.walk}#E-002"),
    "prey": lambda page: page.locator("[data-do=side]").click(),
    "not offered": lambda page: page.locator("[data-do=b2]").click(),
    "something is wrong": lambda page: page.locator("[data-do=wrong]").click(),
    "so far": lambda page: (press(page, "b3", "main"), page.locator("[data-open-log]").click()),
    "the end": lambda page: end(page),
}


def end(page) -> None:
    """Past the last card."""
    last = page.evaluate("JSON.parse(document.getElementById('walk-data').textContent).stops.at(-1)[1]")
    page.goto(f"{page.walk}#{last}")
    rested(page)
    page.locator("[data-do=next]").click()
    page.get_by_role("heading", name="The end of the walk").wait_for()


@pytest.mark.parametrize("scene", SCENES)
def test_it_is_fit_for_everybody_and_nothing_but_red_in_red_light(walk, scene):
    page = walk(size={"width": 360, "height": 780})
    SCENES[scene](page)
    page.wait_for_timeout(150)
    assert audit.lit_otherwise(page) == []
    assert audit.accessibility(page) == []


def test_the_pages_before_and_after_are_fit_as_well(walk, rack):
    page = walk(size={"width": 360, "height": 780})
    press(page, "main")
    all_saved(page)
    for address in (f"{rack.url}/racks/walk/", f"{page.walk}summary/"):
        page.goto(address)
        assert audit.lit_otherwise(page) == []
        assert audit.accessibility(page) == []
        assert audit.sideways(page) == []
        page.set_viewport_size({"width": 360, "height": 780})


def focused(page) -> str:
    return page.evaluate("document.activeElement.dataset.do ?? document.activeElement.textContent")


def test_the_keyboard_goes_on_where_it_was(walk):
    page = walk()
    page.locator("[data-do=main]").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".card .code")).to_have_text("S-001")
    assert focused(page) == "main"
    rested(page)
    page.locator("[data-do=wrong]").focus()
    page.keyboard.press("Space")
    page.keyboard.type("mites at the dish")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(".card")).to_contain_text("mites at the dish")
    assert focused(page) == "wrong"
    rested(page)
    page.locator("[data-do=side]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Prey")).to_be_visible()
    page.keyboard.press("Escape")
    assert focused(page) == "side"


def test_the_card_can_be_read_by_keyboard_where_it_scrolls(walk):
    page = walk(size={"width": 320, "height": 568})
    card = page.locator("[data-card]")
    card.focus()
    page.keyboard.press("End")
    page.wait_for_timeout(300)
    assert card.evaluate("one => one.scrollTop > 0 || one.scrollHeight <= one.clientHeight")


def kinds(rack, page) -> dict[str, int]:
    """What the house has of this walk."""
    all_saved(page)
    number = page.walk.rstrip("/").rpartition("/")[2]
    return dict(rack.rows(f"SELECT kind, count(*) FROM husbandry_tap WHERE walk_id = {number} GROUP BY kind"))


def test_a_slip_of_the_thumb_counts_once(walk, rack):
    page = walk()
    page.locator("[data-do=main]").dblclick()
    expect(page.locator(".card .code")).to_have_text("S-001")
    rested(page)
    page.locator("[data-do=b3]").dblclick()
    rested(page)
    assert kinds(rack, page) == {"taken": 1, "water": 1}


def test_water_pressed_again_is_taken_back(walk, rack):
    page = walk()
    press(page, "b3")
    expect(page.locator("[data-do=b3]")).to_have_attribute("aria-pressed", "true")
    rested(page)
    press(page, "b3")
    expect(page.locator("[data-do=b3]")).to_have_attribute("aria-pressed", "false")
    assert kinds(rack, page) == {"water": 1, "undo": 1}


def test_three_in_one_enclosure_get_a_card_each_and_can_be_chosen(walk, rack):
    page = walk()
    page.goto(f"{page.walk}#E-001")
    who = page.get_by_role("group", name="Who in this enclosure").get_by_role("button")
    expect(who).to_have_text(["S-001", "X-1", "X-2"])
    press(page, "main")
    expect(page.locator(".card .id .code")).to_have_text("X-1")
    who.nth(2).click()
    expect(who.nth(2)).to_be_focused()
    expect(page).to_have_url(f"{page.walk}#E-001/X-2")
    rested(page)
    press(page, "b1")
    expect(page.locator(".card .id .code")).to_have_text("S-002")
    number = page.walk.rstrip("/").rpartition("/")[2]
    all_saved(page)
    asked = "SELECT s.code, t.kind FROM husbandry_tap t JOIN collection_specimen s ON s.id = specimen_id "
    asked += f"WHERE walk_id = {number}"
    assert rack.rows(asked) == [("S-001", "taken"), ("X-2", "refused")]


def test_one_on_hold_is_asked_about_once_and_fed_as_such(walk, rack):
    page = walk()
    page.goto(f"{page.walk}#E-002")
    main = page.locator("[data-do=main]")
    expect(main).to_contain_text("nothing is fed")
    page.locator("[data-do=side]").click()
    ask = page.get_by_role("dialog")
    expect(ask).to_contain_text(", until lifted. Offer food all the same?")
    ask.get_by_role("button", name="Offer food").click()
    rested(page)
    press(page, "b1")
    page.goto(f"{page.walk}#E-002")
    expect(main).to_contain_text("Taken")
    rested(page)
    press(page, "main")
    page.reload()
    page.goto(f"{page.walk}#E-002")
    expect(main).to_contain_text("Taken")
    number = page.walk.rstrip("/").rpartition("/")[2]
    all_saved(page)
    held = f"SELECT kind, json_extract(detail, '$.on_hold') FROM husbandry_tap WHERE walk_id = {number}"
    assert rack.rows(held) == [("refused", 1), ("taken", 1)]


def test_prey_and_number_stay_chosen_from_card_to_card(walk, rack):
    page = walk()
    page.locator("[data-do=side]").click()
    ask = page.get_by_role("dialog")
    ask.get_by_label("How many").fill("3")
    ask.get_by_label("Or").fill("waxworm")
    ask.get_by_label("mm").fill("20")
    ask.get_by_role("button", name="Use this").click()
    main = page.locator("[data-do=main]")
    expect(main).to_contain_text("waxworm, 20 mm, 3")
    rested(page)
    press(page, "main")
    expect(main).to_contain_text("waxworm, 20 mm, 3")
    page.goto(f"{page.walk}#E-003")
    expect(page.locator(".card")).to_contain_text("14 heads")
    expect(main).to_contain_text("waxworm, 20 mm, 3")
    all_saved(page)
    assert rack.rows("SELECT prey, prey_mm, number FROM husbandry_feeding ORDER BY id DESC LIMIT 1") == [
        ("waxworm", 20.0, 3)
    ]


def test_a_scanned_label_lands_on_its_card(walk, rack):
    page = walk("shelf 2")
    [(tag, code)] = rack.rows("SELECT tag, code FROM husbandry_enclosure WHERE code = 'E-077'")
    page.goto(f"{rack.url}/Q/{tag}")
    expect(page).to_have_url(f"{page.walk}#{code}")
    expect(page.locator(".card .code")).to_have_text("S-077")
    [(tag,)] = rack.rows("SELECT tag FROM collection_specimen WHERE code = 'S-055'")
    page.goto(f"{rack.url}/q/{tag.lower()}")
    expect(page.locator(".card .code")).to_have_text("S-055")


def test_the_walk_ends_with_what_was_used_and_left_out_and_can_be_resumed(walk):
    page = walk("shelf 3")
    press(page, "main")
    end(page)
    card = page.locator("[data-card]")
    expect(card).to_contain_text("1 took food, 0 refused, 0 not offered, 0 watered, 49 of 50 left out.")
    expect(card).to_contain_text("1 × roach nymph")
    card.get_by_role("button", name="Go to the first left out, A 3·2").click()
    expect(page.locator("[data-at]")).to_have_text("2")
    page.goto(page.walk)
    expect(page.locator("[data-at]")).to_have_text("2")
    page.get_by_role("link", name="Leave").click()
    expect(page.locator("#main")).to_contain_text("49 of 50 stops left out")
    page.get_by_role("link", name="A 3·9").click()
    expect(page.locator("[data-at]")).to_have_text("9")


def test_the_light_is_changed_without_leaving_the_card(walk):
    page = walk()
    light = page.locator("[data-do=light]")
    for name in ("night", "red", "day"):
        light.click()
        expect(light).to_have_text(f"Light: {name}")
        expect(page.locator("html")).to_have_attribute("data-light", name)


def test_a_tap_is_said_aloud_with_the_next_card(walk):
    page = walk()
    press(page, "main")
    assert page.evaluate(SAID).startswith("Noted: A 1·1, S-000, taken. A 1·2, S-001, ")
