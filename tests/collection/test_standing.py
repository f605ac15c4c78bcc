"""What the events of an animal add up to: status, sex, stage, size, molts, heads."""

from datetime import date

import pytest

from collection import services
from collection.models import GroupCount, Measurement, Molt
from tests import factories as make

pytestmark = pytest.mark.django_db
DAY, LATER = date(2026, 3, 1), date(2026, 6, 1)


def of(animal):
    return make.fresh(animal).standing


def measure(animal, day, **values):
    services.write(Measurement(specimen=animal, earliest=day, latest=day, **values), [animal], "measured")


@pytest.fixture
def animal():
    return make.SpecimenFactory()


def test_of_a_new_animal_nothing_is_known_but_that_it_is_here(animal):
    new = of(animal)
    assert (new.status, new.sex, new.sex_probability, new.stage, new.size_mm) == (
        "here",
        "unsexed",
        0.5,
        "unknown",
        None,
    )
    assert (new.last_molt, new.molt_begins, new.mature_since, new.head_count, new.single) == (None, None, None, 1, True)


def test_an_animal_on_loan_in_is_here_on_loan():
    assert make.SpecimenFactory(how="loan").standing.status == "loan_in"


@pytest.mark.parametrize("kind", ["passed_on", "loan_out", "missing"])
def test_an_open_departure_is_where_it_is(animal, kind):
    make.left(animal, DAY, kind=kind)
    assert of(animal).status == kind


def test_death_goes_before_absence(animal):
    make.left(animal, DAY, kind="missing")
    make.died(animal, LATER)
    assert of(animal).status == "dead"


def test_the_latest_size_counts_whether_measured_or_taken_at_a_molt(animal):
    measure(animal, LATER, leg_span_mm=90)
    make.molted(animal, DAY, leg_span_mm=80)
    assert of(animal).size_mm == 90
    make.molted(animal, date(2026, 7, 1), leg_span_mm=100)
    assert of(animal).size_mm == 100


def test_a_carapace_is_no_leg_span(animal):
    measure(animal, DAY, carapace_mm=20)
    assert of(animal).size_mm is None


def test_a_taxon_measured_by_its_body_takes_body_lengths_only():
    mantis = make.SpecimenFactory(taxon__group="mantis", taxon__size_measure="body", taxon__adult_size_min_mm=60)
    measure(mantis, DAY, body_mm=20, leg_span_mm=70)
    make.molted(mantis, LATER, leg_span_mm=90)
    assert of(mantis).size_mm == 20


@pytest.mark.parametrize(("leg_span", "stage"), [(20, "young"), (60, "growing"), (90, "subadult"), (120, "adult")])
def test_the_stage_follows_the_size_against_the_taxons(animal, leg_span, stage):
    measure(animal, DAY, leg_span_mm=leg_span)
    assert of(animal).stage == stage
    assert "of the adult size of 140 mm" in of(animal).stage_reason


@pytest.mark.parametrize(
    ("numbering", "instar", "stage"), [("i", 4, "young"), ("i", 5, "growing"), ("L", 4, "growing"), ("n", 4, "unknown")]
)
def test_without_a_size_the_stage_follows_the_instar_in_its_numbering(animal, numbering, instar, stage):
    make.molted(animal, DAY, instar=instar, numbering=numbering)
    assert (of(animal).stage, of(animal).instar) == (stage, instar)


def test_what_the_keeper_saw_last_holds(animal):
    measure(animal, LATER, stage_seen="subadult")
    measure(animal, DAY, stage_seen="young")
    assert of(animal).stage == "subadult"


def test_a_molt_to_maturity_makes_a_mature_male_since_that_day(animal):
    make.molted(animal, DAY, matured=True)
    assert (of(animal).sex, of(animal).stage, of(animal).mature_since) == ("male", "mature_male", DAY)


def test_bulbs_and_hooks_make_a_mature_male_as_well():
    assert make.male(DAY).standing.mature_since == DAY


def test_a_mature_male_that_is_female_by_the_weight_of_the_evidence_is_none(animal):
    make.molted(animal, DAY, matured=True)
    for day in (DAY, LATER):
        make.laid(animal, day)
        make.looked(animal, "female", day)
    assert of(animal).mature_since is None
    assert of(animal).sex_conflict


def test_a_mature_male_molts_no_more():
    male = make.male(DAY)
    make.molted(male, LATER)
    assert (of(male).last_molt, of(male).molt_begins) == (LATER, None)


def test_a_molt_found_later_counts_by_the_middle_of_its_range(animal):
    make.molted(animal, date(2026, 3, 1), date(2026, 3, 11))
    assert of(animal).last_molt == date(2026, 3, 6)


def test_the_next_molt_is_forecast_from_the_last(animal):
    measure(animal, DAY, leg_span_mm=120)
    make.molted(animal, DAY)
    now = of(animal)
    assert DAY < now.molt_begins < now.molt_likely < now.molt_ends


def test_the_verdict_and_what_speaks_for_it_are_kept():
    dam = make.female()
    assert dam.standing.sex == "probably_female"
    assert dam.standing.sex_reason == "Spermathecae seen in an exuvia, last on 5 January 2025."
    assert dam.standing.sex_probability == pytest.approx(0.96 / 0.97)  # exuvia, 60 mm and more: 0.96 against 0.01


def test_evidence_withdrawn_weighs_nothing():
    dam = make.female()
    row = dam.sex_evidence.get()
    row.withdrawn = "another skin"
    services.write(row, [dam], "withdrew")
    assert (of(dam).sex, of(dam).sex_reason) == ("unsexed", "")


def test_strong_evidence_of_both_sexes_is_a_conflict():
    dam = make.female()
    make.looked(dam, "male", LATER, looked_by="another")
    assert of(dam).sex_conflict


@pytest.mark.parametrize("trait", ["hookless", "no_spermathecae"])
def test_what_a_taxon_lacks_is_not_missed(trait):
    animal = make.SpecimenFactory(**{f"taxon__{trait}": True})
    method = "mature_male" if trait == "hookless" else "exuvia"
    make.looked(animal, "unclear" if trait == "hookless" else "male", method=method)
    assert of(animal).sex == "unsexed"


def test_a_group_is_counted_and_has_no_molt_to_come():
    group = make.SpecimenFactory(kind="group")
    for day, count in ((LATER, 25), (DAY, 30)):
        services.record_count(GroupCount(specimen=group, count=count, earliest=day, latest=day))
    services.record_molt(Molt(specimen=group, animals=5, earliest=DAY, latest=DAY))
    now = of(group)
    assert (now.head_count, now.single, now.stage, now.molt_begins) == (25, False, "culture", None)


def test_probably_is_enough_to_be_written_into_a_pairing():
    dam, sire = make.female(), make.male()
    assert (dam.standing.probably_female, dam.standing.probably_male) == (True, False)
    assert (sire.standing.probably_female, sire.standing.probably_male) == (False, True)
    assert dam.standing.stage_word("mantis") == "stage not known"
