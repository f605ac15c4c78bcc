"""What was taken out comes back as the same: the whole invented collection, in every kind of file."""

from datetime import date
from itertools import product

import pytest
from django.test import Client
from django.urls import reverse

from collection.importing import batches
from collection.models import Molt, Specimen
from config.demo import accounts, load
from husbandry.models import Feeding

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine("2026-11-25T09:00:00+00:00", tick=False)]
TODAY = date(2026, 11, 25)
FORMS = ("xlsx", "csv", "csv-local")


def said_of(client, kind, form):
    """What an import says of each row of an exported file, of those that are not the same."""
    answer = client.get(reverse("collection:export-file", args=[kind]), {"as": form, "status": "all"})
    data = b"".join(answer.streaming_content)
    answer.close()
    name = f"list.{'xlsx' if form == 'xlsx' else 'csv'}"
    batch = batches.receive(data, name, kind, None, TODAY)
    batches.preview(batch, TODAY)
    return batch.counts["same"], [row[1:] for row in batch.rows if row[2] != "same"]


def test_an_exported_collection_comes_back_as_the_same(settings, tmp_path, django_user_model):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "photos"
    accounts.ensure(TODAY)
    load.load(TODAY)
    client = Client()
    client.force_login(django_user_model.objects.get(is_superuser=True))
    many = {
        "animals": Specimen.objects.count(),
        "molts": Molt.objects.filter(animals=None).count(),
        "feedings": Feeding.objects.count(),
    }
    for kind, form in product(many, FORMS):
        assert said_of(client, kind, form) == (many[kind], []), (kind, form)
