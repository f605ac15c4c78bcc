"""What every test may ask for: the two kinds of people, signed in, and a day that stands still."""

import pytest
from django.contrib.auth.models import User
from django.test import Client
from hypothesis import settings

from config.accounts import services
from husbandry import feeder_outlook
from tests import factories

settings.register_profile("house", deadline=None)  # two cores are shared: time says nothing about a test
settings.load_profile("house")


@pytest.fixture(autouse=True)
def nothing_kept_in_mind() -> None:
    """What one test worked out of its feeders is not the next one's."""
    feeder_outlook.forget()


@pytest.fixture
def keeper(db) -> User:
    return User.objects.create_superuser("keeper", password="clove-oak-29")


@pytest.fixture
def helper(db) -> User:
    return services.admit_helper("helper", "clove-oak-29", factories.TODAY.replace(year=2099))


@pytest.fixture
def keeper_client(keeper) -> Client:
    client = Client()
    client.force_login(keeper)
    return client


@pytest.fixture
def helper_client(helper) -> Client:
    client = Client()
    client.force_login(helper)
    return client
