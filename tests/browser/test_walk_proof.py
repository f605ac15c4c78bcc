"""Three hundred taps through everything a wifi, a server and a phone can do: each is stored, and each once.

The phone is real Chromium on an origin it does not trust; the server is `up`; between the two stands a proxy that loses
answers, breaks them, answers instead of the server, resets connections and makes the phone wait too long. The server is
killed, and so is the browser, straight after a tap. The taps are counted where they are made, by what the page says.
"""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.browser import walker
from tests.browser.walk_server import RackHouse, Wifi, furnish

STOPS = 160
FAULTS = ("", "lost", "half", "broken", "500", "door", "portal", "led_away", "reset", "slow")
PAIRS_A_FAULT = 8  # water and food at so many enclosures


class Walker:
    """The person, the phone and the wifi; counts every tap that the page called noted."""

    def __init__(self, chromium: Browser, house: RackHouse, profile) -> None:
        self.kind, self.profile, self.house = chromium.browser_type, profile, house
        self.wifi = Wifi(house.server.port)
        self.made = {"water": 0, "taken": 0, "undo": 0}
        self.context: BrowserContext = walker.phone(self.kind, profile)
        self.walk = walker.set_out(self.page, self.wifi.url)

    @property
    def page(self) -> Page:
        return self.context.pages[0]

    def tap(self, pairs: int, page: Page | None = None) -> None:
        """Water and feed so many enclosures."""
        page = page or self.page
        page.bring_to_front()
        for _ in range(pairs):
            walker.press(page, "b3")
            self.made["water"] += 1
            walker.press(page, "main")
            self.made["taken"] += 1
            walker.rested(page)

    def undo(self) -> None:
        """Take the last meal back, which leads to its card again, and give it anew: two taps more."""
        walker.press(self.page, "undo", "main")
        self.made["undo"] += 1
        self.made["taken"] += 1
        walker.rested(self.page)

    def die(self) -> None:
        """The phone goes out, this moment."""
        walker.kill(self.context, self.profile)

    def wake(self) -> None:
        """The same phone again; its session may have gone out with it."""
        self.context = walker.phone(self.kind, self.profile)
        walker.enter(self.page, self.walk)
        walker.ready(self.page)

    def close(self) -> None:
        self.context.close()
        self.wifi.shutdown()
        self.wifi.server_close()


@pytest.fixture
def trial(chromium: Browser, tmp_path, tmp_path_factory) -> Iterator[Walker]:
    template = furnish(tmp_path_factory.mktemp("rack"), STOPS)
    with RackHouse(template, tmp_path / "house") as house:
        trial = Walker(chromium, house, tmp_path / "phone")
        yield trial
        trial.close()


def through_every_fault(trial: Walker) -> None:
    """Tap under each fault in turn; nothing is waited for in between."""
    for fault in FAULTS:
        trial.wifi.fault = fault
        trial.tap(PAIRS_A_FAULT)
        if fault == "lost":
            trial.undo()
    trial.wifi.fault = ""


def server_killed(trial: Walker) -> None:
    """The server dies under the taps and comes back."""
    trial.house.kill()
    trial.tap(16)
    assert "noted" in walker.waiting(trial.page)
    trial.house.start()
    trial.tap(4)
    walker.all_saved(trial.page)


def phone_killed(trial: Walker) -> None:
    """The phone dies straight after a tap: one that it had only noted, then one that the server has as well."""
    for fault in ("500", "lost"):
        trial.wifi.fault = fault
        trial.tap(10)
        trial.die()
        trial.wifi.fault = ""
        trial.wake()
    walker.all_saved(trial.page)


def two_tabs(trial: Walker) -> None:
    """Two tabs tap at different ends of the rack, and send one outbox at once."""
    other = trial.context.new_page()
    other.goto(f"{trial.walk}#E-{STOPS - 10:03}")
    walker.ready(other)
    trial.wifi.fault = "lost"
    for _ in range(5):
        trial.tap(2)
        trial.tap(1, other)
    trial.wifi.fault = ""
    trial.tap(14)
    for page in (trial.page, other):
        walker.all_saved(page)


def test_three_hundred_taps_are_stored_each_once(trial):
    assert trial.page.evaluate("[isSecureContext, typeof crypto.randomUUID]") == [False, "undefined"]
    through_every_fault(trial)
    server_killed(trial)
    phone_killed(trial)
    two_tabs(trial)
    made, ask = trial.made, trial.house.rows
    assert sum(made.values()) >= 300
    assert all(trial.wifi.met[fault] for fault in FAULTS)
    assert dict(ask("SELECT kind, count(*) FROM husbandry_tap GROUP BY kind")) == made
    assert ask("SELECT count(DISTINCT key) FROM husbandry_tap") == [(sum(made.values()),)]
    fed = ask("SELECT count(*), count(DISTINCT key) FROM husbandry_feeding WHERE key IS NOT NULL")
    assert fed == [(made["taken"] - made["undo"],) * 2]
    assert ask("SELECT count(*), count(DISTINCT enclosure_id) FROM husbandry_upkeep") == [(made["water"],) * 2]
    assert ask("SELECT count(*) FROM husbandry_tap WHERE undone_by_id IS NOT NULL") == [(made["undo"],)]
    assert ask("SELECT count(*) FROM husbandry_walk WHERE phone_empty_at IS NOT NULL") == [(1,)]
