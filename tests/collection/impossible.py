"""Records that can never be true, by the rule of the database that refuses each."""

from datetime import date

from breeding.models import (
    BroodMember,
    BroodShare,
    EggSac,
    HeadCount,
    Loan,
    Meeting,
    Pairing,
    PossibleSire,
    SacCheck,
    Sign,
    SignRatio,
    SpermWeb,
)
from collection.models import (
    Arrival,
    Contact,
    Death,
    Departure,
    Due,
    Forecast,
    ForecastWidth,
    GroupCount,
    HeadLoss,
    HealthEntry,
    HealthIssue,
    House,
    ImportBatch,
    Measurement,
    Molt,
    MoltSign,
    Note,
    Photo,
    Quarantine,
    QuarantineCheck,
    SexEvidence,
    SexLikelihood,
    Specimen,
)
from collection.models.likelihoods import CHANCES
from husbandry.models import (
    Calibration,
    ExposureCheck,
    FeederEntry,
    FeederStock,
    Feeding,
    FeedRhythm,
    Hold,
    LabelPrint,
    Place,
    Posting,
    PrintedLabel,
    Printer,
    Reading,
    Sensor,
    Stay,
    UpkeepRhythm,
)
from husbandry.models.label import LabelAddress
from tests.factories import NOW, EnclosureFactory, SpecimenFactory, TaxonFactory

DAY, BEFORE = date(2026, 5, 10), date(2026, 5, 9)
BACKWARDS = {"earliest": DAY, "latest": BEFORE}
ON = {"earliest": DAY, "latest": DAY}
PIXELS = {"width": 4, "height": 3, "size": 2}
animal, box = SpecimenFactory, EnclosureFactory


def sac(**values):
    return EggSac(female=animal(), **{**ON, **values})


def laid():
    return EggSac.objects.create(female=animal(), **ON)


def loan(**values):
    contact = Contact.objects.create(name="A")
    return Loan(specimen=animal(), way="out", contact=contact, since=DAY, **values)


def two_loans():
    contact, lent = Contact.objects.create(name="A"), animal()
    return [Loan(specimen=lent, way="out", contact=contact, since=DAY) for _ in range(2)]


def two_shares():
    contact, of = Contact.objects.create(name="A"), laid()
    return [BroodShare(sac=of, to=contact, percent=10) for _ in range(2)]


def pairing():
    return Pairing.objects.create(female=animal())


def forecast(**values):
    days = {"origin_on": DAY, "made_on": DAY, "closes_on": DAY}
    return Forecast(specimen=animal(), kind="molt", origin=1, quantiles=[], **{**days, **values})


def crickets():
    return FeederStock.objects.create(kind="cricket")


def issue():
    return HealthIssue.objects.create(specimen=animal(), **ON)


def two_looks():
    found = {"issue": issue(), "specimen": animal(), "on": DAY, "found": "clear"}
    return ExposureCheck(**found), ExposureCheck(**found)


def own_parents():
    parent = animal()
    return Specimen(code="B-1", taxon=parent.taxon, dam=parent, sire=parent)


def fatherless_with_a_sire():
    parent = animal()
    return Specimen(code="B-1", taxon=parent.taxon, sire=parent, fatherless=True)


def inside_itself():
    rack = Place.objects.create(name="Rack")
    rack.parent = rack
    return rack


def with_itself():
    alone = animal()
    return Pairing(female=alone, male=alone)


def sensor(**values):
    return Sensor(name="Shelf", key="shelf", **values)


def hung():
    made = sensor()
    made.save()
    return made


def its_own_sire():
    one = animal()
    return PossibleSire(young=one, male=one, chance=0.5)


def two_sires_alike():
    young, male = animal(), animal()
    return [PossibleSire(young=young, male=male, chance=0.5) for _ in range(2)]


CHECKS = {
    "sensor_measures_at_times": lambda: sensor(every_minutes=0),
    "sensor_overdue_in_time": lambda: sensor(every_minutes=30, overdue_minutes=29),
    "sensor_day_in_order": lambda: sensor(lights_on=20, lights_off=8),
    "sensor_celsius_in_order": lambda: sensor(celsius_min=28, celsius_max=22),
    "sensor_humidity_in_order": lambda: sensor(humidity_min=80, humidity_max=70),
    "sensor_night_not_warmer": lambda: sensor(night_drop=-1),
    "posting_in_one_place": lambda: Posting(
        sensor=hung(), place=Place.objects.create(name="Rack"), enclosure=box(), since=NOW
    ),
    "calibration_second_jar_whole": lambda: Calibration(
        sensor=hung(), since=NOW, celsius=22, salt_1="NaCl", shown_1=75, salt_2="MgCl2"
    ),
    "calibration_shows_humidity": lambda: Calibration(sensor=hung(), since=NOW, celsius=22, salt_1="NaCl", shown_1=140),
    "reading_measures_something": lambda: Reading(sensor=hung(), at=1_796_400_000),
    "reading_humidity_possible": lambda: Reading(sensor=hung(), at=1_796_400_000, humidity=14_000),
    "labeladdress_one_for_the_house": lambda: LabelAddress(pk=2, address="http://rack.lan"),
    "printer_rules_above_0": lambda: Printer(name="P", dpi=203, paper="x", across_mm=0),
    "printer_known_dpi": lambda: Printer(name="P", dpi=72, paper="x"),
    "printedlabel_of_one_thing": lambda: PrintedLabel(run=LabelPrint.objects.create(kind="enclosure", address="a")),
    "arrival_box_plausible": lambda: Arrival(on=DAY, box_celsius=61),
    "taxon_venom_class_to_3": lambda: TaxonFactory.build(venom_class=4),
    "taxon_hair_class_to_3": lambda: TaxonFactory.build(hair_class=4),
    "possible_sire_chance": lambda: PossibleSire(young=animal(), male=animal(), chance=1.5),
    "possible_sire_is_another": lambda: its_own_sire(),
    "specimen_hatched_in_order": lambda: Specimen(
        code="B-1", taxon=TaxonFactory(), hatched_earliest=DAY, hatched_latest=BEFORE
    ),
    "specimen_acquired_in_order": lambda: Specimen(
        code="B-1", taxon=TaxonFactory(), acquired_earliest=DAY, acquired_latest=BEFORE
    ),
    "specimen_has_code": lambda: Specimen(code="", taxon=TaxonFactory()),
    "specimen_price_not_below_0": lambda: Specimen(code="B-1", taxon=TaxonFactory(), price=-1),
    "specimen_two_parents": own_parents,
    "specimen_without_a_male_has_no_sire": fatherless_with_a_sire,
    "collection_molt_dates_in_order": lambda: Molt(specimen=animal(), **BACKWARDS),
    "molt_sizes_above_0": lambda: Molt(specimen=animal(), **ON, carapace_mm=0),
    "collection_moltsign_dates_in_order": lambda: MoltSign(specimen=animal(), sign="dark", **BACKWARDS),
    "collection_sexevidence_dates_in_order": lambda: SexEvidence(
        specimen=animal(), method="exuvia", finding="female", **BACKWARDS
    ),
    "sexlikelihood_never_certain": lambda: SexLikelihood(
        row="sac", **dict.fromkeys(CHANCES, 0.5) | {"male_if_female": 0.0}, why="never seen"
    ),
    "sexevidence_size_above_0": lambda: SexEvidence(
        specimen=animal(), method="exuvia", finding="female", **ON, size_mm=-3
    ),
    "collection_measurement_dates_in_order": lambda: Measurement(specimen=animal(), mass_g=1, **BACKWARDS),
    "measurement_above_0": lambda: Measurement(specimen=animal(), mass_g=0, **ON),
    "measurement_measures_something": lambda: Measurement(specimen=animal(), **ON),
    "collection_groupcount_dates_in_order": lambda: GroupCount(specimen=animal(), count=3, **BACKWARDS),
    "collection_photo_dates_in_order": lambda: Photo(specimen=animal(), **PIXELS, **BACKWARDS),
    "photo_has_a_size": lambda: Photo(specimen=animal(), **ON, **PIXELS | {"height": 0}),
    "collection_note_dates_in_order": lambda: Note(specimen=animal(), text="x", **BACKWARDS),
    "note_answers_what_is_wrong": lambda: Note(specimen=animal(), **ON, text="x", set_aside="fine"),
    "note_answered_once": lambda: Note(specimen=animal(), **ON, wrong=True, set_aside="fine", issue=issue()),
    "collection_headloss_dates_in_order": lambda: HeadLoss(specimen=animal(), **BACKWARDS),
    "headloss_at_least_one": lambda: HeadLoss(specimen=animal(), **ON, number=0),
    "collection_healthissue_dates_in_order": lambda: HealthIssue(specimen=animal(), **BACKWARDS),
    "healthissue_rhythm_above_0": lambda: HealthIssue(specimen=animal(), **ON, again_days=0),
    "healthissue_closed_after": lambda: HealthIssue(specimen=animal(), **ON, closed_on=BEFORE, outcome="resolved"),
    "healthissue_closes_with_outcome": lambda: HealthIssue(specimen=animal(), **ON, closed_on=DAY),
    "collection_healthentry_dates_in_order": lambda: HealthEntry(issue=issue(), **BACKWARDS),
    "healthentry_above_0": lambda: HealthEntry(issue=issue(), **ON, mass_g=0),
    "healthentry_again_after": lambda: HealthEntry(issue=issue(), **ON, again_on=BEFORE),
    "quarantine_in_order": lambda: Quarantine(specimen=animal(), begins=DAY, until=BEFORE),
    "quarantine_rhythm_above_0": lambda: Quarantine(specimen=animal(), begins=DAY, until=DAY, check_days=0),
    "quarantine_ends_with_reason": lambda: Quarantine(specimen=animal(), begins=DAY, until=DAY, ended_on=DAY),
    "collection_quarantinecheck_dates_in_order": lambda: QuarantineCheck(
        quarantine=Quarantine.objects.create(specimen=animal(), begins=DAY, until=DAY), **BACKWARDS
    ),
    "collection_death_dates_in_order": lambda: Death(specimen=animal(), **BACKWARDS),
    "departure_back_after_leaving": lambda: Departure(specimen=animal(), kind="loan_out", on=DAY, back_on=BEFORE),
    "departure_price_of_what_was_passed_on": lambda: Departure(specimen=animal(), kind="missing", on=DAY, price=5),
    "house_is_one": lambda: House(pk=2, currency="EUR"),
    "house_has_currency": lambda: House(pk=1, currency=""),
    "departure_passed_on_is_final": lambda: Departure(specimen=animal(), kind="passed_on", on=DAY, back_on=DAY),
    "importbatch_keeps_its_file": lambda: ImportBatch(kind="animals", as_of=DAY, at=NOW, data=None),
    "due_holds_only_delay": lambda: Due(specimen=animal(), kind="test", wanted_on=DAY, due_on=BEFORE),
    "forecast_made_in_its_wait": lambda: forecast(origin_on=DAY, made_on=BEFORE),
    "forecast_made_before_its_event": lambda: forecast(outcome="came", settled_on=DAY, place=0),
    "forecast_chance_to_1": lambda: forecast(chance=1.1),
    "forecast_widened_from_1": lambda: forecast(widened=0.9),
    "forecastwidth_from_1": lambda: ForecastWidth(kind="molt", factor=0.9, held=1, forecasts=2),
    "forecastwidth_held_of_all": lambda: ForecastWidth(kind="molt", factor=2, held=3, forecasts=2),
    "place_not_in_itself": inside_itself,
    "enclosure_sizes_above_0": lambda: box.build(length_mm=0),
    "enclosure_substrate_not_below_0": lambda: box.build(substrate_mm=-1),
    "enclosure_celsius_in_order": lambda: box.build(celsius_min=28, celsius_max=22),
    "enclosure_humidity_in_order": lambda: box.build(humidity_min=80, humidity_max=70),
    "enclosure_has_code": lambda: box.build(code=""),
    "stay_in_order": lambda: Stay(specimen=animal(), enclosure=box(), begins=DAY, ends=BEFORE),
    "feeding_prey_above_0": lambda: Feeding(specimen=animal(), on=DAY, outcome="taken", prey_mm=0),
    "feeding_offers_something": lambda: Feeding(specimen=animal(), on=DAY, outcome="taken", number=0),
    "feedrhythm_of_one_thing": lambda: FeedRhythm(days=7, since=DAY),
    "feedrhythm_season_of_months": lambda: FeedRhythm(specimen=animal(), days=7, since=DAY, season_from=11),
    "feederstock_has_kind": lambda: FeederStock(kind=""),
    "feederstock_size_above_0": lambda: FeederStock(kind="cricket", mm=0),
    "feederentry_moves_something": lambda: FeederEntry(stock=crickets(), on=DAY, kind="bought", number=0),
    "feederentry_method_of_a_count": lambda: FeederEntry(
        stock=crickets(), on=DAY, kind="bought", number=9, method="guessed"
    ),
    "feederentry_cost_of_a_purchase": lambda: FeederEntry(stock=crickets(), on=DAY, kind="lost", number=9, cost=3),
    "feedrhythm_plausible": lambda: FeedRhythm(specimen=animal(), days=401, since=DAY),
    "upkeeprhythm_of_one_thing": lambda: UpkeepRhythm(kind="misting", days=3, since=DAY),
    "upkeeprhythm_plausible": lambda: UpkeepRhythm(enclosure=box(), kind="misting", days=731, since=DAY),
    "hold_in_order": lambda: Hold(specimen=animal(), kind="illness", begins=DAY, ends=DAY),
    "breeding_spermweb_dates_in_order": lambda: SpermWeb(male=animal(), **BACKWARDS),
    "pairing_takes_two": with_itself,
    "breeding_meeting_dates_in_order": lambda: Meeting(pairing=pairing(), **BACKWARDS),
    "breeding_sign_dates_in_order": lambda: Sign(female=animal(), kind="webbing", **BACKWARDS),
    "breeding_eggsac_dates_in_order": lambda: sac(**BACKWARDS),
    "signratio_never_proof": lambda: SignRatio(sign="webbing", ratio=0, why="never"),
    "sac_taken_after_laying": lambda: sac(taken_on=BEFORE),
    "sac_ended_after_laying": lambda: sac(outcome="hatched", ended_on=BEFORE),
    "sac_warmth_possible": lambda: sac(celsius=61),
    "breeding_saccheck_dates_in_order": lambda: SacCheck(sac=laid(), **BACKWARDS),
    "saccheck_warmth_possible": lambda: SacCheck(sac=laid(), **ON, celsius=61),
    "saccheck_humidity_possible": lambda: SacCheck(sac=laid(), **ON, humidity=101),
    "broodshare_a_part_of_it": lambda: BroodShare(sac=laid(), to=Contact.objects.create(name="A"), percent=101),
    "broodmember_holds_somebody": lambda: BroodMember(sac=laid(), specimen=animal(), on=DAY, number=0),
    "loan_due_after_its_start": lambda: loan(due_back_on=BEFORE),
    "loan_ended_after_its_start": lambda: loan(ended_on=BEFORE),
    "loan_share_is_a_part": lambda: loan(percent=101),
    "sac_outcome_has_a_day": lambda: sac(outcome="hatched"),
    "breeding_headcount_dates_in_order": lambda: HeadCount(
        sac=EggSac.objects.create(female=animal(), **ON), stage="egg", alive=3, **BACKWARDS
    ),
}
