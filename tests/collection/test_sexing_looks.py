"""What counts how much: shared looks, counts, weak looks, the words of a verdict, and what a next look could tell."""

import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.sexing import (
    COUNTED,
    DEFAULT,
    GUIDES,
    Finding,
    Method,
    Observation,
    Verdict,
    finding_of_count,
    is_settled,
    look_for,
    methods_for,
    methods_of_taxon,
    next_looks,
    say_row,
    say_weight,
    speaking,
    tell,
    weigh,
)
from collection.stages import Group

SEEN = Observation(Method.EXUVIA, Finding.FEMALE, size_mm=90, molt="first", on=date(2026, 3, 1))
ODDS = math.log(0.96 / 0.01)
MIRRORED = {
    Verdict.PROBABLY_FEMALE: Verdict.PROBABLY_MALE,
    Verdict.PROBABLY_MALE: Verdict.PROBABLY_FEMALE,
    Verdict.UNSEXED: Verdict.UNSEXED,
}


def odds(verdict):
    return math.log(verdict.probability_female) - math.log1p(-verdict.probability_female)


@pytest.mark.parametrize(("readers", "each"), [(1, 1), (2, 2 / 3), (3, 1 / 2), (5, 1 / 3)])
def test_people_who_read_one_skin_share_its_errors(readers, each):
    """Kish's design effect of k looks that correlate by one half is 1 + (k − 1)/2."""
    verdict = weigh([replace(SEEN, by=f"reader {n}") for n in range(readers)])
    assert odds(verdict) == pytest.approx(readers * each * ODDS)
    assert all(reason.weight == pytest.approx(each * ODDS) for reason in verdict.reasons)
    assert ("looked at the same" in verdict.reasons[0].text) is (readers > 1)


def test_two_skins_are_not_tempered_and_the_name_of_the_reader_has_no_case():
    assert odds(weigh([SEEN, replace(SEEN, molt="second")])) == pytest.approx(2 * ODDS)
    assert not all(reason.counted for reason in weigh([replace(SEEN, by="Ada"), replace(SEEN, by=" ada ")]).reasons)


def test_two_sellers_are_two_sellers():
    words = [Observation(Method.SELLER, Finding.FEMALE, by=name) for name in ("one", "two")]
    assert odds(weigh(words)) == pytest.approx(2 * math.log(0.65 / 0.40))


def test_a_flood_of_evidence_can_still_be_outweighed():
    """Chances rounded to 1 would never come back; log odds do."""
    flood = [(0.999, 0.001)] * 200
    assert weigh([*flood, *[(0.001, 0.999)] * 200]).probability_female == pytest.approx(0.5)
    assert weigh([*flood, *[(0.001, 0.999)] * 201]).verdict is Verdict.PROBABLY_MALE
    assert weigh(flood).probability_female == 1


@given(st.lists(st.tuples(st.floats(1e-6, 1), st.floats(1e-6, 1)), max_size=6))
def test_the_sexes_mirror_each_other(pairs):
    there, back = weigh(pairs), weigh([(male, female) for female, male in pairs])
    assert there.probability_female == pytest.approx(1 - back.probability_female, abs=1e-12)
    assert there.conflict == back.conflict
    if min(abs(there.probability_female - edge) for edge in (0.2, 0.8)) > 1e-9:
        assert back.verdict is MIRRORED[there.verdict]


def test_odds_of_four_to_one_are_probable_for_either_sex():
    assert weigh([(0.4, 0.1)]).verdict is Verdict.PROBABLY_FEMALE
    assert weigh([(0.1, 0.4)]).verdict is Verdict.PROBABLY_MALE
    assert weigh([(0.399, 0.1)]).verdict is Verdict.UNSEXED


def test_certain_of_both_sexes_is_impossible():
    assert weigh([(0.5, 0)]).probability_female == 1
    for pairs in ([(0.5, 0), (0, 0.5)], [(0, 0)]):
        with pytest.raises(ValueError, match="impossible for a female and for a male"):
            weigh(pairs)
    with pytest.raises(ValueError, match="impossible"):
        weigh([(0, 0.5)], prior_female=1)
    with pytest.raises(ValueError, match="between 0 and 1"):
        weigh([(1.5, 0.5)])
    with pytest.raises(ValueError, match="between 0 and 1"):
        weigh([], prior_female=math.nan)


@pytest.mark.parametrize(
    ("weak", "row"),
    [
        (Observation(Method.PECTINES, Finding.MALE, weak=True), "pectines, by eye"),
        (Observation(Method.SEGMENTS, Finding.MALE, weak=True), "segments, before L5"),
    ],
)
def test_what_was_not_compared_or_is_too_small_weighs_less_and_is_no_proof(weak, row):
    female, male = DEFAULT[row].of(Finding.MALE)
    assert odds(weigh([weak])) == pytest.approx(math.log(female / male))
    twice = [weak, (0.001, 0.999)]
    assert weigh(twice).verdict is Verdict.PROBABLY_MALE
    assert weigh([replace(weak, weak=False), (0.001, 0.999)]).verdict is Verdict.MALE


def test_a_carapace_stands_in_for_a_leg_span_that_is_not_known():
    big = replace(SEEN, size_mm=None, carapace_mm=30, molt=None)
    assert weigh([big]).probability_female == weigh([SEEN]).probability_female
    assert "at 30 mm carapace" in weigh([big]).reasons[0].text
    with pytest.raises(ValueError, match="above zero"):
        weigh([replace(big, carapace_mm=math.nan)])


@pytest.mark.parametrize("row", DEFAULT)
def test_the_calls_of_one_sex_add_up_and_unclear_says_little(row):
    if len(speaking(row)) < 3:
        return
    chances = [DEFAULT[row].of(finding) for finding in Finding]
    assert [sum(of_sex) for of_sex in zip(*chances, strict=True)] == pytest.approx([1, 1])
    female, male = DEFAULT[row].of(Finding.UNCLEAR)
    assert 0.5 <= female / male <= 2
    assert say_row(row)[0].isupper()


@pytest.mark.parametrize(
    ("ratio", "says"),
    [
        (1, "speaks for neither"),
        (1.5, "hardly speaks for female"),
        (0.3, "speaks weakly for male"),
        (10, "speaks for female"),
        (0.01, "speaks strongly for male"),
        (999, "is near proof of a female"),
    ],
)
def test_weights_are_said_in_words(ratio, says):
    assert say_weight(math.log(ratio)) == says
    assert say_weight(math.inf) == "is near proof of a female"


@pytest.mark.parametrize(
    ("method", "counted", "ranges", "says"),
    [
        (Method.SEGMENTS, 6, (), Finding.FEMALE),
        (Method.SEGMENTS, 8, (), Finding.MALE),
        (Method.SEGMENTS, 7, (), Finding.UNCLEAR),
        (Method.PECTINES, 30, (), None),
        (Method.PECTINES, 22, ((18, 24), (26, 32)), Finding.FEMALE),
        (Method.PECTINES, 32, ((18, 24), (26, 32)), Finding.MALE),
        (Method.PECTINES, 25, ((18, 24), (26, 32)), Finding.UNCLEAR),
        (Method.PECTINES, 24, ((18, 26), (24, 32)), Finding.UNCLEAR),
        (Method.PECTINES, 24, ((18, None), (24, 32)), None),
    ],
)
def test_a_count_says_what_it_says(method, counted, ranges, says):
    assert finding_of_count(method, counted, *ranges) is says


@pytest.mark.parametrize(("method", "counted"), [(Method.EXUVIA, 6), (Method.SEGMENTS, 0)])
def test_nothing_else_is_counted(method, counted):
    with pytest.raises(ValueError, match="Only teeth of pectines and segments"):
        finding_of_count(method, counted)


def test_every_method_has_a_guide_and_a_taxon_offers_only_what_it_shows():
    assert set(GUIDES) == set(Method)
    assert set(COUNTED) <= set(Method)
    assert Method.DIMORPHISM not in methods_of_taxon(Group.TARANTULA)
    assert Method.DIMORPHISM in methods_of_taxon(Group.TARANTULA, dimorphism="the horn")
    assert Method.EPIGYNE not in methods_of_taxon(Group.TRUE_SPIDER, no_epigyne=True)
    assert Method.ATRIUM not in methods_of_taxon(Group.WHIP_SPIDER, family="Phrynichidae")
    assert Method.ATRIUM in methods_of_taxon(Group.WHIP_SPIDER, family="Thelyphonidae")
    assert "sac" not in look_for(Method.SAC, Group.SCORPION)


def test_a_verdict_is_told_in_one_sentence():
    seen = [SEEN, replace(SEEN, molt="second", on=date(2026, 8, 14))]
    assert tell(seen, weigh(seen)) == "Spermathecae seen in 2 exuviae, last on 14 August 2026."
    seen = [SEEN, replace(SEEN, by="another")]
    assert tell(seen, weigh(seen)).startswith("Spermathecae seen in an exuvia")
    seen = [SEEN, Observation(Method.MATURE_MALE, Finding.MALE)]
    assert tell(seen, weigh(seen)).startswith("Bulbs or hooks seen; but spermathecae seen in an exuvia")
    assert tell([], weigh([])) == ""
    assert tell([Observation(Method.MATURE_MALE, Finding.UNCLEAR)], weigh([])) == ""


def test_a_next_look_tells_what_each_finding_would_lead_to():
    """After one skin of a female, another that shows the same: 96² to 1."""
    like = replace(SEEN, magnified=True)
    exuvia = next(look for look in next_looks([SEEN], [Method.EXUVIA], like) if look.method is Method.EXUVIA)
    female, male, unclear = exuvia.prospects
    now = 0.96 / 0.97
    assert female.probability_female == pytest.approx(96**2 / (96**2 + 1))
    assert female.chance == pytest.approx(now * 0.96 + (1 - now) * 0.01)
    assert female.chance + male.chance + unclear.chance == pytest.approx(1)
    assert (female.verdict, is_settled(female), is_settled(male)) == (Verdict.FEMALE, True, False)
    assert exuvia.settles == pytest.approx(female.chance)


def test_next_looks_leave_out_what_says_nothing():
    like = replace(SEEN, size_mm=20)
    looks = next_looks([], methods_for(Group.TARANTULA), like)
    assert {look.method for look in looks} == {Method.EXUVIA, Method.MATURE_MALE, Method.PALPS, Method.DIMORPHISM}
    hooks = next(look for look in looks if look.method is Method.MATURE_MALE)
    assert [prospect.finding for prospect in hooks.prospects] == [Finding.MALE]
    assert [look.settles for look in looks] == sorted((look.settles for look in looks), reverse=True)
    lacking = replace(like, taxon_exception="no spermathecae")
    [skin] = next_looks([], [Method.EXUVIA], lacking)
    assert [prospect.finding for prospect in skin.prospects] == [Finding.FEMALE]
