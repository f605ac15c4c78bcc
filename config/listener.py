"""Readings from an MQTT broker. The broker keeps what was sent while nobody listened, and each message is let go only
when its reading is stored: a listener that is killed loses none."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import DatabaseError, connections
from django.utils import timezone

from husbandry import intake
from husbandry.climate_services import ingest

if TYPE_CHECKING:
    from paho.mqtt.client import Client, MQTTMessage

logger = logging.getLogger(__name__)
PATIENCE = 5  # seconds before trying anew


class Shut(Exception):
    """The broker does not let us in; said in the terminal, word for word."""


@dataclass(frozen=True)
class Broker:
    """Where the broker is and how it knows us. The client id is the name of what it keeps for us: never change it."""

    host: str = "127.0.0.1"
    port: int = 1883
    topic: str = "rack/#"
    user: str = ""
    password: str = ""
    tls: bool = False
    client_id: str = "scopula"


class Listener:
    """One connection to a broker, until it is stopped."""

    def __init__(self, broker: Broker, say: Callable[[str], object]) -> None:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion

        self.broker, self.say = broker, say
        self.stored = self.refused = 0
        self.shut = ""
        self.stopped = threading.Event()
        self.client = Client(
            CallbackAPIVersion.VERSION2, client_id=broker.client_id, clean_session=False, manual_ack=True
        )
        if broker.user:
            self.client.username_pw_set(broker.user, broker.password)
        if broker.tls:
            self.client.tls_set()
        self.client.on_connect = self._connected
        self.client.on_subscribe = self._subscribed
        self.client.on_message = self._message

    def run(self) -> None:
        """Listen until stopped. Raises Shut when the broker refuses us; a broker that is away is waited for."""
        while not self.stopped.is_set():
            try:
                self.client.connect(self.broker.host, self.broker.port)
                self.client.loop_forever()
            except OSError as problem:
                self.say(f"The broker cannot be reached ({problem.strerror or problem}); trying again.")
            if self.shut:
                raise Shut(self.shut)
            self.stopped.wait(PATIENCE)

    def stop(self) -> None:
        """End the loop from a signal or another thread."""
        self.stopped.set()
        self.client.disconnect()

    def _connected(self, client: Client, userdata: Any, flags: Any, reason: Any, properties: Any) -> None:
        if reason.is_failure:
            self.shut = f"The broker does not let us in: {reason}. Check the user and SCOPULA_MQTT_PASSWORD."
            client.disconnect()
            return
        client.subscribe(self.broker.topic, qos=1)

    def _subscribed(self, client: Client, userdata: Any, number: int, reasons: Any, properties: Any) -> None:
        """From here on nothing is missed."""
        if any(reason.is_failure for reason in reasons):
            self.shut = f"The broker does not let us read {self.broker.topic}: {reasons[0]}."
            client.disconnect()
            return
        self.say(f"Listening at {self.broker.host}, port {self.broker.port}, for {self.broker.topic}.")

    def _message(self, client: Client, userdata: Any, message: MQTTMessage) -> None:
        """Store, then let the broker forget. What cannot be stored now comes again with the next connection."""
        try:
            self._take(message)
        except DatabaseError:
            logger.exception("A reading could not be stored; the broker keeps it")
            connections.close_all()
            client.disconnect()
            return
        client.ack(message.mid, message.qos)

    def _take(self, message: MQTTMessage) -> None:
        def read(sent: Any, now: int) -> intake.Incoming:
            return intake.read_topic(sent.topic, sent.payload, now, retained=sent.retain)

        answer = ingest.take_messages([message], timezone.now(), read=read)
        self.stored += answer.stored
        self.refused += len(answer.refused)
        for _, _, sentence in answer.refused:
            self.say(f"Refused from {message.topic}: {sentence}")
