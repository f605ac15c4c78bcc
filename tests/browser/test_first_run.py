"""A new house: nobody has an account yet, and the terminal shows a code."""

import pytest
from playwright.sync_api import expect

from tests.browser import audit
from tests.browser.conftest import PHONE, House, sign_in

FROM_A_PHONE = {"storage_state": None, "extra_http_headers": {"X-Forwarded-For": "192.168.1.7"}}
PASSWORD = "clove-oak-29"


@pytest.fixture(scope="module")
def new_house(tmp_path_factory, chromium):
    house = House(tmp_path_factory.mktemp("new"))
    yield house
    house.close()


def fill(page, code: str) -> None:
    page.get_by_label("Code from the terminal").fill(code)
    page.get_by_label("Your name here").fill("ada")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("Password confirmation").fill(PASSWORD)
    page.get_by_role("button", name="Make the account").click()


def test_the_first_keeper_gets_in_with_the_code_and_finds_out_where_to_begin(open_page, new_house):
    page = open_page("/", PHONE, at=new_house, **FROM_A_PHONE)
    assert audit.accessibility(page) + audit.sideways(page) + audit.lit_otherwise(page) == []
    fill(page, "0000-0000")
    expect(page.get_by_text("That is not the code in the terminal.")).to_be_visible()
    expect(page.get_by_label("Your name here")).to_have_value("ada")
    open_page.complaints.clear()  # the refusal's status
    fill(page, new_house.setup_code)
    expect(page.get_by_role("heading", name="Nobody lives here yet")).to_be_visible()
    assert audit.accessibility(page) + audit.sideways(page) + audit.lit_otherwise(page) == []
    page.goto(new_house.url + "/animals/")
    expect(page.get_by_role("heading", name="The register is empty")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, "ada", PASSWORD)
    expect(page.get_by_role("heading", name="Nobody lives here yet")).to_be_visible()
