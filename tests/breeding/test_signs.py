"""The table of signs: shipped, changed by the keeper, reset, taken back; and which signs a group shows."""

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from breeding import signs
from breeding.forms import SignForm
from breeding.models import Sign, SignRatio
from breeding.models.signs import weights_in_force
from breeding.services import record_sign
from breeding.watching import waiting
from collection.models import Due, Receipt
from collection.stages import Group
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
SURE = {"ratio": "10", "because": "my own twenty"}


def address(name, *args):
    return reverse(f"breeding:sign-ratio{name}", args=args)


def seen(kind):
    dam = make.female()
    make.paired(dam, make.date(2026, 9, 20))
    record_sign(Sign(female=dam, kind=kind, earliest=make.TODAY, latest=make.TODAY))
    return lambda: next(waiting(Due.objects.of("sac"), make.TODAY))


def test_the_keepers_ratio_moves_every_chance_and_can_be_taken_back(keeper_client):
    row = seen("webbing")
    before = row().outlook.sac_soon
    assert keeper_client.post(address("-edit", "webbing"), SURE).status_code == 302
    assert row().outlook.sac_soon > before
    said = keeper_client.get(address("s")).content.decode()
    assert "my own twenty" in said
    assert "yours" in said
    keeper_client.post(reverse("collection:undo", args=[Receipt.objects.latest("pk").pk]))
    assert row().outlook.sac_soon == before
    assert weights_in_force() == signs.DEFAULT


def test_a_row_is_reset_to_what_was_shipped(keeper_client):
    keeper_client.post(address("-edit", "webbing"), SURE)
    assert "Take the shipped ratio again" in keeper_client.get(address("-edit", "webbing")).content.decode()
    keeper_client.post(address("-reset", "webbing"))
    assert not SignRatio.objects.exists()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"ratio": "0"}, "from 0.01 to 100"),
        ({"ratio": "1000"}, "from 0.01 to 100"),
        ({"because": ""}, "This field is required."),
    ],
)
def test_proof_and_a_figure_without_a_reason_are_refused(keeper_client, typed, says):
    answer = keeper_client.post(address("-edit", "webbing"), SURE | typed)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not SignRatio.objects.exists()


@pytest.mark.parametrize("name", ["-edit", "-reset"])
def test_a_sign_that_is_none_is_not_found(keeper_client, name):
    assert keeper_client.post(address(name, "horoscope"), SURE).status_code == 404


def test_a_weight_that_would_be_proof_is_refused():
    with pytest.raises(ValueError, match="multiplies the odds by"):
        signs.SignWeight(0, "never")


def test_every_sign_has_a_row_a_word_and_a_choice():
    assert set(signs.DEFAULT) == set(signs.WORDS) == set(Sign.Kind.values)
    for group in Group:
        assert set(signs.shown_by(group)) <= set(signs.DEFAULT)


@given(st.lists(st.sampled_from(sorted(signs.DEFAULT))))
def test_signs_count_once_in_any_order(kinds):
    assert signs.sign_ratio(kinds) == pytest.approx(signs.sign_ratio(sorted(kinds * 2)))


@pytest.mark.parametrize(
    ("group", "never"),
    [
        ("scorpion", "web"),
        ("mantis", "burrow"),
        ("true_spider", "bald"),
        ("centipede", "retreat"),
        ("stick_insect", "web"),
    ],
)
def test_a_group_is_offered_its_own_signs_in_its_own_words(group, never):
    form = SignForm(specimen=make.SpecimenFactory(taxon__group=group))
    words = " ".join(word for _, word in form.fields["kind"].choices)
    assert never not in words
    assert "nothing new" in words
