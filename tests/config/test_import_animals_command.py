"""`manage.py import_animals`: the same rules and sentences as in the browser, and an exit code that tells."""

from io import StringIO
from pathlib import Path

import pytest
import time_machine
from django.core.management import CommandError, call_command

from collection import taxa
from collection.models import ImportBatch, ImportMapping, Molt, Specimen

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_november(db):
    taxa.seed()
    with time_machine.travel("2026-11-25T09:00:00+00:00", tick=True):
        yield


def run(*arguments: object) -> str:
    """What the command says; a refusal is raised."""
    out = StringIO()
    call_command("import_animals", *map(str, arguments), stdout=out, stderr=out)
    return out.getvalue()


def refused(*arguments: object) -> tuple[str, str]:
    """The sentence of a refusal, and all that was said before it."""
    out = StringIO()
    with pytest.raises(CommandError) as caught:
        call_command("import_animals", *map(str, arguments), stdout=out, stderr=out)
    return str(caught.value), out.getvalue()


def test_a_dry_run_says_what_becomes_of_every_row_and_writes_nothing():
    sentence, said = refused(SAMPLES / "animals_messy.xlsx", "--dry-run")
    assert sentence == "5 rows were refused; see above."
    assert "39 new, 0 changed, 0 same, 5 refused." in said
    assert "Nothing was written: this was a dry run." in said
    assert "row 44  B-003  refused: The code B-003 stands in row 7 already." in said
    assert not Specimen.objects.exists()
    assert not ImportBatch.objects.exists()
    assert not ImportMapping.objects.exists()


def test_the_other_rows_are_written_when_the_refused_may_stay_behind():
    said = run(SAMPLES / "animals_messy.xlsx", "--leave-refused")
    assert "5 refused" in said
    assert "Written. To take all of it back" in said
    assert Specimen.objects.count() == 39


def test_a_file_goes_in_whole_or_not_at_all():
    sentence, said = refused(SAMPLES / "animals_messy.xlsx")
    assert sentence == "Nothing was written: 5 rows were refused."
    assert "row 48  R-01  refused" in said
    assert not Specimen.objects.exists()


def test_a_whole_file_is_written_and_taken_back():
    said = run(SAMPLES / "animals_month_first.csv")
    assert Specimen.objects.count() == 6
    number = ImportBatch.objects.get().pk
    assert f"--undo {number}" in said
    assert "Taken back" in run("--undo", number)
    assert not Specimen.objects.exists()
    assert "taken back already" in refused("--undo", number)[0]


def test_molts_join_animals_that_came_before():
    run(SAMPLES / "animals_messy.xlsx", "--leave-refused")
    run(SAMPLES / "molts.csv", "--kind", "molts", "--leave-refused")
    assert Molt.objects.filter(specimen__code="B-001").count() == 3


def test_what_a_column_cannot_tell_is_asked_with_the_options_that_answer():
    sentence, said = refused(SAMPLES / "animals_ambiguous_dates.csv")
    assert sentence == "Nothing was written: say this first."
    assert "--dates mdy  month, day, year: 03/04/2024 is 4 March 2024" in said
    assert not ImportBatch.objects.exists()
    run(SAMPLES / "animals_ambiguous_dates.csv", "--dates", "mdy")
    assert str(Specimen.objects.get(code="X1").acquired) == "2024-03-04"


def test_columns_can_be_said_by_hand(tmp_path):
    file = tmp_path / "odd.csv"
    file.write_text("Alpha,Beta\nB-1,Brachypelma smithi\n")
    assert "Say which column holds: Code" in refused(file)[0]
    assert "There is no field “spoon”" in refused(file, "--column", "spoon=Alpha")[0]
    assert "There is no column “Gamma”" in refused(file, "--column", "code=Gamma")[0]
    run(file, "--column", "code=alpha", "--column", "species=Beta")
    assert Specimen.objects.get().code == "B-1"


def test_unknown_species_can_be_added(tmp_path):
    file = tmp_path / "new.csv"
    file.write_text("Code,Species\nB-1,Pamphobeteus sp. big\n")
    run(file, "--new-species", "tarantula")
    assert Specimen.objects.get().taxon.group == "tarantula"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([SAMPLES / "empty.csv"], "is empty"),
        ([SAMPLES / "no-such-file.csv"], "cannot be read: No such file"),
        ([SAMPLES / "animals_messy.xlsx", "--sheet", "Spiders"], "has no sheet “Spiders”"),
        (["--undo", "77"], "There is no import number 77"),
        ([], "Name a file"),
    ],
)
def test_what_cannot_be_done_ends_with_a_sentence(arguments, words):
    assert words in refused(*arguments)[0]


def test_the_help_has_an_example(capsys):
    with pytest.raises(SystemExit) as done:
        call_command("import_animals", "--help")
    assert done.value.code == 0
    assert "python3 manage.py import_animals my-spiders.xlsx --dry-run" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["animals_large.csv", "molts_large.csv"])
def test_the_script_for_large_files_writes_what_the_import_reads(tmp_path, name):
    import subprocess
    import sys

    script = SAMPLES / "make_large.py"
    subprocess.run([sys.executable, str(script), str(tmp_path), "--animals", "40"], check=True)
    run(tmp_path / "animals_large.csv")
    if name.startswith("molts"):
        run(tmp_path / name, "--kind", "molts")
    assert Specimen.objects.count() == 40
    assert Molt.objects.count() == (200 if name.startswith("molts") else 0)
