"""What a process must know to find the services, and a file of it for `manage.py` by hand."""

import fcntl
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from config.local.folders import Folders

KEYS = ("DATABASE_URL", "BROKER_URL", "SECRET_KEY", "STATIC_ROOT", "DEBUG", "ALLOWED_HOSTS")


def write(path: Path, values: Mapping[str, str]) -> None:
    """Put the values there in one step, readable by the owner only."""
    new = path.with_suffix(".new")
    new.unlink(missing_ok=True)
    with os.fdopen(os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.writelines(f"{key}={value}\n" for key, value in values.items())
    new.replace(path)


def read(path: Path) -> dict[str, str]:
    """The values written there."""
    lines = path.read_text().splitlines()
    return dict(line.split("=", 1) for line in lines if line)


def secret(folders: Folders) -> str:
    """This checkout's secret key, made once and readable by the owner only."""
    if not folders.secret.exists():
        folders.make()
        write(folders.secret, {"SECRET_KEY": secrets.token_urlsafe(50)})
    return read(folders.secret)["SECRET_KEY"]


def is_held(lock: Path) -> bool:
    """True while a supervisor runs in that folder."""
    if not lock.exists():
        return False
    with lock.open() as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        return False


def adopt(folders: Folders) -> str | None:
    """Fill this process's environment with the running services of the checkout.

    Does nothing when DATABASE_URL is set: somebody has said where the services are.

    returns : why there is nothing to adopt, None when all is well
    """
    if "DATABASE_URL" in os.environ:
        return None
    if is_held(folders.lock) and folders.environment.exists():
        for key, value in read(folders.environment).items():
            os.environ.setdefault(key, value)
        return None
    os.environ.setdefault("SECRET_KEY", secret(folders))
    return (
        "Greensand's own services are not running in this folder. "
        "Start them with `make demo`, or set DATABASE_URL and BROKER_URL."
    )
