"""Journeys in real Chromium against the real server: `up` in a folder of its own, with the invented collection.

One browser and one demo server serve the whole run. Playwright keeps an event loop on the main thread for as long as it
lives, beside which Django refuses to touch a database; so these tests come last.
"""

import json
import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from tests.config.houses import Server

HERE = Path(__file__).parent
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
MISSING = "No Chromium here. Install it (Debian: apt install chromium), or name it in SCOPULA_CHROMIUM."
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}

Open = Callable[..., Page]
PATIENCE = 20_000  # ms; of a slow machine, too
expect.set_options(timeout=PATIENCE)


@pytest.hookimpl(trylast=True)  # after pytest-randomly has shuffled
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what lies in this folder, and let it run after everything else, as it is written.

    The journeys share one house, in which each leaves something behind; in random order each run is another test.
    """
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)
    items.sort(key=_place)


def _place(item: pytest.Item) -> tuple[bool, str, int, str]:
    """The folder's own tests after all others, by file, line and name; the others stay as they were shuffled."""
    here = HERE in item.path.parents
    return (here, item.path.name, item.location[1] or 0, item.name) if here else (here, "", 0, "")


def chromium_path(playwright: Playwright) -> str:
    """The browser to use: the one named, the system's, or Playwright's own. Empty where there is none."""
    found = [os.environ.get("SCOPULA_CHROMIUM", ""), *map(shutil.which, NAMES), playwright.chromium.executable_path]
    return next((path for path in found if path and Path(path).exists()), "")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all."""
    with sync_playwright() as playwright:
        path = chromium_path(playwright)
        if not path:
            pytest.fail(MISSING) if os.environ.get("CI") else pytest.skip(MISSING)
        sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []  # root has no sandbox
        browser = playwright.chromium.launch(executable_path=path, args=sandbox)
        yield browser
        browser.close()


class House:
    """A running server, its address, and what a browser that signed in keeps."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder = folder
        self.server = Server(folder, *options)
        Server.started.remove(self.server)  # ends with the session, not with the next test that cleans up
        self.url = f"http://127.0.0.1:{self.server.port}"
        self.cookies: dict[str, object] = {"cookies": [], "origins": []}

    @property
    def setup_code(self) -> str:
        """What the terminal says for the first account."""
        return re.search(r"Code for the first one: (\w{4}-\w{4})", self.server.said)[1]

    @property
    def passwords(self) -> dict[str, str]:
        """The passwords of the invented people."""
        return json.loads((self.folder / "demo-sign-in.json").read_text())

    def close(self) -> None:
        """Stop the server."""
        self.server.stop()


def sign_in(page: Page, name: str, password: str) -> None:
    """Through the door, as anybody would."""
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", level=1).wait_for()


@pytest.fixture(scope="session")
def house(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[House]:
    """The invented collection, with the keeper signed in."""
    house = House(tmp_path_factory.mktemp("demo"), "--demo")
    context = chromium.new_context()
    page = context.new_page()
    page.goto(house.url)
    sign_in(page, "keeper", house.passwords["keeper"])
    house.cookies = context.storage_state()
    context.close()
    yield house
    house.close()


@pytest.fixture
def open_page(house: House, chromium: Browser) -> Iterator[Open]:
    """Open an address in a fresh browser; whatever the console complains of fails the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def opened(path: str = "/", size: dict[str, int] = DESK, *, at: House = house, **options: object) -> Page:
        settings = {"viewport": size, "storage_state": at.cookies, "reduced_motion": "reduce", "locale": "en-GB"}
        context = chromium.new_context(**{**settings, **options})
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(at.url + path)
        return page

    opened.complaints = complaints  # a test that provokes a complaint clears it
    yield opened
    for context in contexts:
        context.close()
    assert complaints == []
