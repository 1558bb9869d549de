"""Start the services in order, serve the first page, watch them, stop them in order.

A child that dies is started again; one that keeps dying ends the whole, with its reason.
"""

import fcntl
import os
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, NoReturn

from config.local import environment, folders, ports, processes
from config.local.commands import Commands
from config.local.errors import CannotStart, Trouble
from config.local.folders import PROJECT, Folders
from config.local.postgres import Postgres, home_for
from config.local.valkey import Valkey

FIRST_PAGE = "accounts/login/"  # whoever is not signed in is sent there
FIRST_PAGE_SECONDS = 60.0
LOOK_SECONDS = 0.2
LARGEST_LOG = 10_000_000  # bytes; a longer one is put aside at the next start
DEATHS_ALLOWED = 4
DEATHS_WITHIN_SECONDS = 60.0

# In the order of stopping, the reverse of what needs what.
PROGRAM = ("web", "beat", "worker", "relay")
SERVERS = ("valkey", "postgresql")
# What a child is told when the supervisor is killed; the quick stop of those that have one.
DEATH_SIGNALS = {"web": signal.SIGQUIT, "worker": signal.SIGQUIT}


class Stopped(BaseException):
    """Somebody asked for the end: Ctrl-C, a closed terminal, a termination."""


@dataclass
class Service:
    """A child that is kept running."""

    name: str
    start: Callable[[], subprocess.Popen[bytes]]
    stop: Callable[[subprocess.Popen[bytes]], None]
    log: Path
    child: subprocess.Popen[bytes] | None = None
    deaths: list[float] = field(default_factory=list)

    def keeps_dying(self, now: float) -> bool:
        """Note a death; True when there have been too many of late."""
        self.deaths = [at for at in self.deaths if now - at < DEATHS_WITHIN_SECONDS] + [now]
        return len(self.deaths) > DEATHS_ALLOWED


def say(text: str) -> None:
    """Tell whoever started Greensand."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def up(where: Folders, *, demonstration: bool, first_port: int = ports.FIRST) -> int:
    """Run Greensand in that folder until somebody stops it.

    returns : the exit code
    """
    try:
        processes.require_linux()
        where.make()
    except Trouble as trouble:
        say(str(trouble))
        return 1
    lock = _take_lock(where.lock)
    if lock is None:
        return _point_to_the_running_one(where)
    with lock:
        return Supervisor(where, demonstration=demonstration, first_port=first_port).run()


def _take_lock(path: Path) -> IO[bytes] | None:
    """The lock of the folder, None when another supervisor has it."""
    file = path.open("ab")
    # A command by hand looks at the lock for a moment, so ask more than once.
    for _ in range(10):
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            time.sleep(0.05)
        else:
            return file
    file.close()
    return None


def _point_to_the_running_one(where: Folders) -> int:
    if processes.wait_until(where.address.exists, seconds=FIRST_PAGE_SECONDS, step=0.1):
        say(f"Greensand is already running in this folder: {where.address.read_text().strip()}")
        return 0
    say(f"Greensand is already starting in this folder, but serves no page yet; see {where.log}.")
    return 1


class Supervisor:
    """One run of the services."""

    def __init__(self, where: Folders, *, demonstration: bool, first_port: int) -> None:
        self.where, self.demonstration, self.first_port = where, demonstration, first_port
        self.began = time.monotonic()
        self.services: dict[str, Service] = {}
        self.loading: subprocess.Popen[bytes] | None = None
        self.environment = dict(os.environ)
        self.stopping = False

    def run(self) -> int:
        """Start everything, watch, stop everything.

        returns : the exit code
        """
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            if number is signal.SIGHUP and signal.getsignal(number) is signal.SIG_IGN:
                continue  # started with nohup: meant to outlive its terminal
            signal.signal(number, self._asked_to_stop)
        try:
            self._clear_earlier_start()
            self._start_everything()
            self._watch()
        except Stopped:
            say("Stopping …")
            return 0
        except Trouble as error:
            say(f"Greensand cannot go on. {error}")
            return 1
        finally:
            self._stop_everything()

    def _asked_to_stop(self, number: int, frame: object) -> None:
        if not self.stopping:
            self.stopping = True
            raise Stopped
        # Asked a second time: no more patience. PostgreSQL recovers from its own log.
        for service in self.services.values():
            if service.child and not processes.has_ended(service.child):
                quick = signal.SIGQUIT if service.name == "postgresql" else signal.SIGKILL
                service.child.send_signal(quick)

    def _clear_earlier_start(self) -> None:
        """Wait for what a killed supervisor left, and remove its traces."""
        processes.clear(processes.read_traces(self.where.traces))
        self._forget()
        for log in self.where.log.glob("*.log"):
            if log.stat().st_size > LARGEST_LOG:
                log.replace(log.with_suffix(".log.1"))

    def _forget(self) -> None:
        """Remove everything that says where the services are."""
        if self.where.sockets.exists():
            shutil.rmtree(self.where.sockets.read_text(), ignore_errors=True)
        for path in (self.where.address, self.where.environment, self.where.sockets):
            path.unlink(missing_ok=True)
        self.where.traces.unlink(missing_ok=True)

    def _start_everything(self) -> None:
        # Kept open here, so that a web server started again finds the callers still queueing.
        self.listener = listener = ports.bind_next_free(self.first_port)
        address = f"http://127.0.0.1:{listener.getsockname()[1]}/"
        commands = Commands(
            bind=f"fd://{listener.fileno()}",
            beat_schedule=str(self.where.var / "beat" / "schedule"),
        )
        servers = self._plan_servers()
        # It spends seconds loading libraries, so it begins at once; nobody knows the address yet.
        self._keep_command("web", commands.web, pass_fds=(listener.fileno(),))
        for prepare, server in servers:
            prepare()
            self._keep(server)
        self._migrate(commands)
        self._wait_for_first_page(address)
        self.where.address.write_text(address + "\n")
        say(f"\nGreensand is served at {address}  ({self._seconds()} s)")
        say(f"Ctrl-C here stops everything. Logs are in {self.where.log}.\n")
        if self.demonstration:
            self.loading = self._child("demonstration", commands.demonstration, to_terminal=True)
        self._keep_command("worker", commands.worker)
        self._keep_command("relay", commands.relay)
        self._keep_command("beat", commands.beat)

    def _plan_servers(self) -> list[tuple[Callable[[], None], Service]]:
        """Valkey and PostgreSQL, unless the environment names servers of one's own.

        returns : what to do before its first start, and the service
        """
        sockets = folders.fresh_socket_folder()
        self.where.sockets.write_text(str(sockets))
        planned: list[tuple[Callable[[], None], Service]] = []
        values = {
            "SECRET_KEY": environment.secret(self.where),
            "DEBUG": "0",
            "STATIC_ROOT": str(self.where.static),
            "ALLOWED_HOSTS": "127.0.0.1,localhost",
        }
        if "BROKER_URL" not in os.environ:
            valkey = Valkey(
                data=self.where.var / "valkey", sockets=sockets, log=self._log("valkey")
            )
            values["BROKER_URL"] = valkey.url
            service = Service("valkey", valkey.start_ready, valkey.stop, valkey.log)
            planned.append((valkey.create, service))
        if "DATABASE_URL" not in os.environ:
            postgres = Postgres(
                home=home_for(self.where.var), sockets=sockets, log=self._log("postgresql")
            )
            values["DATABASE_URL"] = postgres.url()
            if not postgres.home.is_relative_to(self.where.var):
                say(
                    f"The account {postgres.account.name} can't reach {self.where.var}, so "
                    f"PostgreSQL keeps its data in {postgres.home}."
                )
            service = Service("postgresql", postgres.start_ready, postgres.stop, postgres.log)
            planned.append((postgres.create, service))
        # What somebody set by hand counts for more than our own.
        self.environment = values | os.environ
        environment.write(
            self.where.environment,
            {key: self.environment[key] for key in environment.KEYS if key in self.environment},
        )
        return planned

    def _migrate(self, commands: Commands) -> None:
        child = self._child("migrate", commands.migrate)
        while not processes.has_ended(child):
            time.sleep(0.02)
        code = processes.collect(child)
        if code:
            raise CannotStart(str(processes.Died("migrate", code, self._log("migrate"))))

    def _wait_for_first_page(self, address: str) -> None:
        """Ask for the first page until it comes."""
        # No proxy: the page is on this machine, whatever the environment says of others.
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        trouble = "no answer"
        end = time.monotonic() + FIRST_PAGE_SECONDS
        while time.monotonic() < end:
            self._look_after()
            try:
                with opener.open(address + FIRST_PAGE, timeout=FIRST_PAGE_SECONDS):
                    return
            except urllib.error.HTTPError as error:
                trouble = f"it answers with status {error.code}"
                break
            except OSError as error:
                trouble = str(error)
            time.sleep(LOOK_SECONDS)
        log = self._log("web")
        raise CannotStart(
            f"The first page was not served ({trouble}); the web server's log, {log}, ends:\n"
            f"{processes.tail(log)}"
        )

    def _watch(self) -> NoReturn:
        while True:
            time.sleep(LOOK_SECONDS)
            self._look_after()

    def _look_after(self) -> None:
        """Start again whatever has died.

        raises : processes.Died when one of them keeps dying
        """
        for service in self.services.values():
            if service.child and processes.has_ended(service.child):
                died = processes.Died(service.name, processes.collect(service.child), service.log)
                service.child = None
                if service.keeps_dying(time.monotonic()):
                    raise died
                say(
                    f"{service.name} ended with {processes.describe(died.code)} and is started "
                    f"again; its log is {service.log}."
                )
                time.sleep(0.5 * (len(service.deaths) - 1))
                self._start(service)
        if self.loading and processes.has_ended(self.loading):
            code = processes.collect(self.loading)
            self.loading = None
            if code:
                say(
                    f"The demonstration was not loaded: it ended with {processes.describe(code)}. "
                    "The reason stands above; the next start tries again."
                )

    def _keep_command(self, name: str, argv: list[str], pass_fds: tuple[int, ...] = ()) -> None:
        self._keep(
            Service(
                name,
                lambda: self._child(name, argv, pass_fds=pass_fds),
                processes.stop,
                self._log(name),
            )
        )

    def _keep(self, service: Service) -> None:
        self.services[service.name] = service
        self._start(service)

    def _start(self, service: Service) -> None:
        service.child = service.start()
        self._write_traces()

    def _child(
        self,
        name: str,
        argv: list[str],
        *,
        pass_fds: tuple[int, ...] = (),
        to_terminal: bool = False,
    ) -> subprocess.Popen[bytes]:
        return processes.start(
            [sys.executable, *argv[1:]],
            log=None if to_terminal else self._log(name),
            cwd=PROJECT,
            env=self.environment | {"PYTHONUNBUFFERED": "1"},
            death_signal=DEATH_SIGNALS.get(name, signal.SIGTERM),
            pass_fds=pass_fds,
        )

    def _write_traces(self) -> None:
        children = [(s.name, s.child) for s in self.services.values() if s.child]
        traces = [processes.trace(name, child) for name, child in children]
        processes.write_traces(self.where.traces, [trace for trace in traces if trace])

    def _stop_everything(self) -> None:
        self.stopping = True
        if self.loading:
            processes.stop(self.loading)
        # The program's own processes are all asked before any is waited for: each may have work in
        # hand, and while they finish they still need the servers.
        program = [self.services[name] for name in PROGRAM if name in self.services]
        for service in program:
            if service.child and not processes.has_ended(service.child):
                service.child.terminate()
        for service in program:
            if service.child:
                processes.await_end(service.child)
        for name in SERVERS:
            server = self.services.get(name)
            if server and server.child:
                server.stop(server.child)
        self._forget()

    def _log(self, name: str) -> Path:
        return self.where.log / f"{name}.log"

    def _seconds(self) -> str:
        return f"{time.monotonic() - self.began:.1f}"
