"""A label leads to what it is on; on a walk, to its card."""

from datetime import timedelta

import pytest
from django.utils import timezone

from husbandry import services
from tests import factories as make
from tests.husbandry.walking import walk_of

pytestmark = pytest.mark.django_db


def lands(client, tagged, prefix: str = "/Q/") -> str:
    return client.get(f"{prefix}{tagged.tag}").headers["Location"]


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B/1 ä")


@pytest.fixture
def home(animal):
    return make.housed(animal, "E 1")


@pytest.mark.parametrize("prefix", ["/Q/", "/q/"])
def test_without_a_walk_a_label_leads_to_its_page(as_keeper, animal, home, prefix):
    assert lands(as_keeper, animal, prefix) == f"/animals/{animal.pk}/"
    assert lands(as_keeper, home, prefix) == f"/enclosures/{home.pk}/"


def test_on_a_walk_a_label_leads_to_its_card(as_keeper, keeper, animal, home):
    walk = walk_of(home, by=keeper)
    assert lands(as_keeper, home) == f"/walks/{walk.pk}/#E%201"
    assert lands(as_keeper, animal) == f"/walks/{walk.pk}/#E%201/B%2F1%20%C3%A4"


def test_a_tag_typed_into_the_box_leads_to_the_page_even_on_a_walk(as_keeper, keeper, animal, home):
    walk_of(home, by=keeper)
    found = as_keeper.get("/find/", {"q": animal.tag}).headers["Location"]
    assert as_keeper.get(found).headers["Location"] == f"/animals/{animal.pk}/"


def test_of_two_open_walks_the_later_is_meant(as_keeper, keeper, home):
    walk_of(home, by=keeper)
    later = walk_of(home, by=keeper, started_at=timezone.now())
    assert lands(as_keeper, home) == f"/walks/{later.pk}/#E%201"


@pytest.mark.parametrize(
    "values", [{"ended_at": timezone.now()}, {"started_at": timezone.now() - timedelta(hours=13)}, {"stops": []}]
)
def test_a_walk_that_is_over_or_old_or_elsewhere_holds_nobody_up(as_keeper, keeper, home, values):
    walk_of(home, by=keeper, **values)
    assert lands(as_keeper, home) == f"/enclosures/{home.pk}/"


def test_another_persons_walk_is_not_entered(as_keeper, helper, home):
    walk_of(home, by=helper)
    assert lands(as_keeper, home) == f"/enclosures/{home.pk}/"


def test_an_animal_that_moved_off_the_walk_has_its_page(as_keeper, keeper, animal, home):
    walk_of(home, by=keeper)
    services.move(animal, make.EnclosureFactory(), timezone.localdate())
    assert lands(as_keeper, animal) == f"/animals/{animal.pk}/"


def test_an_animal_without_an_enclosure_has_its_page(as_keeper, keeper, home):
    walk_of(home, by=keeper)
    stray = make.SpecimenFactory()
    assert lands(as_keeper, stray) == f"/animals/{stray.pk}/"


@pytest.mark.parametrize("tag", ["AAAAAAAA", "short", "0"])
def test_a_tag_that_nothing_carries_says_so(as_keeper, tag):
    assert as_keeper.get(f"/Q/{tag}").status_code == 404
