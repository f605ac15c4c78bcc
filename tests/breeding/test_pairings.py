"""Which females wait for a sac: since when, until when, and what ends the wait."""

from datetime import date, timedelta

import pytest

from breeding import attention_sources, pairings, sacwatch, watching
from breeding import services as breeding
from breeding.models import Meeting, Pairing, Sign
from collection import attention, dues, services
from collection.dates import FuzzyDate
from collection.models import Due
from collection.services import Refused
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY, PAIRED = make.TODAY, date(2026, 9, 1)
LOW, HIGH = sacwatch.wait_window(sacwatch.sac_forecast(sacwatch.sac_prior(2, 4)), 0.8)


@pytest.fixture
def dam():
    """A grown female, last molted well before she was paired."""
    specimen = make.female()
    make.molted(specimen, date(2026, 3, 1))
    return specimen


def due(animal):
    return animal.dues.filter(kind="sac").first()


def waits_since(animal):
    found = due(animal)
    return found.facts["paired"] if found else None


def days(n):
    return timedelta(days=n)


def test_the_window_opens_and_closes_by_the_range_of_the_taxon(dam):
    make.paired(dam, PAIRED)
    found = due(dam)
    assert (found.wanted_on, found.facts["closes"]) == (PAIRED + days(LOW), str(PAIRED + days(HIGH)))
    assert found.ends_on == PAIRED + days(HIGH + attention_sources.WAIT_ON_DAYS)
    assert found.wanted_on < found.due_on < PAIRED + days(HIGH)


def test_the_sentence_gives_the_pairing_and_the_window(dam):
    make.paired(dam, PAIRED)
    kind = attention.due_kinds["sac"]
    open_, over = (kind.say(dues.as_stored(due(dam)), day) for day in (TODAY, PAIRED + days(HIGH + 1)))
    assert (open_.plate, over.plate) == ("sac window open", "window over")
    assert open_.sentence == ("Paired 1 September; a sac is to be expected between 24 October and 18 January 2027.")


def test_a_pairing_known_to_a_month_opens_early_and_closes_late(dam):
    make.paired(dam, date(2026, 9, 1), date(2026, 9, 30))
    assert waits_since(dam) == "2026-09"
    assert due(dam).wanted_on == date(2026, 9, 1) + days(LOW)
    assert due(dam).facts["closes"] == str(date(2026, 9, 30) + days(HIGH))


def molt(dam, day):
    make.molted(dam, day)


def sac(dam, day):
    make.laid(dam, day)


def death(dam, day):
    make.died(dam, day)


def leaving(dam, day):
    make.left(dam, day)


def lending(dam, day):
    make.left(dam, day, kind="loan_out")


@pytest.mark.parametrize("end", [molt, sac, death, leaving, lending])
def test_the_wait_is_ended_by(end, dam):
    make.paired(dam, PAIRED)
    end(dam, date(2026, 11, 1))
    assert due(dam) is None


@pytest.mark.parametrize("before", [molt, sac])
def test_what_was_before_the_pairing_ends_nothing(before, dam):
    before(dam, date(2026, 8, 1))
    make.paired(dam, PAIRED)
    assert waits_since(dam) == "2026-09-01"


@pytest.mark.parametrize("end", [molt, sac])
def test_a_pairing_after_it_starts_a_new_wait(end, dam):
    make.paired(dam, date(2026, 5, 1))
    end(dam, date(2026, 8, 1))
    make.paired(dam, PAIRED)
    assert waits_since(dam) == "2026-09-01"


def test_a_pairing_on_the_day_of_a_molt_is_taken_to_be_before_it(dam):
    make.paired(dam, PAIRED)
    make.molted(dam, PAIRED)
    assert due(dam) is None


def test_of_several_pairings_the_last_counts(dam):
    for day in (PAIRED, date(2026, 10, 1), date(2026, 9, 15)):
        make.paired(dam, day, insertions_left=1)
    assert waits_since(dam) == "2026-10-01"


def test_a_later_meeting_without_insertion_does_not_start_the_wait_anew(dam):
    make.paired(dam, PAIRED, insertions_left=1, insertions_right=1)
    make.paired(dam, date(2026, 10, 1), insertions_left=0)
    make.paired(dam, date(2026, 10, 20))
    assert waits_since(dam) == "2026-09-01"


def test_where_none_was_seen_a_meeting_that_nobody_watched_may_have_worked(dam):
    make.paired(dam, PAIRED)
    make.paired(dam, date(2026, 10, 1), insertions_left=0)
    assert waits_since(dam) == "2026-09-01"


def test_meetings_watched_in_vain_still_count_as_pairings(dam):
    make.paired(dam, PAIRED, insertions_left=0, insertions_right=0)
    assert waits_since(dam) == "2026-09-01"


def test_a_planned_pairing_is_none_yet(dam):
    breeding.record_pairing(Pairing(female=dam, planned_for=TODAY))
    assert due(dam) is None


def test_a_female_without_a_molt_on_record_waits_and_says_that_it_is_not_known():
    dam = make.female()
    make.paired(dam, PAIRED)
    (row,) = watching.waiting(Due.objects.of("sac"), TODAY)
    assert (row.outlook.molt_known, row.outlook.molt_first) == (False, 0)


def test_a_paired_female_of_no_known_size_is_taken_to_be_grown(dam):
    assert dam.standing.stage == "unknown"
    make.paired(dam, PAIRED)
    (row,) = watching.waiting(Due.objects.of("sac"), TODAY)
    assert row.outlook.molt_known
    assert 0 < row.outlook.molt_first < 1


def test_a_taxon_without_a_figure_gives_no_window():
    dam = make.female(taxon__sac_months_min=None, taxon__sac_months_max=None)
    make.paired(dam, PAIRED)
    assert due(dam) is None
    assert pairings.outlook_of(dam, pairings.inseminations([dam.pk])[dam.pk], sacwatch.TaxonRecord(), [], TODAY) is None


def test_what_became_of_one_moves_the_window_of_the_others_of_her_taxon(dam):
    sister = make.female(taxon=dam.taxon)
    make.paired(dam, PAIRED)
    make.paired(sister, date(2026, 1, 1))
    before = due(dam).due_on
    make.laid(sister, date(2026, 2, 10))
    assert due(dam).due_on < before
    breeding.remove_sac(sister.sacs.get())
    assert due(dam).due_on == before


def test_a_pairing_taken_away_no_longer_moves_the_others(dam):
    sister = make.female(taxon=dam.taxon)
    make.paired(dam, PAIRED)
    before = due(dam).due_on
    meeting = make.paired(sister, date(2026, 1, 1))
    make.molted(sister, date(2026, 12, 1))
    assert due(dam).due_on > before
    services.remove(meeting, [sister], "not paired after all")
    assert due(dam).due_on == before


def test_another_taxon_moves_nothing(dam):
    other = make.female()
    make.paired(dam, PAIRED)
    before = due(dam).due_on
    make.paired(other, date(2026, 1, 1))
    make.laid(other, date(2026, 2, 10))
    assert due(dam).due_on == before


def test_the_records_of_a_taxon_are_sacs_and_molts_after_the_last_effective_pairing(dam):
    make.paired(dam, PAIRED, insertions_left=2)
    make.paired(dam, PAIRED + days(10), insertions_left=0)
    make.laid(dam, PAIRED + days(70))
    make.paired(dam, PAIRED + days(100))
    make.molted(dam, PAIRED + days(160))
    make.molted(dam, PAIRED + days(400))
    record = pairings.taxon_records([dam.taxon_id], TODAY)[dam.taxon_id]
    assert record == sacwatch.TaxonRecord((70.0,), (60.0,), 1, 1)


def test_a_pairing_on_the_day_of_the_end_before_it_is_no_record(dam):
    make.paired(dam, PAIRED)
    make.laid(dam, PAIRED)
    make.molted(dam, PAIRED + days(90))
    assert pairings.taxon_records([dam.taxon_id], TODAY) == {}


def test_signs_of_the_last_weeks_move_the_odds_and_older_ones_do_not(dam):
    make.paired(dam, PAIRED)

    def soon():
        (row,) = watching.waiting(Due.objects.of("sac"), TODAY)
        return row.outlook.sac_soon

    plain = soon()
    breeding.record_sign(Sign(female=dam, kind="webbing", earliest=date(2026, 10, 1), latest=date(2026, 10, 1)))
    assert soon() == plain
    breeding.record_sign(Sign(female=dam, kind="webbing", earliest=TODAY, latest=TODAY))
    assert soon() > plain


def test_several_insertions_are_added_up(dam):
    make.paired(dam, PAIRED, insertions_left=2, insertions_right=1)
    make.paired(dam, PAIRED + days(3), insertions_left=1)
    found = pairings.inseminations([dam.pk])[dam.pk]
    assert (found.insertions, found.paired) == (4, FuzzyDate.on(PAIRED + days(3)))


def test_a_female_that_is_male_by_the_evidence_is_not_paired():
    with pytest.raises(Refused, match="The evidence says that M-1 is a male"):
        make.paired(make.male(code="M-1"), PAIRED)


def test_a_male_that_is_female_by_the_evidence_is_not_paired(dam):
    with pytest.raises(Refused, match="The evidence says that F-1 is a female"):
        make.paired(dam, PAIRED, sire=make.female(code="F-1", taxon=dam.taxon))


def test_an_animal_is_not_paired_with_itself():
    alone = make.SpecimenFactory()
    with pytest.raises(Refused, match="takes two animals"):
        make.paired(alone, PAIRED, sire=alone)


def test_two_taxa_are_paired_only_with_a_reason(dam):
    stranger = make.male()
    with pytest.raises(Refused, match="Say why two taxa are paired"):
        make.paired(dam, PAIRED, sire=stranger)
    pairing = Pairing(female=dam, male=stranger, cross_reason="the last of both lines")
    assert breeding.record_pairing(pairing).pk


def test_a_meeting_with_a_dead_male_is_refused_and_leaves_no_pairing(dam):
    sire = make.male(taxon=dam.taxon)
    make.died(sire, date(2026, 8, 1))
    with pytest.raises(Refused, match="died on"):
        make.paired(dam, PAIRED, sire=sire)
    assert (Pairing.objects.count(), Meeting.objects.count()) == (0, 0)


def test_one_more_meeting_joins_the_running_pairing(dam):
    sire = make.male(taxon=dam.taxon)
    first = make.paired(dam, PAIRED, sire=sire).pairing
    assert breeding.running_pairing(dam, sire) == first
    assert breeding.running_pairing(dam, None) is None


@pytest.mark.parametrize("end", [molt, sac])
def test_after_a_molt_or_a_sac_the_same_two_make_a_new_pairing(end, dam):
    sire = make.male(taxon=dam.taxon)
    make.paired(dam, PAIRED, sire=sire)
    end(dam, date(2026, 11, 1))
    assert breeding.running_pairing(dam, sire) is None
