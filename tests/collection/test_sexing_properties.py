"""What must hold for any evidence of sex."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from collection.sexing import Finding, Method, Observation, Verdict, update, weigh

chances = st.floats(0, 1)
likely = st.floats(1e-6, 1)
looks = st.builds(
    Observation,
    st.sampled_from(Method),
    st.sampled_from(Finding),
    on=st.none() | st.dates(date(2020, 1, 1), date(2026, 12, 31)),
    size_mm=st.none() | st.floats(1, 300),
    intact=st.booleans(),
    magnified=st.booleans(),
    by=st.sampled_from(["", "A", "B"]),
    molt=st.none() | st.integers(1, 4),
    confident=st.booleans(),
    taxon_exception=st.sampled_from(["", "no hooks", "no spermathecae"]),
)
evidence = st.lists(looks | st.tuples(likely, likely), max_size=8)


@given(chances, chances, chances)
def test_an_update_never_leaves_0_to_1(prior, female, male):
    assume(prior * female > 0 or (1 - prior) * male > 0)
    assert 0 <= update(prior, female, male) <= 1


@given(st.floats(0.001, 0.999), likely, likely)
def test_evidence_moves_the_chance_to_its_side(prior, female, male):
    moved = update(prior, female, male)
    assert (moved >= prior - 1e-12) if female >= male else (moved <= prior + 1e-12)


@given(st.floats(0.001, 0.999), likely, likely)
def test_the_other_sex_has_the_rest(prior, female, male):
    assert update(prior, female, male) + update(1 - prior, male, female) == pytest.approx(1)


@given(evidence, st.randoms(use_true_random=False))
def test_the_order_of_independent_evidence_does_not_matter(observations, rng):
    keys = [(o.method, o.by, o.molt) for o in observations if isinstance(o, Observation)]
    assume(len(set(keys)) == len(keys))
    mixed = observations.copy()
    rng.shuffle(mixed)
    before, after = weigh(observations), weigh(mixed)
    assert after.probability_female == pytest.approx(before.probability_female, abs=1e-9)
    assert after.conflict == before.conflict


@given(evidence)
def test_the_same_evidence_entered_twice_moves_nothing(observations):
    looks_only = [seen for seen in observations if isinstance(seen, Observation)]
    once, twice = weigh(looks_only), weigh(looks_only + looks_only)
    assert twice.probability_female == pytest.approx(once.probability_female, abs=1e-9)


@settings(max_examples=200)
@given(evidence)
def test_a_sure_verdict_has_its_chance_and_every_step_has_its_words(observations):
    found = weigh(observations)
    if found.verdict is Verdict.FEMALE:
        assert found.probability_female >= 0.99
    if found.verdict is Verdict.MALE:
        assert found.probability_female <= 0.01 + 1e-12
    assert len(found.reasons) == len(observations)
    assert all(reason.text.endswith(".") and 0 <= reason.moves_to <= 1 for reason in found.reasons)


@given(evidence)
def test_evidence_may_come_in_any_row_and_in_plain_words(observations):
    plain = [
        replace(seen, method=seen.method.value, finding=seen.finding.value)
        if isinstance(seen, Observation)
        else [*seen]
        for seen in observations
    ]
    assert weigh(iter(plain)).probability_female == weigh(observations).probability_female


def test_a_word_that_is_none_of_ours_is_refused():
    with pytest.raises(ValueError, match="“horoscope” is not one of exuvia, ventral"):
        Observation("horoscope", "female")
    with pytest.raises(ValueError, match="“yes” is not one of female, male, unclear"):
        Observation("exuvia", "yes")


def test_a_verdict_is_itself_in_both_spellings():
    found = weigh([(0.9, 0.1)]).verdict
    assert found == "probably female" == found == "probably_female" == found is Verdict.PROBABLY_FEMALE
    assert found != "female"
    assert (found != "probably female") is False
    assert {found: 1}["probably_female"] == 1


@given(evidence)
def test_what_is_not_counted_moves_nothing(observations):
    before = 0.5
    for reason in weigh(observations).reasons:
        assert reason.counted or reason.moves_to == before
        before = reason.moves_to
