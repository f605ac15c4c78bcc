"""The chance of premolt: odds of the forecast times stated ratios. Arithmetic by hand; the ratios are assumptions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.intervals import IntervalPrior, update
from collection.premolt import (
    WEIGHTS,
    PremoltSign,
    forecast_chance,
    premolt_days,
    premolt_likelihood,
    signs_for,
)
from collection.stages import Group

CHANCES = st.none() | st.floats(0, 1)
SIGNS = st.lists(st.sampled_from([sign.value for sign in PremoltSign]), max_size=6)


def test_the_forecast_alone_is_passed_through():
    found = premolt_likelihood(0.31)
    assert (round(found.probability, 6), found.word) == (0.31, "possible")


def test_refusals_and_signs_multiply_the_odds():
    # Odds .3/.7 · 3.0 (refused twice) · 8.0 (bald patch dark) = 10.2857: 91.1 %.
    found = premolt_likelihood(0.3, 2, ["bald_dark"], days_since_molt=310)
    assert found.probability == pytest.approx(10.285714 / 11.285714, abs=1e-6)
    assert found.reason == (
        "Premolt very likely, 91 %: 310 days since the last molt, refused twice, bald patch darkened; "
        "by the molt forecast alone 30 %."
    )


def test_two_signs_of_one_kind_count_once():
    both = premolt_likelihood(0.3, 0, ["dark", "bald_dark"])
    assert both.probability == premolt_likelihood(0.3, 0, ["bald_dark"]).probability


def test_a_light_bald_patch_and_a_meal_speak_against_it():
    assert premolt_likelihood(0.5, 0, ["bald_light"]).probability == pytest.approx(1 / 6)
    assert premolt_likelihood(0.5, ate=True).probability == pytest.approx(0.4 / 1.4)


def test_a_light_bald_patch_outweighs_a_dark_abdomen_in_whatever_order():
    for signs in (["dark", "bald_light"], ["bald_light", "dark"]):
        assert premolt_likelihood(0.5, 0, signs).probability == pytest.approx(1 / 6)


def test_without_a_forecast_it_says_so():
    found = premolt_likelihood(None, 1)
    assert found.reason == "Premolt unlikely, 24 %: refused once; no molt forecast to go by."


def test_one_refusal_soon_after_a_molt_is_not_premolt():
    forecast = update(IntervalPrior(150, 2, 0.25, 3))
    assert premolt_likelihood(forecast_chance(forecast, 30), 2).word == "unlikely"
    assert premolt_likelihood(forecast_chance(forecast, 150), 2).likely


def test_premolt_lasts_a_share_of_the_interval_and_never_less_than_days():
    assert premolt_days(update(IntervalPrior(400, 2, 0.25, 3))) == pytest.approx(60)
    assert premolt_days(update(IntervalPrior(10, 2, 0.25, 3))) == 3


def test_each_group_is_looked_at_with_its_own_eyes():
    assert PremoltSign.BALD_DARK not in signs_for(Group.MANTIS)
    assert PremoltSign.PADS not in signs_for(Group.TARANTULA)
    assert signs_for(Group.ISOPOD) == []


def test_every_sign_has_a_weight_and_a_group():
    assert set(WEIGHTS) == set(PremoltSign) == {sign for group in Group for sign in signs_for(group)}


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        ((1.2,), "A chance lies between 0 and 1, not 1.2."),
        ((float("nan"),), "A chance lies between 0 and 1, not nan."),
        ((0.5, -1), "Refusals are counted from zero up, not -1."),
        ((0.5, 0, ["hungry"]), "“hungry” is no sign of premolt that is known here."),
    ],
)
def test_nonsense_is_refused_in_a_sentence(args, sentence):
    with pytest.raises(ValueError, match=sentence.replace(".", r"\.")):
        premolt_likelihood(*args)


def test_an_animal_that_ate_has_not_refused():
    with pytest.raises(ValueError, match="has not refused since its last meal"):
        premolt_likelihood(0.5, 2, ate=True)


@given(CHANCES, st.integers(0, 50), SIGNS)
def test_more_refusals_never_make_premolt_less_likely_and_it_is_never_certain(chance, refusals, signs):
    fewer, more = premolt_likelihood(chance, refusals, signs), premolt_likelihood(chance, refusals + 1, signs)
    assert 0.01 <= fewer.probability <= more.probability <= 0.98


@given(CHANCES, SIGNS)
def test_the_order_of_the_signs_does_not_matter(chance, signs):
    forward, backward = premolt_likelihood(chance, 0, signs), premolt_likelihood(chance, 0, signs[::-1])
    assert forward.probability == pytest.approx(backward.probability)
