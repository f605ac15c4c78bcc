"""`manage.py up`: everything from a bare clone to a page on the phone."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import Error as DatabaseError

from config import backup, daily, running, server, startup
from config.accounts import setup_code


class Command(BaseCommand):
    """Prepare what needs preparing, then serve until Ctrl-C."""

    help = (
        "Starts Scopula on the home network. Example: python3 manage.py up --port 8080. "
        "With --demo it shows an invented collection, kept apart from yours."
    )
    requires_system_checks = []  # `verify` runs them; a keeper wants the page
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """How and where."""
        parser.add_argument("--port", type=int, default=8000, help="default: %(default)s")
        parser.add_argument(
            "--https",
            action="store_true",
            help="serve under TLS, with certificates made here; the plain port then hands out the authority's alone",
        )
        parser.add_argument("--https-port", type=int, default=8443, help="default: %(default)s")
        parser.add_argument("--host", default="0.0.0.0", help="127.0.0.1 keeps it to this machine; default: all")
        parser.add_argument(
            "--data", metavar="DIR", help=f"folder of the records, photos and backups; now: {settings.DATA_DIR}"
        )
        parser.add_argument("--no-qr", action="store_true", help="print no code for the phone's camera")
        parser.add_argument("--demo", action="store_true", help="show an invented collection, in a folder of its own")

    def handle(self, *args: Any, **options: Any) -> None:
        """Hold the data folder, and serve."""
        for library in ("OPENBLAS", "OMP"):  # each would keep a thread and its memory ready for every core
            os.environ.setdefault(f"{library}_NUM_THREADS", "1")
        if options["https"] and not settings.HTTPS:
            raise CommandError("Start it as: python3 manage.py up --https")
        for stream in (sys.stdout, sys.stderr):
            with suppress(AttributeError):
                stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # an old console lacks the code's blocks
        server.heed_signals()
        try:
            startup.make_folder()
            with running.mark(Path(settings.DATA_DIR)) as was_cut_off:
                self._serve(was_cut_off, options)
        except KeyboardInterrupt:
            self.stdout.write("Stopped before it answered; nothing is half done.")
        except running.AlreadyRunning as problem:
            raise CommandError(f"Scopula is running already on {settings.DATA_DIR}.") from problem
        except (server.NoPort, startup.CannotStart, backup.NotPossible) as problem:
            raise CommandError(str(problem)) from problem
        except DatabaseError as problem:
            raise CommandError(f"The database cannot be used: {problem}") from problem

    def _serve(self, was_cut_off: bool, options: dict[str, Any]) -> None:
        startup.log_to_file()
        startup.prepare(was_cut_off, self.stdout.write)
        if options["demo"]:
            self._load_demo()
        if settings.HTTPS:
            self._serve_under_tls(options)
        else:
            listening = server.open_port(options["host"], options["port"])
            urls = server.addresses(options["host"], listening.effective_port)
            self._announce(urls, urls[0], not options["no_qr"])
            self._run(listening)
        self.stdout.write("Stopped; everything is saved.")

    def _run(self, listening: Any) -> None:
        """Serve; afterwards, when nothing reads the database any more, leave it in one file."""
        try:
            with daily.chores():
                server.serve(listening)
        finally:
            server.checkpoint()

    def _serve_under_tls(self, options: dict[str, Any]) -> None:
        if settings.TRUSTED_PROXY:
            raise CommandError("A proxy that ends TLS (SCOPULA_PROXY) and --https exclude each other: choose one.")
        from config import secure_server

        listening = secure_server.SecureServer(options["host"], options["https_port"], options["port"])
        daily.CHORES.append(listening.renew)
        urls = server.addresses(options["host"], listening.port, "https")
        certificate = server.addresses(options["host"], listening.plain_port)[0] + "ca"
        self._announce(urls, certificate, not options["no_qr"])
        self.stdout.write(f"Each device first, once: {certificate}   SHA-256 {listening.kept.fingerprint}")
        if others := secure_server.left_out():
            self.stdout.write(f"Not under https, being no names of a home network: {', '.join(others)}")
        self.stdout.flush()
        self._run(listening)

    def _load_demo(self) -> None:
        if "load_demo" not in get_commands():
            raise CommandError("This version brings no invented collection.")
        call_command("load_demo", stdout=self.stdout)

    def _announce(self, urls: list[str], for_phones: str, wants_qr: bool) -> None:
        if setup_code.is_needed():
            self.stdout.write(f"\nNo account yet. Code for the first one: {setup_code.issue()}\n")
        if wants_qr and "//127." not in for_phones:
            self.stdout.write(server.qr(for_phones))
        self.stdout.write("Scopula answers at " + "  ".join(urls))
        self.stdout.write(f"Data: {settings.DATA_DIR}   Time zone: {settings.TIME_ZONE}   Stop with Ctrl-C")
        self.stdout.flush()
