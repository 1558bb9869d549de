"""Hand the outbox on to the broker: woken by the database, with a sweep every two seconds."""

import logging
import signal
import time
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, connection
from kombu.exceptions import OperationalError as BrokerTrouble
from psycopg import OperationalError as DriverTrouble
from redis.exceptions import RedisError

from config.celery import app
from works import outbox

log = logging.getLogger(__name__)
SWEEP_SECONDS = 2.0


class Command(BaseCommand):
    help = "Relay committed events to the tasks that answer them, until stopped."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="empty the outbox and leave")

    def handle(self, *, once: bool, **options: Any) -> None:
        app.loader.import_default_modules()
        self.stopping = False
        if once:
            while outbox.expand():
                pass
            while outbox.publish():
                pass
            return
        signal.signal(signal.SIGTERM, self.stop)
        signal.signal(signal.SIGINT, self.stop)
        while not self.stopping:
            try:
                self.listen()
            except (OperationalError, DriverTrouble):  # notifies() speaks past Django
                log.exception("database out of reach; trying again")
                connection.close()
                time.sleep(1)

    def stop(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True

    def listen(self) -> None:
        """Sweep, then wait for a notice or two seconds, whichever is first."""
        with connection.cursor() as cursor:
            cursor.execute("LISTEN outbox")
        while not self.stopping:
            try:
                while outbox.expand() == outbox.BATCH:
                    pass
                while outbox.publish() == outbox.BATCH:
                    pass
            except (BrokerTrouble, RedisError, ConnectionError, TimeoutError):
                log.exception("broker out of reach; the outbox keeps what waits")
                time.sleep(1)
            for _notice in connection.connection.notifies(timeout=SWEEP_SECONDS, stop_after=1):
                pass
