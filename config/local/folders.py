"""Where one checkout keeps its services: a lasting data folder and a short-lived one for sockets.

Socket paths end at 107 bytes on Linux, so sockets live in a short private temporary folder;
data, logs, the lock and the secret live in `var/` of the checkout, or in GREENSAND_VAR.
"""

import hashlib
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from config.local.errors import NoFolder

PROJECT = Path(__file__).resolve().parents[2]
LONGEST_SOCKET_PATH = 107


@dataclass(frozen=True)
class Folders:
    """The lasting folder of one checkout and the names in it."""

    var: Path

    @property
    def log(self) -> Path:
        """One log file a process."""
        return self.var / "log"

    @property
    def static(self) -> Path:
        """Collected stylesheets and scripts; empty here, where they are found in place."""
        return self.var / "static"

    @property
    def lock(self) -> Path:
        """Held by the running supervisor."""
        return self.var / "lock"

    @property
    def address(self) -> Path:
        """The web address, while it is served."""
        return self.var / "address"

    @property
    def environment(self) -> Path:
        """Where the running services are, for `manage.py` by hand."""
        return self.var / "environment"

    @property
    def secret(self) -> Path:
        """Django's secret key, made once."""
        return self.var / "secret"

    @property
    def traces(self) -> Path:
        """The processes last started, to be recognised after a kill."""
        return self.var / "processes"

    @property
    def sockets(self) -> Path:
        """Names the folder of sockets last used, to be removed after a kill."""
        return self.var / "sockets"

    def make(self) -> None:
        """Create what is missing; others may pass through only when PostgreSQL must.

        raises : NoFolder
        """
        try:
            for folder in (self.var, self.log, self.static, self.var / "beat"):
                folder.mkdir(parents=True, exist_ok=True)
            # PostgreSQL refuses to run as root: its own account then has to pass through.
            self.var.chmod(0o711 if os.geteuid() == 0 else 0o700)
            self.log.chmod(0o700)
        except OSError as error:
            raise NoFolder(
                f"{error.filename} can't be made or changed: {error.strerror}. Start Greensand as "
                "the account it belongs to, or let GREENSAND_VAR name another data folder."
            ) from error


def of_this_checkout() -> Folders:
    """`var/` beside manage.py, unless GREENSAND_VAR names another folder."""
    return Folders(Path(os.environ.get("GREENSAND_VAR") or PROJECT / "var").resolve())


def outside(var: Path) -> Path:
    """Where PostgreSQL's data go when its account can't reach the checkout (root's home, say)."""
    digest = hashlib.sha256(str(var).encode()).hexdigest()[:12]
    return Path("/var/lib") / f"greensand-{digest}"


def fresh_socket_folder(prefix: str = "greensand-") -> Path:
    """A new private folder whose name leaves room for a socket's.

    raises : OSError when there is no place to put it
    """
    longest_name = "/pg/.s.PGSQL.5432"
    place = Path(tempfile.gettempdir())
    if len(f"{place}/{prefix}12345678{longest_name}") > LONGEST_SOCKET_PATH:
        place = Path("/tmp")  # mkdtemp makes the folder private
    made = Path(tempfile.mkdtemp(prefix=prefix, dir=place))
    made.chmod(0o711 if os.geteuid() == 0 else 0o700)
    return made
