"""`manage.py listen`: readings of sensors from an MQTT broker."""

from __future__ import annotations

import os
import signal
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.listener import Broker, Listener, Shut


class Command(BaseCommand):
    """Take in readings until stopped."""

    help = (
        "Takes in readings from an MQTT broker and loses none: what was sent while this did not run is sent again. "
        "Topics are rack/SENSOR/temperature and rack/SENSOR/humidity. The password comes from SCOPULA_MQTT_PASSWORD. "
        "Example: python3 manage.py listen --host broker.local --user scopula"
    )
    requires_migrations_checks = True

    def add_arguments(self, parser: CommandParser) -> None:
        """Where the broker is."""
        usual = Broker()
        parser.add_argument("--host", default=usual.host, help="default: %(default)s")
        parser.add_argument("--port", type=int, default=usual.port, help="default: %(default)s")
        parser.add_argument("--topic", default=usual.topic, help="default: %(default)s")
        parser.add_argument("--user", default="", help="name at the broker")
        parser.add_argument("--tls", action="store_true", help="speak TLS with the broker")
        parser.add_argument(
            "--client-id",
            default=usual.client_id,
            help="under this name the broker keeps readings; default: %(default)s",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Listen until Ctrl-C or until the system asks to stop."""
        broker = Broker(
            options["host"],
            options["port"],
            options["topic"],
            options["user"],
            os.environ.get("SCOPULA_MQTT_PASSWORD", ""),
            options["tls"],
            options["client_id"],
        )
        listener = Listener(broker, lambda sentence: self.stdout.write(sentence))
        for name in ("SIGINT", "SIGTERM"):
            signal.signal(getattr(signal, name), lambda number, frame: listener.stop())
        try:
            listener.run()
        except Shut as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"Stopped. {listener.stored} stored, {listener.refused} refused.")
