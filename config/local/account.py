"""Which account PostgreSQL runs as, and whether that account can reach a folder.

PostgreSQL refuses to run as root. Started by root, it runs as the checkout's owner, or as the
system's `postgres`, or as `nobody`; started by anybody else, as themselves.
"""

import os
import pwd
import stat
from dataclasses import dataclass
from pathlib import Path

from config.local.errors import NoAccount
from config.local.folders import PROJECT


@dataclass(frozen=True)
class Account:
    """An account of the system."""

    name: str
    uid: int
    gid: int

    def owns(self, path: Path) -> None:
        """Make the account the owner, when that can change anything."""
        if os.geteuid() == 0:
            os.chown(path, self.uid, self.gid)

    def reaches(self, path: Path) -> bool:
        """True when every folder down to the path lets the account through."""
        for folder in [path, *path.parents]:
            if not folder.exists():
                continue
            found = folder.stat()
            needed = stat.S_IXUSR if found.st_uid == self.uid else stat.S_IXOTH
            if not found.st_mode & needed:
                return False
        return True


def own() -> Account:
    """The account this process runs as.

    raises : NoAccount when the user number has no entry in the system's list
    """
    try:
        entry = pwd.getpwuid(os.geteuid())
    except KeyError:
        raise NoAccount(
            f"User number {os.geteuid()} has no name in this system's list of accounts, "
            "and PostgreSQL needs one. Add it, or set DATABASE_URL to a server of your own."
        ) from None
    return Account(entry.pw_name, entry.pw_uid, entry.pw_gid)


def for_postgres() -> Account:
    """The account PostgreSQL runs as.

    raises : NoAccount
    """
    if os.geteuid() != 0:
        return own()
    candidates: list[int | str] = [PROJECT.stat().st_uid, "postgres", "nobody"]
    for candidate in candidates:
        try:
            entry = (
                pwd.getpwuid(candidate) if isinstance(candidate, int) else pwd.getpwnam(candidate)
            )
        except KeyError:
            continue
        if entry.pw_uid != 0:
            return Account(entry.pw_name, entry.pw_uid, entry.pw_gid)
    raise NoAccount(
        "PostgreSQL does not run as root, and neither `postgres` nor `nobody` is an account here. "
        "Start as another user, or set DATABASE_URL to a server of your own."
    )
