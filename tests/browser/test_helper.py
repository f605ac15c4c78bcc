"""A helper sees what a round needs, and no door that would not open."""

import pytest

from tests.browser import audit
from tests.browser.conftest import PHONE, sign_in

LINKS = "(all) => [...new Set(all.map((one) => one.getAttribute('href')))].filter((to) => to.startsWith('/'))"


@pytest.mark.parametrize("path", ["/", "/animals/1/"])
def test_every_link_that_a_helper_is_shown_opens(open_page, house, path):
    page = open_page("/sign-in/", PHONE, storage_state=None)
    sign_in(page, "helper", house.passwords["helper"])
    page.goto(house.url + path)
    links = page.eval_on_selector_all("a[href]", LINKS)
    shut = {link: status for link in links if (status := page.request.get(house.url + link).status) != 200}
    assert shut == {}
    assert audit.accessibility(page) + audit.sideways(page) == []
