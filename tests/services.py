"""PostgreSQL and Valkey for one test process, started when a test first asks for them.

Measured on two cores: making and starting a PostgreSQL takes 0.7 s, so each worker of
pytest-xdist has servers of its own; sharing one would need locks to save that. Tests that compute
only start nothing.
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
from config.local.postgres import Postgres
from config.local.valkey import Valkey

PREFIX = "greensand-test-"
OWNER = "owner.json"


class Services:
    """A temporary folder with the servers in it; their addresses are known before they run."""

    def __init__(self) -> None:
        remove_leftovers()
        self.folder = folders.fresh_socket_folder(PREFIX)
        atexit.register(self.stop)
        self.pid = os.getpid()
        own = processes.look_up(self.pid)
        assert own is not None
        trace = processes.Trace("tests", self.pid, own.started, processes.boot())
        (self.folder / OWNER).write_text(json.dumps(asdict(trace)))
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
            self._valkey = self.valkey.start()
            self.valkey.wait_until_ready(self._valkey)

    def stop_valkey(self) -> None:
        """Take the broker away, as a test of what happens then."""
        if self._valkey:
            self.valkey.stop(self._valkey)
            self._valkey = None

    def environment(self, database: str) -> dict[str, str]:
        """What a child must know to work on that database."""
        return {"DATABASE_URL": self.postgres.url(database), "BROKER_URL": self.valkey.url}

    def stop(self) -> None:
        """Stop what runs and throw the folder away; also called when the tests crash."""
        if os.getpid() != self.pid:
            return  # a forked child: the folder is its parent's
        self.stop_valkey()
        if self._postgres:
            self.postgres.stop(self._postgres)
            self._postgres = None
        shutil.rmtree(self.folder, ignore_errors=True)


def remove_leftovers() -> None:
    """Remove folders of test processes that were killed; their servers died with them."""
    for folder in Path(tempfile.gettempdir()).glob(f"{PREFIX}*"):
        owner = folder / OWNER
        if owner.exists() and owner.stat().st_uid == os.geteuid():
            found = processes.Trace(**json.loads(owner.read_text()))
            process = processes.look_up(found.pid)
            alive = process and process.started == found.started and found.boot == processes.boot()
            if not alive:
                shutil.rmtree(folder, ignore_errors=True)


services = Services()
os.environ.update(services.environment("greensand"))
os.environ["SECRET_KEY"] = "only for tests"
os.environ["ALLOWED_HOSTS"] = "testserver,localhost,127.0.0.1"
for name in ("DEBUG", "BEHIND_TLS", "CSRF_TRUSTED_ORIGINS", "EMAIL_BACKEND"):
    os.environ.pop(name, None)
