"""The first page stays light: a phone on a poor connection waits for it."""

from tests.browser.conftest import PHONE

MOST = 60 * 1024


def test_the_first_page_weighs_at_most_60_kib_with_all_it_needs(open_page):
    page = open_page("/sign-in/", PHONE)
    page.context.clear_cookies(name="nothing")
    finished = []
    page.on("requestfinished", lambda request: finished.append(request))
    fresh = page.context.new_cdp_session(page)
    fresh.send("Network.enable")
    fresh.send("Network.setCacheDisabled", {"cacheDisabled": True})
    page.goto(page.url.replace("/sign-in/", "/"))
    page.wait_for_load_state("networkidle")
    sizes = [request.sizes() for request in finished]
    assert 0 < sum(size["responseBodySize"] + size["responseHeadersSize"] for size in sizes) <= MOST
