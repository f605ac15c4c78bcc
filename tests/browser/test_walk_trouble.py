"""When something is in the way: what was tapped stays, the page says so in words, and goes on by itself when it can."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect

from tests.browser.walk_server import PASSWORD
from tests.browser.walker import (  # noqa: F401 - fixtures among them
    all_saved,
    enter,
    fresh_phone,
    press,
    rack_of_four_hundred,
    ready,
    rested,
    set_out,
    sign_in,
    waiting,
)

DIALOG = "[data-ask]"


def number(page) -> str:
    """The walk's own."""
    return page.walk.rstrip("/").rpartition("/")[2]


def stored(rack, page) -> int:
    """How many taps of this walk the house has."""
    return rack.rows(f"SELECT count(*) FROM husbandry_tap WHERE walk_id = {number(page)}")[0][0]


def so_far(page):
    """The list of taps, opened."""
    page.locator("[data-open-log]").click()
    return page.locator("[data-so-far]")


def in_the_way(walk) -> None:
    """The browser reports answers that say no, and connections that fail; here they are meant."""
    assert all(re.search(r"Failed to load resource|ERR_", said) for said in walk.complaints)
    walk.complaints.clear()


def test_an_ended_session_asks_once_and_the_taps_go_on_by_themselves(walk, rack):
    page = walk()
    page.context.clear_cookies(name="scopula_session")
    press(page, "main")
    dialog = page.locator(DIALOG)
    expect(dialog).to_contain_text("Nothing is lost")
    dialog.get_by_role("button", name="Go on").click()
    rested(page)
    press(page, "main", "b3")
    page.wait_for_timeout(2500)  # several flushes
    expect(dialog).to_be_hidden()
    assert waiting(page).split("\n") == ["3 noted", "signed out"]
    assert stored(rack, page) == 0
    with page.expect_popup() as opened:
        so_far(page).get_by_role("link", name="Sign in, in a new tab").click()
    sign_in(opened.value, "keeper", PASSWORD)
    all_saved(page, 12_000)
    assert stored(rack, page) == 3
    in_the_way(walk)


def test_the_dialog_goes_away_when_somebody_signs_in_elsewhere(walk):
    page = walk()
    page.context.clear_cookies(name="scopula_session")
    press(page, "main")
    expect(page.locator(DIALOG)).to_be_visible()
    enter(page.context.new_page(), page.walk)
    expect(page.locator(DIALOG)).to_be_hidden(timeout=12_000)
    all_saved(page)
    in_the_way(walk)


def test_another_person_at_the_phone_cannot_post_to_this_walk_and_nothing_is_lost(walk, rack):
    page = walk()
    page.context.clear_cookies(name="scopula_session")
    other = page.context.new_page()
    own = set_out(other, rack.url, "shelf 5", "helper")
    page.bring_to_front()
    press(page, "main")
    expect(page.locator("[data-trouble]")).to_have_text("not yours")
    shown = so_far(page)
    expect(shown).to_contain_text("Sign in as the one who walked it.")
    other.bring_to_front()
    press(other, "main")
    expect(other.locator("[data-waiting]")).to_have_text("1 noted")  # the helper's own went through
    assert rack.rows(f"SELECT count(*) FROM husbandry_tap WHERE walk_id = {own.rstrip('/').rpartition('/')[2]}") == [
        (1,)
    ]
    assert stored(rack, page) == 0
    other.context.clear_cookies(name="scopula_session")
    other.on("dialog", lambda dialog: dialog.accept())  # it warns of the keeper's tap
    enter(other, page.walk)
    all_saved(page)
    assert stored(rack, page) == 1
    in_the_way(walk)


def test_a_browser_that_keeps_nothing_is_told_so_and_nothing_is_called_noted(walk):
    page = walk("shelf 1")
    page.add_init_script("Object.defineProperty(window, 'indexedDB', {value: undefined})")
    page.goto(page.walk)
    expect(page.get_by_role("heading", name="The walk does not start here")).to_be_visible()
    expect(page.locator(".phone")).to_be_hidden()
    page.get_by_role("main").get_by_role("link", name="dashboard").click()
    expect(page).to_have_url(re.compile(r"/$"))


def test_a_phone_that_is_full_says_that_the_tap_was_not_noted(walk, rack):
    page = walk("shelf 6")
    devtools = page.context.new_cdp_session(page)
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": rack.url, "quotaSize": 1})
    page.locator("[data-do=main]").click()
    dialog = page.locator(DIALOG)
    expect(dialog).to_contain_text("could not keep that tap: its storage is full. Nothing was logged.")
    dialog.get_by_role("button", name="I see").click()
    expect(page.locator(".card .code")).to_have_text("S-250")  # still the same card
    expect(page.locator(".card")).not_to_contain_text("noted")
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": rack.url})
    rested(page)
    press(page, "main")
    all_saved(page)
    assert stored(rack, page) == 1


def died_yesterday(rack, code: str) -> None:
    """Somebody at home writes a death down, for the day before."""
    rack.run(
        "from django.utils import timezone; from datetime import timedelta\n"
        "from collection.models import Death, Specimen; from collection.services import record_death\n"
        f"day = timezone.localdate() - timedelta(days=1); animal = Specimen.objects.get(code='{code}')\n"
        "record_death(Death(specimen=animal, earliest=day, latest=day))"
    )


def taken_back(rack, code: str) -> None:
    """It was another one that had died."""
    rack.run(f"from collection.models import Death; Death.objects.filter(specimen__code='{code}').delete()")


def test_a_tap_that_the_house_refuses_is_kept_shown_and_mended(walk, rack):
    page = walk("shelf 7")
    died_yesterday(rack, "S-300")
    press(page, "main")
    expect(page.locator("[data-trouble]")).to_have_text("1 refused")
    page.reload()
    ready(page)
    expect(page.locator("[data-waiting]")).to_have_text("1 noted")
    stuck = so_far(page).locator("li.stuck")
    expect(stuck).to_contain_text(re.compile(r"S-300 died on \d{4}-\d\d-\d\d; this day lies after it."))
    stuck.get_by_role("button", name="Try again").click()
    expect(stuck).to_contain_text("this day lies after it")
    assert stored(rack, page) == 0
    taken_back(rack, "S-300")
    stuck.get_by_role("button", name="Try again").click()
    all_saved(page)
    expect(stuck).to_have_count(0)
    assert stored(rack, page) == 1


def test_a_refused_tap_goes_only_when_somebody_puts_it_away(walk, rack):
    page = walk("shelf 7")
    died_yesterday(rack, "S-301")
    page.goto(f"{page.walk}#E-301")
    rested(page)
    press(page, "main")
    expect(page.locator("[data-trouble]")).to_have_text("1 refused")
    so_far(page).get_by_role("button", name="Put it away").click()
    expect(page.locator("[data-waiting]")).to_have_text("all saved")
    page.reload()
    ready(page)
    expect(page.locator("[data-waiting]")).to_have_text("all saved")
    expect(so_far(page)).not_to_contain_text("Taken")
    taken_back(rack, "S-301")


def test_taps_of_another_walk_are_counted_and_go_too(walk, rack):
    page = walk("shelf 1")
    door = f"**/walks/{number(page)}/taps/"
    page.context.route(door, lambda route: route.abort())
    press(page, "main")
    expect(page.locator("[data-trouble]")).to_have_text("no answer")
    page.on("dialog", lambda dialog: dialog.accept())
    set_out(page, rack.url, "shelf 2")
    expect(page.locator("[data-waiting]")).to_have_text("1 noted")
    press(page, "main")
    expect(so_far(page)).to_contain_text("(shelf 1)")
    page.context.unroute(door)
    all_saved(page)
    assert stored(rack, page) == 1
    in_the_way(walk)


def test_leaving_with_taps_waiting_warns_and_the_summary_sends_them(walk, rack):
    page = walk("shelf 1")
    page.context.set_offline(True)
    press(page, "main")
    expect(page.locator("[data-trouble]")).to_have_text("no answer")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.get_by_role("link", name="Leave").click()
    expect(page.locator("[data-waiting]")).to_have_text("1 noted")
    assert asked == ["beforeunload"]
    page.context.set_offline(False)
    all_saved(page)
    page.get_by_role("link", name="Leave").click()
    expect(page.get_by_role("heading", name="shelf 1")).to_be_visible()
    assert asked == ["beforeunload"]
    assert stored(rack, page) == 1
    in_the_way(walk)


CLOCK = """(() => {
  const real = Date, ahead = () => Number(sessionStorage.getItem("ahead") ?? %d) * 3600000;
  window.Date = class extends real {
    constructor(...given) { given.length ? super(...given) : super(real.now() + ahead()); }
    static now() { return real.now() + ahead(); }
  };
})();"""


@pytest.mark.parametrize("hours", [7, -7])
def test_a_wrong_clock_is_corrected_even_when_it_is_put_right_on_the_way(walk, rack, hours):
    page = walk("shelf 1", script=CLOCK % hours)
    press(page, "main")
    all_saved(page)
    page.context.set_offline(True)
    rested(page)
    press(page, "main")
    page.evaluate("sessionStorage.setItem('ahead', '0')")
    rested(page)
    press(page, "main")
    page.context.set_offline(False)
    all_saved(page)
    made = rack.rows(f"SELECT happened_at FROM husbandry_tap WHERE walk_id = {number(page)} ORDER BY id")
    now = datetime.now(UTC)
    ages = [now - datetime.fromisoformat(at).replace(tzinfo=UTC) for (at,) in made]
    assert len(ages) == 3
    assert all(timedelta() <= age < timedelta(minutes=2) for age in ages)
    in_the_way(walk)


def test_a_second_tab_sees_what_the_first_one_tapped(walk):
    page = walk("shelf 1")
    other = page.context.new_page()
    other.goto(f"{page.walk}#{page.url.partition('#')[2]}")
    ready(other)
    page.bring_to_front()
    press(page, "b3")
    expect(other.locator("[data-do=b3]")).to_have_attribute("aria-pressed", "true")
    expect(other.locator(".card")).to_contain_text("Water.")


def test_a_page_that_the_browser_brings_back_knows_what_was_tapped_since(walk):
    page = walk("shelf 8")
    first = page.url
    press(page, "b3")
    all_saved(page)
    page.get_by_role("link", name="Leave").click()
    expect(page.get_by_role("heading", name="shelf 8")).to_be_visible()
    page.go_back()
    ready(page)
    expect(page).to_have_url(first)
    expect(page.locator("[data-do=b3]")).to_have_attribute("aria-pressed", "true")


def test_the_summary_says_what_waits_and_sends_it(walk, rack):
    page = walk("shelf 1")
    door = f"**/walks/{number(page)}/taps/"
    page.context.route(door, lambda route: route.abort())
    press(page, "main")
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("link", name="Leave").click()
    line = page.locator("p[data-waiting]")
    expect(line).to_contain_text("1 tap still on this phone")
    page.context.unroute(door)
    expect(line).to_contain_text("All taps of this phone are saved.", timeout=15_000)
    assert stored(rack, page) == 1
    in_the_way(walk)
