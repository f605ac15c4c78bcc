"""`manage.py import_animals FILE`: a spreadsheet from the command line, with the same rules as in the browser."""

from __future__ import annotations

from argparse import ArgumentParser, RawDescriptionHelpFormatter
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from collection.importing import batches, kinds
from collection.importing.batches import CannotImport, NotReady
from collection.models import ImportBatch
from collection.spreadsheets.cells import Unreadable
from collection.spreadsheets.limits import MAX_FILE_BYTES
from collection.stages import Group

EXAMPLES = """\
Examples:
  python3 manage.py import_animals my-spiders.xlsx --dry-run
  python3 manage.py import_animals my-spiders.csv --dates dmy --unit cm
  python3 manage.py import_animals molts.csv --kind molts --leave-refused
  python3 manage.py import_animals --undo 12

A file goes in whole or not at all, unless --leave-refused lets the refused rows stay behind. Ends with 1 when nothing
was written that should have been."""


class _DryRun(Exception):
    """Rolls a dry run back."""


class Command(BaseCommand):
    """Read a spreadsheet, say what becomes of every row, and write it."""

    help = "Brings animals, molts, feedings or pairings in from a CSV or XLSX file."

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        """Keep the lines of the examples."""
        kwargs.update(epilog=EXAMPLES, formatter_class=RawDescriptionHelpFormatter)
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What the pages ask, as options."""
        parser.add_argument("file", nargs="?", type=Path, help="a CSV or XLSX file")
        parser.add_argument("--kind", choices=[kind.name for kind in kinds.in_order()], default="animals")
        parser.add_argument("--dry-run", action="store_true", help="say what would happen and write nothing")
        parser.add_argument("--leave-refused", action="store_true", help="write the other rows when some are refused")
        parser.add_argument("--sheet", default="", help="a sheet of the workbook; otherwise the first with rows")
        parser.add_argument("--dates", choices=["dmy", "mdy", "ymd"], help="order of dates that can be read two ways")
        parser.add_argument(
            "--decimal", choices=[",", "."], metavar="MARK", help="comma or point, where a number reads two ways"
        )
        parser.add_argument("--unit", choices=["mm", "cm", "in"], help="unit of sizes that name none")
        parser.add_argument("--as-of", type=date.fromisoformat, help="the day the list is of; today if left out")
        parser.add_argument(
            "--new-species", choices=[group.value for group in Group], help="add unknown species as this"
        )
        parser.add_argument(
            "--column", action="append", default=[], metavar="FIELD=HEADING", help="say a column by hand"
        )
        parser.add_argument("--undo", type=int, metavar="NUMBER", help="take back a whole import by its number")

    def handle(self, *args: Any, **options: Any) -> None:
        """Do it, or say why not."""
        try:
            if options["undo"] is not None:
                self._undo(options["undo"])
            elif options["file"] is None:
                raise CommandError("Name a file, or an import to take back. See --help.")
            else:
                self._bring(options)
        except NotReady as problem:
            self._ask(problem)
            raise CommandError("Nothing was written: say this first." if problem.questions else str(problem)) from None
        except (Unreadable, CannotImport) as refusal:
            raise CommandError(str(refusal)) from None

    def _bring(self, options: dict[str, Any]) -> None:
        data = _bytes(options["file"])
        try:
            with transaction.atomic():
                self.batch = self._settled(data, options, timezone.localdate())
                self._run(self.batch, options, timezone.localdate())
        except _DryRun:
            self.stdout.write("Nothing was written: this was a dry run.")
        refused = self.batch.counts["refused"]
        if refused and not options["leave_refused"]:
            raise CommandError(f"{refused} row{'s were' if refused > 1 else ' was'} refused; see above.")

    def _settled(self, data: bytes, options: dict[str, Any], today: date) -> ImportBatch:
        """The file with its columns, guessed, remembered or said."""
        batch = batches.receive(data, options["file"].name, options["kind"], None, today, options["sheet"])
        table = batches.table_of(batch)
        batch.as_of = min(options["as_of"] or today, today)
        batch.new_group = options["new_species"] or ""
        columns = {**batch.columns, **_columns(options["column"], options["kind"], table.headings)}
        said = {name: options[name] for name in ("dates", "decimal", "unit") if options[name]}
        batches.settle(batch, table, columns, {**batch.answers, **said})
        for name, index in sorted(batch.columns.items(), key=lambda item: item[1]):
            self.stdout.write(f"  {table.headings[index]} → {name}")
        return batch

    def _run(self, batch: ImportBatch, options: dict[str, Any], today: date) -> None:
        try:
            if options["dry_run"]:
                batches.preview(batch, today)
            else:
                batches.write_unseen(batch, None, today, all_or_nothing=not options["leave_refused"])
        finally:
            self._report(batch)
        if options["dry_run"]:
            raise _DryRun
        self.stdout.write(f"Written. To take all of it back: python3 manage.py import_animals --undo {batch.pk}")

    def _report(self, batch: ImportBatch) -> None:
        for note in batch.notes:
            self.stdout.write(note)
        for number, label, outcome, lines in batch.rows:
            self.stdout.write(f"row {number}  {label}  {outcome}: {' · '.join(lines)}".rstrip(": "))
        if batch.counts:
            self.stdout.write(", ".join(f"{number} {outcome}" for outcome, number in batch.counts.items()) + ".")

    def _ask(self, problem: NotReady) -> None:
        """What the pages would ask, with the options that answer it."""
        for question in problem.questions:
            self.stderr.write(question.sentence)
            for choice in question.choices:
                self.stderr.write(
                    f"  --{question.key.partition(':')[0]} {choice.value}  {choice.label}: {choice.example}"
                )

    def _undo(self, number: int) -> None:
        batch = ImportBatch.objects.filter(pk=number).first()
        if batch is None:
            raise CommandError(f"There is no import number {number}.")
        batches.undo(batch, None)
        self.stdout.write(f"Taken back: {batch.filename}.")


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > MAX_FILE_BYTES:
            raise CommandError(f"{path.name} is larger than {MAX_FILE_BYTES // 1024**2} MB. Split it.")
        return path.read_bytes()
    except OSError as problem:
        raise CommandError(f"{path} cannot be read: {problem.strerror}.") from None


def _columns(said: list[str], kind: str, headings: tuple[str, ...]) -> dict[str, int]:
    """Columns named on the command line, such as code=Nr."""
    known = {field.name for field in kinds.known[kind].fields}
    places = {heading.casefold(): index for index, heading in enumerate(headings)}
    chosen = {}
    for text in said:
        name, _, heading = text.partition("=")
        if name not in known:
            raise CommandError(f"There is no field “{name}”. There are: {', '.join(sorted(known))}.")
        if heading.casefold() not in places:
            raise CommandError(f"There is no column “{heading}”. There are: {', '.join(headings)}.")
        chosen[name] = places[heading.casefold()]
    return chosen
