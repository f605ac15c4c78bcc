"""Every log form of the three apps: as a page and as a fragment, accepted, refused, and with what was typed kept."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from breeding.models import EggSac, Loan, Meeting, Pairing, Sign, SpermWeb
from collection import panels
from collection.models import (
    Contact,
    Death,
    Departure,
    GroupCount,
    HeadLoss,
    HealthIssue,
    Measurement,
    Molt,
    MoltSign,
    Note,
    Quarantine,
    SexEvidence,
)
from husbandry.models import Feeding, FeedRhythm, Hold, Stay, Upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
HTMX = {"HX-Request": "true"}
ON = "2026-11-20"
VAGUE = {
    "concern",
    "health",
    "headloss",
    "molt",
    "evidence",
    "measure",
    "note",
    "groupcount",
    "death",
    "pairing",
    "sign",
    "spermweb",
    "sac",
}


def single():
    return make.SpecimenFactory(code="B-1")


def culture():
    return make.SpecimenFactory(code="C-1", kind="culture")


def with_a_friend():
    Contact.objects.create(pk=77, name="Jorun Vale")
    return make.SpecimenFactory(code="B-1")


def away():
    animal = make.SpecimenFactory(code="B-1")
    make.left(animal, date(2026, 11, 1), kind="loan_out")
    return animal


def housed():
    animal = make.SpecimenFactory(code="B-1")
    make.housed(animal, "E-1")
    return animal


def with_empty_box():
    make.EnclosureFactory(code="E-9")
    return housed()


@dataclass(frozen=True)
class Case:
    """A form: what it writes, an entry it accepts, and one value it refuses with its sentence."""

    model: Any
    valid: dict[str, str]
    wrong: str
    typed: str
    says: str
    animal: Any = single
    own_page: bool = False  # what is written has a page, and that is shown next

    def next_page(self, animal):
        """Where an entry leads."""
        return (self.model.objects.get() if self.own_page else animal).get_absolute_url()


SIZE = "Write a number from 0.1 to 700."
CASES = {
    "collection:molt-new": Case(Molt, {"instar": "5", "numbering": "i"}, "instar", "0", "from 1 to 60."),
    "collection:moltsign-new": Case(MoltSign, {"sign": "bald_dark"}, "sign", "pads", "Select a valid choice."),
    "collection:evidence-new": Case(SexEvidence, {"method": "exuvia", "finding": "female"}, "size_mm", "-3", SIZE),
    "collection:measure-new": Case(Measurement, {"leg_span_mm": "60"}, "mass_g", "0", "from 0.0001 to 1,000."),
    "collection:note-new": Case(Note, {"text": "calm"}, "text", " ", "This field is required."),
    "collection:groupcount-new": Case(
        GroupCount, {"count": "30", "method": "counted"}, "count", "-1", "from 0 to 1,000,000.", culture
    ),
    "collection:death-new": Case(Death, {"cause": "age"}, "cause", "boredom", "Select a valid choice."),
    "collection:headloss-new": Case(
        HeadLoss, {"number": "2", "cause": "unknown"}, "number", "0", "from 1 to 1,000,000.", culture
    ),
    "collection:concern-new": Case(Note, {"signs": "slow"}, "about", "soonish", "is not a date"),
    "collection:health-new": Case(HealthIssue, {"kind": "mites"}, "kind", "boredom", "Select a valid choice."),
    "collection:quarantine-new": Case(
        Quarantine,
        {"until": "2026-12-20", "check_days": "7"},
        "until",
        "2026-11-01",
        "The last day lies before the first.",
    ),
    "collection:departure-new": Case(Departure, {"kind": "loan_out"}, "kind", "", "This field is required."),
    "collection:return-new": Case(Departure, {}, "on", "2026-10-01", "cannot be back before that", away),
    "husbandry:feed-new": Case(Feeding, {"outcome": "taken", "number": "2"}, "prey_mm", "0", "from 0.1 to 300."),
    "husbandry:upkeep-new": Case(Upkeep, {"kind": "water"}, "kind", "tea", "Select a valid choice.", housed),
    "husbandry:rhythm-new": Case(FeedRhythm, {"days": "10"}, "days", "500", "from 0 to 400."),
    "husbandry:hold-new": Case(Hold, {"kind": "illness"}, "ends", ON, "would end on the day it begins"),
    "husbandry:move-new": Case(
        Stay, {"enclosure": "E-9"}, "enclosure", "E-404", "No enclosure is called “E-404”", with_empty_box
    ),
    "breeding:pairing-new": Case(Meeting, {"ending": "peace"}, "other", "Z-9", "No animal is called “Z-9”"),
    "breeding:sign-new": Case(Sign, {"kind": "webbing"}, "kind", "humming", "Select a valid choice."),
    "breeding:spermweb-new": Case(SpermWeb, {}, "about", "someday", "“someday” is not a date."),
    "breeding:loan-new": Case(Loan, {"way": "out", "contact": "77"}, "percent", "101", "from 0 to 100.", with_a_friend),
    "breeding:sac-new": Case(
        EggSac, {"kind": "carried"}, "taken_on", "2026-11-01", "before it was laid", own_page=True
    ),
}


@pytest.fixture(params=CASES)
def case(request):
    return CASES[request.param]


@pytest.fixture
def animal(case):
    return case.animal()


@pytest.fixture
def address(request, case, animal):
    name = next(name for name, known in CASES.items() if known is case)
    return reverse(name, args=[animal.pk])


def test_every_form_that_a_page_offers_is_tried_here():
    files = {"collection:photo-new"}  # takes files; see test_photos_pages.py
    assert {form.url_name for form in panels.log_forms.values()} == set(CASES) | files


def test_the_form_is_a_page_of_its_own(keeper_client, address, animal):
    said = keeper_client.get(address).content.decode()
    assert said.startswith("<!doctype html>")
    assert f'action="{address}"' in said
    assert animal.code in said


def test_the_form_is_a_fragment_where_htmx_asks(keeper_client, address):
    said = keeper_client.get(address, headers=HTMX).content.decode()
    assert said.lstrip().startswith("<form")
    assert f'hx-post="{address}"' in said
    assert "<html" not in said


def test_an_entry_is_written_and_leads_to_the_page_it_is_on(keeper_client, case, address, animal):
    before = case.model.history.count()
    answer = keeper_client.post(address, {"on": ON, **case.valid})
    assert (answer.status_code, answer.url) == (302, case.next_page(animal))
    assert case.model.history.count() > before
    assert keeper_client.get(answer.url).status_code == 200


def test_an_entry_by_htmx_leads_the_whole_page_there(keeper_client, case, address, animal):
    answer = keeper_client.post(address, {"on": ON, **case.valid}, headers=HTMX)
    assert (answer.status_code, answer.headers["HX-Redirect"]) == (200, case.next_page(animal))


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_wrong_value_is_refused_beside_its_field_and_what_was_typed_stays(keeper_client, case, address, headers):
    before = case.model.history.count()
    answer = keeper_client.post(address, {"on": ON, **case.valid, case.wrong: case.typed}, headers=headers)
    said = answer.content.decode()
    assert answer.status_code == 422
    beside = said.partition(f'id="id_{case.wrong}_error">')[2].partition("</p>")[0]
    assert case.says in beside
    assert f"id_{case.wrong}_error" in said.partition("aria-describedby=")[2]
    assert case.model.history.count() == before
    form = answer.context["form"]
    assert form[case.wrong].value().strip() == case.typed.strip()


def test_a_day_to_come_is_refused(keeper_client, case, address):
    answer = keeper_client.post(address, {**case.valid, "on": "2026-12-05"})
    assert answer.status_code == 422
    assert "This day lies in the future. Log it when it has happened." in answer.content.decode()


def test_a_day_that_is_none_is_refused_and_kept(keeper_client, case, address):
    answer = keeper_client.post(address, {**case.valid, "on": "30 Feb"})
    assert answer.status_code == 422
    assert 'value="30 Feb"' in answer.content.decode()


def test_without_a_day_it_is_today(keeper_client, case, address):
    assert keeper_client.post(address, case.valid).status_code == 302
    row = case.model.objects.latest("pk")
    columns = ("back_on",) if address.endswith("return/") else ("earliest", "on", "since", "begins")
    assert next(getattr(row, name) for name in columns if hasattr(row, name)) == make.TODAY


@pytest.mark.parametrize("name", sorted(VAGUE))
def test_a_vague_day_is_kept_as_vague_as_it_is(keeper_client, name):
    full = next(known for known in CASES if known.endswith(f":{name}-new"))
    case = CASES[full]
    address = reverse(full, args=[case.animal().pk])
    assert keeper_client.post(address, {**case.valid, "about": "2026-12"}).status_code == 302
    row = case.model.objects.latest("pk")
    assert (row.earliest, row.latest) == (date(2026, 12, 1), make.TODAY)
    ahead = keeper_client.post(address, {**case.valid, "about": "2027"})
    assert "This lies in the future" in ahead.content.decode()


def test_an_animal_that_is_not_there_is_not_found(keeper_client, address):
    assert keeper_client.get(address.replace("/animals/", "/animals/9")).status_code == 404


def test_other_verbs_are_refused(keeper_client, address):
    assert keeper_client.put(address).status_code == 405
    assert keeper_client.delete(address).status_code == 405


HELPERS = {"concern", "molt", "moltsign", "measure", "note", "feed", "upkeep", "sign"}


def test_a_helper_logs_what_happens_at_the_enclosures_and_nothing_else(helper_client, case, address):
    name = next(known for known in CASES if CASES[known] is case).partition(":")[2].removesuffix("-new")
    status = 302 if name in HELPERS else 403
    assert helper_client.post(address, {"on": ON, **case.valid}).status_code == status
    assert Pairing.objects.count() == 0
