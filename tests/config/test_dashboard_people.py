"""The dashboard of a helper, and the dashboard on a day when one of its sources fails."""

from datetime import date, timedelta

import pytest

from breeding.models import Sign
from collection import attention, dues
from collection.attention import Action, BesidePanel, DueKind, HouseItem, Said, StoredDue, Urgency
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY


def page(client, **query):
    answer = client.get("/", query)
    assert answer.status_code == 200
    return answer


def house_item(today):
    yield HouseItem(
        "Fuses", Said(Urgency.LOOK, "look", f"Checked on {today}.", (Action("Open", "settings", post=False),))
    )


def fails(*args):
    raise ZeroDivisionError("division by zero")


@pytest.fixture
def hungry():
    animal = make.SpecimenFactory(code="B-1")
    make.fed(animal, TODAY - timedelta(days=15))
    return animal


def test_what_concerns_the_house_stands_below_the_animals(keeper_client, monkeypatch):
    monkeypatch.setitem(attention.house_sources, "fuses", house_item)
    text = page(keeper_client).content.decode()
    assert "Checked on 2026-12-04." in text
    assert "No backup of this collection exists yet." in text
    assert "Fuses" not in page(keeper_client, show="over").content.decode()


def test_a_helper_is_not_asked_for_the_house(helper_client, hungry, monkeypatch):
    monkeypatch.setitem(attention.house_sources, "fuses", house_item)
    text = page(helper_client).content.decode()
    assert "B-1" in text
    assert "Fuses" not in text
    assert "backup" not in text


def test_a_helper_meets_no_closed_door_in_the_list(helper_client, keeper_client, hungry):
    for finding in ("female", "male"):
        make.looked(hungry, finding, looked_by=finding)
    make.paired(make.female(), date(2026, 9, 20))

    def doors(client):
        row = next(row for stop in page(client).context["stops"] for row in stop.rows if row.specimen == hungry)
        return {action.label for what in row.said for action in what.actions}, page(client).context["beside"]

    assert doors(helper_client) == ({"Taken", "Refused"}, [])
    labels, beside = doors(keeper_client)
    assert "Weigh the evidence" in labels
    assert len(beside) == 1


def test_a_helper_finds_on_an_animals_page_only_forms_a_helper_may_fill_in(helper_client, keeper_client, hungry):
    def forms(client):
        return {form.name for form in client.get(hungry.get_absolute_url()).context["forms"]}

    assert forms(helper_client) == {"meal", "water", "molt", "moltsign", "measure", "photo", "note", "concern", "sign"}
    assert forms(keeper_client) > forms(helper_client)


def test_what_a_helper_logs_is_the_helpers_in_its_history(helper_client, helper, hungry):
    helper_client.post(f"/animals/{hungry.pk}/sign/", {"kind": "refusing"})
    assert Sign.history.get().history_user == helper


@pytest.fixture
def caught(settings):
    """As at the keeper's: a source that fails is caught."""
    settings.CATCH_FAILING_SOURCES = True


def test_in_tests_a_failing_source_is_a_failing_page(keeper_client, monkeypatch):
    monkeypatch.setitem(attention.house_sources, "fuses", fails)
    with pytest.raises(ZeroDivisionError):
        keeper_client.get("/")


def test_a_failing_source_says_so_in_its_place_and_in_the_log(keeper_client, hungry, monkeypatch, caught, caplog):
    monkeypatch.setitem(attention.house_sources, "fuses", fails)
    text = page(keeper_client).content.decode()
    assert "Fuses" in text
    assert "This could not be worked out." in text
    assert "No backup of this collection exists yet." in text
    assert "B-1" in text
    assert (caplog.messages[0], str(caplog.records[0].exc_info[1])) == ("The source fuses failed", "division by zero")


def test_a_failing_panel_says_so_in_its_place(keeper_client, hungry, monkeypatch, caught, caplog):
    monkeypatch.setitem(attention.beside_panels, "sums", fails)
    text = page(keeper_client).content.decode()
    assert "Sums" in text
    assert "This could not be worked out." in text
    assert caplog.messages == ["The panel sums failed"]


def test_a_panel_that_has_nothing_to_show_is_left_out(keeper_client, monkeypatch):
    monkeypatch.setitem(attention.beside_panels, "sums", lambda today: None)
    assert page(keeper_client).context["beside"] == []
    monkeypatch.setitem(attention.beside_panels, "sums", lambda today: BesidePanel("config/_panel_failed.html", {}))
    assert len(page(keeper_client).context["beside"]) == 1


def test_a_sentence_that_cannot_be_said_leaves_the_others_standing(keeper_client, hungry, caught, caplog):
    kind = DueKind("odd", "Odd things", lambda ids: [StoredDue(hungry.pk, TODAY, TODAY, {})], fails, order=1)
    with attention.registered(kind):
        dues.refresh([hungry.pk])
        text = page(keeper_client).content.decode()
    assert "This could not be worked out." in text
    assert "Last took food 15 days ago" in text
    assert caplog.messages == ["The sentence for Odd things failed"]
