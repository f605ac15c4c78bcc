"""Sex from evidence: arithmetic against published cases, and what counts and what does not."""

import math
from dataclasses import replace
from datetime import date

import pytest

from collection.sexing import DEFAULT, Finding, Likelihoods, Method, Observation, Verdict, methods_for, update, weigh
from collection.stages import Group
from tests.reference import rows

SPERMATHECAE = Observation(Method.EXUVIA, Finding.FEMALE, size_mm=90, molt="first", on=date(2026, 3, 1))
NOTHING_SEEN = replace(SPERMATHECAE, finding=Finding.MALE)
BULBS = Observation(Method.MATURE_MALE, Finding.MALE)
SAC = Observation(Method.SAC, Finding.FEMALE)


def pairs(text: str) -> list[tuple[float, float]]:
    return [(float(f), float(m)) for f, m in (word.split("/") for word in text.split())]


@pytest.mark.parametrize("row", rows("sex_updates"), ids=lambda row: f"{row['id']} {row['evidence']}")
def test_updates_equal_the_reference(row):
    verdict = weigh(pairs(row["evidence"]), float(row["prior"]))
    assert verdict.probability_female == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("liver_scan"), ids=lambda row: row["prevalence"])
def test_predictive_values_equal_altman_and_bland(row):
    """BMJ 309:102, 1994: 231 of 258 abnormal and 32 of 86 normal livers looked abnormal on the scan."""
    prevalence, tolerance = float(row["prevalence"]), float(row["tolerance"])
    positive = update(prevalence, 231 / 258, 32 / 86)
    negative = 1 - update(prevalence, 27 / 258, 54 / 86)
    assert positive == pytest.approx(float(row["positive_predictive_value"]), abs=tolerance)
    assert negative == pytest.approx(float(row["negative_predictive_value"]), abs=tolerance)


def test_nothing_seen_leaves_the_prior():
    assert weigh([]) == weigh([], 0.5)
    assert weigh([]).probability_female == 0.5
    assert weigh([]).verdict is Verdict.UNSEXED


def test_spermathecae_seen_twice_make_a_female():
    verdict = weigh([SPERMATHECAE, replace(SPERMATHECAE, molt="second", on=date(2026, 9, 1))])
    assert verdict.verdict is Verdict.FEMALE
    assert verdict.probability_female == pytest.approx(0.96**2 / (0.96**2 + 0.01**2))


def test_the_same_exuvia_read_twice_by_one_person_counts_once_and_the_latest():
    later = replace(NOTHING_SEEN, on=date(2026, 3, 9))
    verdict = weigh([later, SPERMATHECAE])
    assert [reason.counted for reason in verdict.reasons] == [True, False]
    assert "looked at again" in verdict.reasons[1].text
    assert verdict.probability_female == weigh([later]).probability_female


def test_the_same_exuvia_read_by_two_people_counts_twice():
    assert all(reason.counted for reason in weigh([SPERMATHECAE, replace(SPERMATHECAE, by="B")]).reasons)


def test_a_seller_repeating_the_word_counts_once():
    word = Observation(Method.SELLER, Finding.FEMALE, by="seller")
    assert weigh([word, replace(word, on=date(2026, 5, 1))]).probability_female == weigh([word]).probability_female


def test_bulbs_and_sacs_are_near_proof():
    assert weigh([BULBS]).verdict is Verdict.MALE
    assert weigh([SAC]).verdict is Verdict.FEMALE
    assert weigh([SAC]).probability_female == pytest.approx(0.999)


@pytest.mark.parametrize(
    "silent",
    [
        Observation(Method.MATURE_MALE, Finding.FEMALE),
        Observation(Method.MATURE_MALE, Finding.UNCLEAR),
        Observation(Method.SAC, Finding.MALE),
        Observation(Method.RECORD, Finding.UNCLEAR),
        replace(NOTHING_SEEN, taxon_exception="no spermathecae"),
        replace(NOTHING_SEEN, finding=Finding.UNCLEAR, intact=False),
        Observation(Method.VENTRAL, Finding.MALE, size_mm=20),
        Observation(Method.PECTINES, Finding.MALE, taxon_exception="pectines overlap"),
    ],
)
def test_what_says_nothing_weighs_nothing_and_says_so(silent):
    verdict = weigh([silent])
    assert verdict.probability_female == 0.5
    assert not verdict.reasons[0].counted
    assert "not counted" in verdict.reasons[0].text


def test_a_hookless_taxon_does_not_silence_an_exuvia():
    assert weigh([replace(NOTHING_SEEN, taxon_exception="no hooks")]).reasons[0].counted


def test_spermathecae_seen_count_even_where_the_taxon_is_said_to_lack_them():
    assert weigh([replace(SPERMATHECAE, taxon_exception="no spermathecae")]).reasons[0].counted


@pytest.mark.parametrize(
    ("observation", "row"),
    [
        (SPERMATHECAE, "exuvia, 60 mm and more"),
        (replace(SPERMATHECAE, size_mm=62, magnified=True), "exuvia, 60 mm and more"),
        (replace(SPERMATHECAE, size_mm=62), "exuvia, 30–60 mm"),
        (replace(SPERMATHECAE, intact=False), "exuvia, 30–60 mm"),
        (replace(SPERMATHECAE, size_mm=None), "exuvia, 30–60 mm"),
        (replace(SPERMATHECAE, size_mm=30, magnified=True), "exuvia, 30–60 mm"),
        (replace(SPERMATHECAE, size_mm=29.9, magnified=True), "exuvia, below 30 mm"),
        (replace(SPERMATHECAE, size_mm=12, intact=False), "exuvia, below 30 mm"),
        (Observation(Method.VENTRAL, Finding.FEMALE, size_mm=60), "ventral, 60 mm and more"),
        (Observation(Method.VENTRAL, Finding.FEMALE, size_mm=45), "ventral, 30–60 mm"),
        (Observation(Method.RECORD, Finding.FEMALE), "record"),
        (Observation(Method.RECORD, Finding.FEMALE, confident=False), "record, with a doubt"),
    ],
)
def test_likelihoods_follow_size_skin_and_loupe(observation, row):
    female, male = DEFAULT[row].of(Finding.FEMALE)
    assert weigh([observation]).probability_female == pytest.approx(female / (female + male))


def test_an_unsure_call_weighs_the_root_of_a_sure_one():
    sure, unsure = (weigh([replace(SPERMATHECAE, confident=known)]).probability_female for known in (True, False))
    assert unsure / (1 - unsure) == pytest.approx(math.sqrt(sure / (1 - sure)))


def test_a_high_chance_without_a_hard_structure_is_only_probable():
    males = [replace(NOTHING_SEEN, molt=number) for number in range(3)]
    assert weigh(males).probability_female < 0.01
    assert weigh(males).verdict is Verdict.PROBABLY_MALE
    assert weigh([(0.98, 0.02)] * 3).verdict is Verdict.PROBABLY_FEMALE


def test_verdicts_change_at_80_percent():
    assert weigh([(0.8, 0.2)]).verdict is Verdict.PROBABLY_FEMALE
    assert weigh([(0.79, 0.21)]).verdict is Verdict.UNSEXED
    assert weigh([(0.19, 0.81)]).verdict is Verdict.PROBABLY_MALE


def test_strong_evidence_on_both_sides_is_a_conflict():
    assert weigh([NOTHING_SEEN, SAC]).conflict
    assert not weigh([SPERMATHECAE, SAC]).conflict
    assert not weigh([Observation(Method.VENTRAL, Finding.MALE, size_mm=70), SAC]).conflict


def test_evidence_that_was_not_counted_makes_no_conflict():
    assert not weigh([replace(NOTHING_SEEN, taxon_exception="no spermathecae"), SAC]).conflict


def test_reasons_tell_the_story_in_order():
    reasons = weigh([SPERMATHECAE, (0.5, 0.25), SAC]).reasons
    assert [reason.observation for reason in reasons] == [0, 1, 2]
    assert reasons[0].text.startswith("Exuvia: female at 90 mm on 1 March 2026")
    assert reasons[0].moves_to == pytest.approx(0.96 / 0.97)
    assert reasons[-1].moves_to == weigh([SPERMATHECAE, (0.5, 0.25), SAC]).probability_female


def test_the_table_can_be_replaced():
    mine = {**DEFAULT, "sac": Likelihoods(0.9, 0.3, 0.1, 0.1, 0.5, 0.5, "as I see it")}
    assert weigh([SAC], likelihoods=mine).probability_female == pytest.approx(0.75)


@pytest.mark.parametrize("row", DEFAULT.values(), ids=DEFAULT.keys())
def test_every_likelihood_is_a_chance(row):
    assert all(0 < value < 1 for finding in Finding for value in row.of(finding))


def test_each_group_has_its_own_methods():
    assert methods_for(Group.TARANTULA)[0] is Method.EXUVIA
    assert methods_for(Group.MANTIS)[0] is Method.SEGMENTS
    assert methods_for(Group.SCORPION)[0] is Method.PECTINES
    for group in set(Group) - {Group.TARANTULA}:
        assert Method.EXUVIA not in methods_for(group)
        assert Method.RECORD in methods_for(group)


@pytest.mark.parametrize("values", [(-0.1, 0.5, 0.5), (0.5, 1.2, 0.5), (0.5, 0.5, math.nan), (math.nan, 0.5, 0.5)])
def test_chances_outside_0_to_1_are_refused(values):
    with pytest.raises(ValueError, match="between 0 and 1"):
        update(*values)


@pytest.mark.parametrize("values", [(0.5, 0, 0), (1, 0, 0.5), (0, 0.5, 0)])
def test_evidence_impossible_for_both_sexes_is_refused(values):
    with pytest.raises(ValueError, match="impossible for a female and for a male"):
        update(*values)


def test_a_size_that_is_none_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        weigh([replace(SPERMATHECAE, size_mm=-3)])
