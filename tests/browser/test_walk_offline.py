"""Under https a walk opens again with no server and no network at all, and what is tapped then is saved later."""

import hashlib
from base64 import b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import Browser, BrowserContext, Error, Page, expect

from tests.browser.conftest import PATIENCE, PHONE
from tests.browser.walk_server import furnish
from tests.browser.walker import LIKE_A_PHONE, all_saved, launching, press, ready, set_out, waiting
from tests.config.houses import SecureServer

KEPT = """async () => {
  const named = [...document.querySelectorAll("script[src], link[href]")].map((one) => one.src || one.href);
  const paths = [location.pathname, ...named.map((url) => new URL(url).pathname)];
  for (let look = 0; look < 80; look++) {
    const kept = await Promise.all(paths.map((path) => caches.match(path)));
    if (kept.every(Boolean)) return true;
    await new Promise((done) => setTimeout(done, 100));
  }
  return false;
}"""
PAGES_KEPT = "async () => (await (await caches.open('scopula-walk-1')).keys()).map(({url}) => new URL(url).pathname)"
REFUSE_TO_STAY_AWAKE = """WakeLock.prototype.request = (kind) => {
  window.wantedAwake = kind;
  return Promise.reject(new DOMException("the battery is low", "NotAllowedError"));
};"""


class TlsHouse:
    """A house under TLS whose server can be stopped and started again on its ports."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.server = SecureServer(folder, "--port=0")
        SecureServer.started.remove(self.server)
        self.url = f"https://127.0.0.1:{self.server.port}"

    @contextmanager
    def away(self) -> Iterator[None]:
        """The server is stopped for a while, and comes back where it was."""
        self.server.stop()
        yield
        self.start()

    def start(self) -> None:
        """On the same ports as before."""
        ports = [f"--https-port={self.server.port}", f"--port={self.server.plain_port}"]
        self.server = SecureServer(self.folder, *ports)
        SecureServer.started.remove(self.server)

    @property
    def pin(self) -> str:
        """The key that the browser is to take for known: as if the certificate had been installed."""
        leaf = x509.load_pem_x509_certificate((self.folder / "tls" / "server.pem").read_bytes())
        form = serialization.PublicFormat.SubjectPublicKeyInfo
        key = leaf.public_key().public_bytes(serialization.Encoding.DER, form)
        return b64encode(hashlib.sha256(key).digest()).decode()


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A house of sixteen animals."""
    return furnish(tmp_path_factory.mktemp("tls") / "house", 16)


@pytest.fixture(scope="module")
def tls(furnished: Path) -> Iterator[TlsHouse]:
    found = TlsHouse(furnished)
    yield found
    if found.server.process.returncode is None:
        found.server.stop()


@pytest.fixture
def phone(tls: TlsHouse, chromium: Browser, tmp_path: Path) -> Iterator[BrowserContext]:
    """A phone on which the house's certificate was installed."""
    how = launching(chromium.browser_type)
    how["args"] = [*how["args"], f"--ignore-certificate-errors-spki-list={tls.pin}"]
    context = chromium.browser_type.launch_persistent_context(tmp_path / "profile", **how, **LIKE_A_PHONE)
    context.set_default_timeout(PATIENCE)
    yield context
    context.close()


@pytest.fixture
def walk(tls: TlsHouse, phone: BrowserContext) -> Page:
    """A walk begun on that phone, and kept by it; a complaint of the page fails the test."""
    page = phone.pages[0]
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    if tls.server.process.returncode is not None:
        tls.start()  # a test failed while it was away
    set_out(page, tls.url)
    assert page.evaluate(KEPT)
    yield page
    assert complaints == []


def test_a_walk_opens_without_the_server_and_its_taps_are_saved_when_it_is_back(tls, walk):
    with tls.away():
        walk.reload()
        ready(walk)
        press(walk, "main")
        expect(walk.locator("[data-waiting]")).to_have_text("1 noted")
        walk.goto(f"{walk.url.partition('#')[0]}?again#E-005")
        ready(walk)
        assert "1 noted" in waiting(walk)
    all_saved(walk)


def test_a_kept_page_does_not_pass_for_a_fresh_one(tls, walk):
    with tls.away():
        walk.reload()
        ready(walk)
        sent = walk.evaluate("performance.getEntriesByType('navigation')[0].transferSize")
    assert sent == 0  # by this the walk knows that the page's "now" is of another time


def test_whoever_signs_out_leaves_no_walk_behind(tls, walk):
    address = walk.url.partition("#")[0]
    walk.goto(f"{tls.url}/settings/devices/")
    walk.get_by_role("button", name="Sign out keeper", exact=True).click()
    walk.get_by_role("heading", name="Sign in").wait_for()
    assert walk.evaluate(PAGES_KEPT) == []
    with tls.away(), pytest.raises(Error, match="net::ERR_"):
        walk.goto(address)


def test_a_walk_that_is_no_longer_this_persons_is_given_up(tls, walk, phone):
    path = walk.evaluate("location.pathname")
    phone.clear_cookies()
    walk.reload()
    walk.get_by_role("heading", name="Sign in").wait_for()
    assert path not in walk.evaluate(PAGES_KEPT)


def is_given_up(page, path: str) -> bool:
    """Whether a kept page goes away within some seconds: the worker tidies up after it has kept the next."""
    for _ in range(80):
        if path not in page.evaluate(PAGES_KEPT):
            return True
        page.wait_for_timeout(100)
    return False


def test_only_the_latest_walk_is_kept(tls, walk):
    first = walk.evaluate("location.pathname")
    set_out(walk, tls.url, "shelf 1")
    assert walk.evaluate(KEPT)
    assert is_given_up(walk, first)


def test_the_screen_is_asked_to_stay_awake_and_a_refusal_does_no_harm(tls, walk, phone):
    phone.add_init_script(REFUSE_TO_STAY_AWAKE)
    walk.reload()
    ready(walk)
    assert walk.evaluate("window.wantedAwake") == "screen"


def test_on_plain_http_nothing_is_kept(open_page):
    page = open_page("/racks/walk/", PHONE)
    page.get_by_role("button", name="The whole house", exact=True).click()
    ready(page)
    assert page.evaluate("'serviceWorker' in navigator")  # this very machine counts as secure
    assert page.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0
