"""The supervisor brings everything up, keeps it up, and comes back after any kill."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pytest

from config.local import folders, processes
from config.local.folders import PROJECT, Folders

pytestmark = pytest.mark.slow

START_SECONDS = 90.0
STOP_SECONDS = 40.0
NAMES = {"valkey", "postgresql", "web", "worker", "relay", "beat"}


class Copy:
    """One works in a data folder of its own, started and killed by the test."""

    def __init__(self, var: Path) -> None:
        self.folders = Folders(var)
        self.output = var.with_suffix(".out")
        settings = ("DATABASE_URL", "BROKER_URL", "SECRET_KEY", "ALLOWED_HOSTS", "STATIC_ROOT")
        self.environment = {key: value for key, value in os.environ.items() if key not in settings}
        self.environment["GREENSAND_VAR"] = str(var)
        self.running: subprocess.Popen[bytes] | None = None

    def start(self) -> str:
        """Start it and return its address once all its processes run."""
        with self.output.open("wb") as output:
            self.running = subprocess.Popen(
                [sys.executable, "-m", "config.local", "up"],
                cwd=PROJECT,
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        self.wait_until(lambda: "served at" in self.said() and set(self.pids()) == NAMES)
        served = re.search(r"served at (\S+)", self.said())
        assert served is not None
        return served[1]

    def by_hand(self, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
        """Run a command in the same folder to its end."""
        return subprocess.run(
            [sys.executable, *words],
            cwd=PROJECT,
            env=self.environment | environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=START_SECONDS,
            check=False,
        )

    def pids(self) -> dict[str, int]:
        """The numbers of its children by name."""
        return {trace.name: trace.pid for trace in processes.read_traces(self.folders.traces)}

    def has_another(self, name: str, before: int) -> bool:
        """True when the child of that name has been started again."""
        return self.pids().get(name, before) != before

    def said(self) -> str:
        return self.output.read_text()

    def kill(self, *names: str) -> None:
        """`kill -9` for the supervisor and those children."""
        assert self.running is not None
        numbers = [self.running.pid, *(self.pids()[name] for name in names)]
        for number in numbers:
            os.kill(number, signal.SIGKILL)
        self.running.wait()

    def stop(self) -> int:
        """Ctrl-C; returns the exit code."""
        assert self.running is not None
        self.running.send_signal(signal.SIGINT)
        return self.running.wait(STOP_SECONDS)

    def wait_until(self, true: Callable[[], bool]) -> None:
        assert self.running is not None
        end = time.monotonic() + START_SECONDS
        while not true():
            assert self.running.poll() is None, self.said()
            assert time.monotonic() < end, self.said()
            time.sleep(0.05)


@pytest.fixture
def make_copy() -> Iterator[Callable[[], Copy]]:
    """Makes copies with nothing in them; neither they nor their data last beyond the test."""
    bases: list[Path] = []
    copies: list[Copy] = []

    def make() -> Copy:
        # Not pytest's own folder: PostgreSQL's account could not pass through that.
        bases.append(folders.fresh_socket_folder())
        copies.append(Copy(bases[-1] / "var"))
        return copies[-1]

    yield make
    for copy in copies:
        if copy.running and copy.running.poll() is None:
            copy.stop()
    for base in bases:
        shutil.rmtree(base)


def answers(address: str) -> bool:
    with urllib.request.urlopen(address + "accounts/login/", timeout=30) as page:
        return page.status == 200 and b"<html" in page.read()


def test_one_command_brings_everything_up_beside_another_copy_and_ctrl_c_leaves_nothing(
    make_copy: Callable[[], Copy],
) -> None:
    copy, other = make_copy(), make_copy()
    address = copy.start()
    other_address = other.start()
    assert other_address != address
    assert answers(address)
    assert answers(other_address)

    again = copy.by_hand("-m", "config.local", "up")
    assert again.returncode == 0
    assert f"already running in this folder: {address}" in again.stdout

    shell = copy.by_hand("manage.py", "shell", "-v", "0", "-c", "print(Person.objects.count())")
    assert shell.stdout.strip() == "0", shell.stderr

    sockets = Path(copy.folders.sockets.read_text())
    assert copy.folders.secret.stat().st_mode & 0o777 == 0o600
    assert copy.folders.environment.stat().st_mode & 0o777 == 0o600
    pids = copy.pids()
    assert copy.stop() == 0
    assert [name for name, pid in pids.items() if processes.look_up(pid)] == []
    assert not sockets.exists()
    assert not copy.folders.environment.exists()
    assert (copy.folders.var / "postgresql" / "data").exists()
    assert answers(other_address)


def test_whatever_is_killed_comes_back(make_copy: Callable[[], Copy]) -> None:
    copy = make_copy()
    copy.start()
    for victims in ((), tuple(NAMES)):  # the supervisor alone, then everything at once
        before = copy.pids()
        copy.kill(*victims)
        assert answers(copy.start())
        assert set(before.values()).isdisjoint(copy.pids().values())
    for name in sorted(NAMES):  # each service alone
        number = copy.pids()[name]
        os.kill(number, signal.SIGKILL)
        copy.wait_until(partial(copy.has_another, name, number))
        assert f"{name} ended with signal SIGKILL and is started again" in copy.said()
    assert answers(copy.folders.address.read_text().strip())
    assert copy.stop() == 0


def test_what_keeps_it_from_starting_is_said(make_copy: Callable[[], Copy]) -> None:
    copy = make_copy()
    tried = copy.by_hand("-m", "config.local", "up", DATABASE_URL="mysql://works@db/greensand")
    assert tried.returncode == 1
    assert "Greensand cannot go on." in tried.stdout
    assert "Greensand needs postgresql://" in tried.stdout
    assert not copy.folders.environment.exists()
