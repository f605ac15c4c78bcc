"""The shipped species table: 97 rows, unsure cells empty, a source for every figure."""

import csv
from datetime import date, timedelta

import pytest

from collection import taxon_fixture
from collection.stages import Group, Lifestyle

SAC_WORDS = {"", "carried", "fixed", "ootheca", "soil", "guarded", "live", "single"}

# Cells of the species table, read by eye: scientific name, field, value. None and "" stand for a cell with "?".
CELLS = [
    ("Acanthoscurria geniculata", "authorship", "(C. L. Koch, 1841)"),
    ("Acanthoscurria geniculata", "adult_size_min_mm", 180),
    ("Acanthoscurria geniculata", "clutch_max", 1000),
    ("Aphonopelma chalcodes", "life_male", ""),
    ("Aphonopelma chalcodes", "sac_months_min", None),
    ("Aphonopelma chalcodes", "clutch_max", None),
    ("Brachypelma hamorii", "authorship", "Tesmoingt, Cleton & Verdez, 1997"),
    ("Brachypelma hamorii", "sac_months_max", 10),
    ("Brachypelma albiceps", "clutch_min", None),
    ("Caribena versicolor", "hair_class", 2),
    ("Ceratogyrus darlingi", "sac_kind", "fixed"),
    ("Dolichothele diamantinensis", "hair_class", None),
    ("Dolichothele diamantinensis", "sac_kind", ""),
    ("Grammostola pulchra", "slow", True),
    ("Monocentropus balfouri", "sac_kind", ""),
    ("Neoholothele incei", "authorship", ""),
    ("Pelinobius muticus", "emergence_weeks_min", None),
    ("Pelinobius muticus", "clutch_max", 1000),
    ("Poecilotheria regalis", "hookless", True),
    ("Poecilotheria regalis", "venom_class", 2),
    ("Psalmopoeus irminia", "hair_class", 0),
    ("Theraphosa blondi", "venom_class", 2),
    ("Theraphosa blondi", "adult_size_max_mm", 300),
    ("Tliltocatl albopilosus", "authorship", "(Valerio, 1980)"),
    ("Typhochlaena seladonia", "life_female", ""),
    ("Latrodectus hesperus", "venom_class", 3),
    ("Parasteatoda tepidariorum", "emergence_weeks_min", 2.3),
    ("Pandinus imperator", "sac_months_min", 7),
    ("Heterometrus silenus", "authorship", ""),
    ("Heterometrus silenus", "rank", "cf"),
    ("Hadrurus arizonensis", "life_female", ""),
    ("Hadrurus arizonensis", "family", ""),
    ("Hottentotta hottentotta", "parthenogenetic", True),
    ("Scolopendra subspinipes", "venom_class", 3),
    ("Archispirostreptus gigas", "size_measure", "body"),
    ("Damon diadema", "size_measure", "leg_span"),
    ("Blaptica dubia", "emergence_weeks_max", None),
    ("Blaptica dubia", "sac_kind", "live"),
    ("Carausius morosus", "sac_months_min", None),
    ("Extatosoma tiaratum", "emergence_weeks_max", 40),
    ("Heteropteryx dilatata", "emergence_weeks_min", None),
]


@pytest.fixture(scope="module")
def shipped():
    return {one.name: one for one in taxon_fixture.read()}


def test_ninety_seven_species_are_shipped_sixty_of_them_theraphosids(shipped):
    assert len(shipped) == 97 == taxon_fixture.mark()[1]
    assert sum(one.values["family"] == "Theraphosidae" for one in shipped.values()) == 60
    assert sum(one.values["group"] == Group.TARANTULA for one in shipped.values()) == 60


@pytest.mark.parametrize(("name", "field", "value"), CELLS)
def test_cells_are_those_of_the_table(shipped, name, field, value):
    assert shipped[name].values[field] == value


def test_every_value_is_one_the_columns_take(shipped):
    for one in shipped.values():
        values = one.values
        assert values["group"] in set(Group)
        assert values["lifestyle"] in set(Lifestyle)
        assert values["sac_kind"] in SAC_WORDS
        assert len(values["hazard_note"]) <= 160
        assert len(values["life_female"]) <= 40
        for figure in ("adult_size_{}_mm", "humidity_{}", "celsius_{}", "sac_months_{}", "clutch_{}"):
            low, high = values[figure.format("min")], values[figure.format("max")]
            assert (low is None) == (high is None)
            assert low is None or 0 < low <= high


def test_every_figure_that_is_given_says_where_it_comes_from(shipped):
    for one in shipped.values():
        for figure, fields in taxon_fixture.FIGURES.items():
            if any(one.values[field] not in ("", None, False) for field in fields):
                assert one.sources.get(figure), (one.name, figure)


def test_a_published_source_stands_only_beside_the_figures_it_speaks_of(shipped):
    sources = shipped["Poecilotheria metallica"].sources
    assert "Fuchs et al. 2014" in sources["hazard"]
    assert sources["sac_months"] == "common practice, no published source"
    assert "to verify" in sources["authorship"]


def test_every_row_of_the_side_tables_names_a_shipped_taxon(shipped):
    for table in ("names", "listings", "figures"):
        with (taxon_fixture.FOLDER / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            named = {row["taxon"] for row in csv.DictReader(file)}
        assert named <= set(shipped), table


def test_slow_and_hookless_are_whole_genera(shipped):
    slow = {one.name.split()[0] for one in shipped.values() if one.values["slow"]}
    hookless = {one.name.split()[0] for one in shipped.values() if one.values["hookless"]}
    assert slow == {"Grammostola", "Brachypelma", "Aphonopelma"}
    assert hookless == {"Theraphosa", "Stromatopelma", "Poecilotheria"}


@pytest.mark.parametrize(
    ("name", "meeting_ended"),
    [
        ("Brachypelma smithi", date(1985, 5, 3)),  # CITES CoP5
        ("Tliltocatl vagans", date(1994, 11, 18)),  # CoP9
        ("Pandinus imperator", date(1994, 11, 18)),  # CoP9 Prop. 63
        ("Poecilotheria regalis", date(2019, 8, 28)),  # CoP18 Prop. 46
    ],
)
def test_a_listing_is_in_force_ninety_days_after_the_meeting(shipped, name, meeting_ended):
    # Convention on International Trade in Endangered Species, Art. XV(1)(c)
    in_force = (meeting_ended + timedelta(days=90)).isoformat()
    assert shipped[name].listings["CITES|Appendix II"]["since"] == in_force


def test_listings_say_as_of_when_and_to_check_the_current_list(shipped):
    listings = [listing for one in shipped.values() for listing in one.listings.values()]
    assert len(listings) == 18
    for listing in listings:
        assert listing["as_of"] <= "2022-11-25"
        assert "Check the current list." in listing["note"]


def test_what_the_next_meeting_may_have_changed_is_marked_to_be_checked_again(shipped):
    for name in ("Grammostola rosea", "Pamphobeteus antinous", "Avicularia avicularia", "Typhochlaena seladonia"):
        assert not shipped[name].listings
        assert "to re-check" in shipped[name].sources["listing"]
