"""People at the door."""

import shutil
from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from config.accounts import services, views
from tests.config import houses

PASSWORD = "clove-oak-29"


@pytest.fixture(autouse=True)
def _fresh_gate():
    """Failures of one test must not slow the next."""
    views.gate.__init__()


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def keeper(db) -> User:
    return services.create_first_keeper("keeper", PASSWORD)


@pytest.fixture
def helper(keeper, today) -> User:
    return services.admit_helper("helper", PASSWORD, today + timedelta(days=7))


def signed_in(user: User, **headers: str) -> Client:
    """A browser that went through the sign-in page."""
    client = Client(headers=headers)
    client.get("/sign-in/")
    response = client.post("/sign-in/", {"username": user.username, "password": PASSWORD})
    assert response.status_code == 302, response.content
    return client


@pytest.fixture
def as_keeper(keeper) -> Client:
    return signed_in(keeper)


@pytest.fixture
def as_helper(helper) -> Client:
    return signed_in(helper)


FURNISH = """
from django.contrib.auth.models import User
from collection.models import Specimen, Taxon
User.objects.create_superuser("keeper", password="clove-oak-29")
Specimen.objects.create(code="T1", taxon=Taxon.objects.first())
"""


@pytest.fixture(scope="session")
def _model_house(tmp_path_factory):
    """Migrated, seeded and with one animal in it: once for all tests."""
    folder = tmp_path_factory.mktemp("house")
    houses.run(folder, "migrate", "-v0")
    houses.run(folder, "seed_taxa")
    houses.run(folder, "shell", "-v0", "-c", FURNISH)
    return folder


@pytest.fixture
def house(_model_house, tmp_path):
    """A data folder of a real house, for real processes; none of them outlives the test."""
    yield shutil.copytree(_model_house, tmp_path / "house")
    houses.Server.stop_all()
