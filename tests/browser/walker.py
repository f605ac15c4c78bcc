"""A person on a walk: signs in, sets out, and presses what the thumb reaches."""

import os
import re
import signal
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from types import SimpleNamespace

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, Error, Page, expect

from tests.browser.conftest import PATIENCE, PHONE, chromium_path, sign_in
from tests.browser.walk_server import COMPANY, PASSWORD, RESOLVE, RackHouse, furnish
from tests.config import houses

SAID = "document.querySelector('[data-say]').textContent"
NOTED = """(before) => new Promise((done, fail) => {
  const say = document.querySelector("[data-say]");
  const look = () => say.textContent !== before && /^(Noted|Undone)/.test(say.textContent) && done();
  new MutationObserver(look).observe(say, {childList: true, characterData: true, subtree: true});
  setTimeout(() => fail(new Error(`not noted, but: ${say.textContent}`)), 8000);
  look();
})"""  # by hand: the page's policy forbids what Playwright's own waiting would evaluate
TWICE = 250  # ms within which the same place, pressed again, counts as a slip


def launching(kind: BrowserType) -> dict[str, object]:
    """How to start a browser that knows where rack.test is."""
    sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    return {"executable_path": chromium_path(SimpleNamespace(chromium=kind)), "args": [RESOLVE, *sandbox]}


LIKE_A_PHONE = {"viewport": PHONE, "reduced_motion": "reduce", "locale": "en-GB"}


def phone(kind: BrowserType, profile: Path) -> BrowserContext:
    """A browser that keeps its things in a folder."""
    context = kind.launch_persistent_context(profile, **launching(kind), **LIKE_A_PHONE)
    context.set_default_timeout(PATIENCE)
    return context


def kill(context: BrowserContext, profile: Path) -> None:
    """End the browser as a flat battery does."""
    process = int((profile / "SingletonLock").readlink().name.rpartition("-")[2])
    os.kill(process, signal.SIGKILL)
    with suppress(Error):
        context.close()
    for left in profile.glob("Singleton*"):
        left.unlink()


def enter(page: Page, url: str, name: str = "keeper") -> None:
    """Go to an address, through the door when it is shut."""
    page.goto(url)
    if "/sign-in/" in page.url:
        sign_in(page, name, PASSWORD)
    page.wait_for_url(re.compile(re.escape(url)))


def set_out(page: Page, url: str, where: str = "The whole house", name: str = "keeper") -> str:
    """Begin a walk past every enclosure, and return its address."""
    enter(page, f"{url}/racks/walk/", name)
    page.get_by_label("every enclosure").check()
    page.get_by_role("button", name=where, exact=True).click()
    ready(page)
    return page.url.partition("#")[0]


def ready(page: Page) -> None:
    """Wait for the first card."""
    page.locator("[data-thumb] [data-do=next]").wait_for()


def press(page: Page, *places: str) -> None:
    """Press places in the thumb's zone one after another, each until the walk says that it is noted."""
    for place in places:
        before = page.evaluate(SAID)
        page.locator(f"[data-do={place}]").click()
        page.evaluate(NOTED, before)


def waiting(page: Page) -> str:
    """What stands in the corner: how much waits, and why."""
    return page.locator("[data-open-log]").inner_text()


def rested(page: Page) -> None:
    """Wait until a slip of the thumb is no longer feared."""
    page.wait_for_timeout(TWICE)


def all_saved(page: Page, timeout: float = 45_000) -> None:
    """Wait until nothing waits on the phone."""
    expect(page.locator("[data-waiting]")).to_have_text("all saved", timeout=timeout)


@pytest.fixture(scope="session", name="rack")
def rack_of_four_hundred(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RackHouse]:
    """Four hundred enclosures, some of them with company, and a browser that knows where they are."""
    template = tmp_path_factory.getbasetemp() / "rack-of-400"  # once for all modules
    if not template.exists():
        houses.run(furnish(template, 400), "shell", "-v0", "-c", COMPANY)
    kind = chromium.browser_type
    with RackHouse(template, tmp_path_factory.mktemp("rack") / "house") as house:
        house.browser = kind.launch(**launching(kind))
        yield house
        house.browser.close()


@pytest.fixture(name="walk")
def fresh_phone(rack: RackHouse) -> Iterator[Callable[..., Page]]:
    """Set out on a fresh phone; whatever its console complains of fails the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def begun(where: str = "shelf 1", size: dict[str, int] = PHONE, script: str = "", name: str = "keeper") -> Page:
        context = rack.browser.new_context(**{**LIKE_A_PHONE, "viewport": size})
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        if script:
            context.add_init_script(script)
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.walk = set_out(page, rack.url, where, name)
        return page

    begun.complaints = complaints  # a test that provokes a complaint clears it
    yield begun
    for context in contexts:
        context.close()
    assert complaints == []
