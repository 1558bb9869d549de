"""PostgreSQL and Valkey in a temporary folder, for tests and measurements.

Their addresses are known before they run, so settings can be read first; each starts when first
asked for and is gone at the end, also after a crash or a kill of the process that asked.
"""

import atexit
import json
import os
import shutil
import subprocess
import tempfile
from dataclasses import asdict
from pathlib import Path

from config.local import folders, processes
from config.local.postgres import DATABASE, Postgres
from config.local.valkey import Valkey

PREFIX = "greensand-brief-"
OWNER = "owner.json"


class TemporaryServices:
    """A temporary folder with the servers in it; their addresses are known before they run."""

    def __init__(self) -> None:
        remove_leftovers()
        self.folder = folders.fresh_socket_folder(PREFIX)
        atexit.register(self.stop)
        self.pid = os.getpid()
        own = processes.look_up(self.pid)
        if own is None:
            raise ProcessLookupError("This process does not find itself in /proc.")
        trace = processes.Trace("owner", self.pid, own.started, processes.boot())
        (self.folder / OWNER).write_text(json.dumps(asdict(trace)))
        self.static = self.folder / "static"
        self.static.mkdir()
        self.postgres = Postgres(
            home=self.folder / "postgresql",
            sockets=self.folder,
            log=self.folder / "postgresql.log",
            durable=False,
        )
        self.valkey = Valkey(
            data=self.folder / "valkey",
            sockets=self.folder,
            log=self.folder / "valkey.log",
        )
        self._postgres: subprocess.Popen[bytes] | None = None
        self._valkey: subprocess.Popen[bytes] | None = None

    def start_postgres(self) -> None:
        """Start PostgreSQL unless it runs."""
        if self._postgres is None:
            self.postgres.create()
            self._postgres = self.postgres.start_ready()

    def start_valkey(self) -> None:
        """Start Valkey unless it runs."""
        if self._valkey is None:
            self.valkey.create()
            self._valkey = self.valkey.start_ready()

    def stop_valkey(self) -> None:
        """Take the broker away, to see what happens then."""
        if self._valkey:
            self.valkey.stop(self._valkey)
            self._valkey = None

    def environment(self, database: str = DATABASE) -> dict[str, str]:
        """What a process must know to work on that database, and nothing of another's settings."""
        return {
            "DATABASE_URL": self.postgres.url(database),
            "BROKER_URL": self.valkey.url,
            "SECRET_KEY": "of a works that lasts as long as its folder",
            "ALLOWED_HOSTS": "testserver,localhost,127.0.0.1",
            "CSRF_TRUSTED_ORIGINS": "",
            "STATIC_ROOT": str(self.static),
            "DEBUG": "0",
            "BEHIND_TLS": "0",
        }

    def stop(self) -> None:
        """Stop what runs and throw the folder away; also called at a crash."""
        if os.getpid() != self.pid:
            return  # a forked child: the folder is its parent's
        self.stop_valkey()
        if self._postgres:
            self.postgres.stop(self._postgres)
            self._postgres = None
        shutil.rmtree(self.folder, ignore_errors=True)


def remove_leftovers() -> None:
    """Remove folders whose owners were killed; the servers in them died with their owner."""
    for folder in Path(tempfile.gettempdir()).glob(f"{PREFIX}*"):
        owner = folder / OWNER
        if owner.exists() and owner.stat().st_uid == os.geteuid():
            found = processes.Trace(**json.loads(owner.read_text()))
            process = processes.look_up(found.pid)
            alive = process and process.started == found.started and found.boot == processes.boot()
            if not alive:
                shutil.rmtree(folder, ignore_errors=True)
