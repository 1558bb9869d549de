"""A real Celery worker and a real relay on the test's own database and broker."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator

import pytest
from django.db import connection
from redis import Redis

from config.local import processes
from config.local.commands import Commands
from config.local.folders import PROJECT
from config.local.temporary import TemporaryServices
from tests.services import services

COMMANDS = Commands(bind="", beat_schedule="")
READY_SECONDS = 40.0


class Background:
    """The worker and the relay; a test may kill them and start them again."""

    def __init__(self, services: TemporaryServices, database: str) -> None:
        self.environment = os.environ | services.environment(database) | {"PYTHONUNBUFFERED": "1"}
        self.folder = services.folder
        self.children: dict[str, subprocess.Popen[bytes]] = {}

    def start(self, name: str) -> None:
        """Start `worker` or `relay`."""
        argv: list[str] = getattr(COMMANDS, name)
        self.children[name] = processes.start(
            [sys.executable, *argv[1:]],
            log=self.folder / f"{name}.log",
            cwd=PROJECT,
            env=self.environment,
            death_signal=signal.SIGKILL,
        )

    def kill(self, name: str) -> None:
        """End it and its own children with `kill -9`, in the middle of whatever it does."""
        child = self.children.pop(name)
        os.killpg(child.pid, signal.SIGKILL)
        child.wait()

    def stop(self) -> None:
        """Let both finish what they have in hand, so that the test's database can be emptied."""
        for name in ("relay", "worker"):
            if child := self.children.pop(name, None):
                processes.stop(child)

    def wait_until_ready(self) -> None:
        """Return when the worker takes tasks."""
        self.wait_until(lambda: " ready." in self.log("worker"), seconds=READY_SECONDS)

    def wait_until(self, true: Callable[[], object], *, seconds: float = 20.0) -> None:
        """Look every 50 ms; fail with both logs when it has not come true in time."""
        end = time.monotonic() + seconds
        while not true():
            ended = [name for name, child in self.children.items() if child.poll() is not None]
            if ended or time.monotonic() > end:
                reason = f"{ended[0]} ended" if ended else f"nothing happened within {seconds:g} s"
                logs = "\n".join(f"--- {name}\n{self.log(name)}" for name in ("worker", "relay"))
                pytest.fail(f"{reason}\n{logs}")
            time.sleep(0.05)

    def log(self, name: str) -> str:
        """What it has said in this test."""
        path = self.folder / f"{name}.log"
        return path.read_text(errors="replace") if path.exists() else ""


@pytest.fixture
def broker() -> Iterator[Redis]:
    """An empty Valkey, for a test that publishes or looks into the queue."""
    services.start_valkey()
    client = Redis(unix_socket_path=str(services.valkey.socket))
    client.flushall()
    yield client
    client.close()


@pytest.fixture
def worker(transactional_db: None, broker: Redis) -> Iterator[Background]:
    """A worker and a relay that see what the test commits."""
    background = Background(services, str(connection.settings_dict["NAME"]))
    for name in ("worker", "relay"):
        (background.folder / f"{name}.log").unlink(missing_ok=True)
        background.start(name)
    background.wait_until_ready()
    yield background
    background.stop()
