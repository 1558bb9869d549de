"""How long `make demo` takes to its first page: in a fresh clone from nothing, and again.

What is committed is measured: the clone knows nothing of an unsaved change. The download caches
are empty, so the first figure holds the network too.
"""

import os
import re
import shutil
import signal
import subprocess
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from bench.figures import figure
from config.local.folders import PROJECT
from config.local.supervisor import FIRST_PAGE

SERVED = re.compile(r"served at (http://\S+)")
STOPPING_SECONDS = 60.0
OURS = ("DATABASE_URL", "BROKER_URL", "SECRET_KEY", "GREENSAND_VAR", "DJANGO_SETTINGS_MODULE")


@contextmanager
def fresh_clone() -> Iterator[tuple[Path, dict[str, str]]]:
    """A clone of the committed state and an environment with empty caches; removed afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="greensand-clone-"))
    folder.chmod(0o755)  # PostgreSQL's account has to pass through
    clone = folder / "greensand"
    environment = {key: value for key, value in os.environ.items() if key not in OURS}
    # Make's own variables would tell the inner make that it is a part of this one.
    for key in ("MAKEFLAGS", "MAKELEVEL", "MFLAGS"):
        environment.pop(key, None)
    environment |= {"UV_CACHE_DIR": str(folder / "uv"), "PIP_CACHE_DIR": str(folder / "pip")}
    try:
        subprocess.run(["git", "clone", "--quiet", "--no-hardlinks", PROJECT, clone], check=True)
        yield clone, environment
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def seconds_to_first_page(clone: Path, environment: dict[str, str]) -> float:
    """Run `make demo` until it has said where its first page was served, then stop it.

    returns : from the command to that line [s]
    raises : RuntimeError with what it printed when it ended before
    """
    began = time.monotonic()
    with subprocess.Popen(
        ["make", "demo"],
        cwd=clone,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    ) as running:
        assert running.stdout is not None
        printed = []
        try:
            for line in running.stdout:
                printed.append(line)
                if found := SERVED.search(line):
                    seconds = time.monotonic() - began
                    # Said only after the page had come; a browser gets it too.
                    with urllib.request.urlopen(found[1] + FIRST_PAGE, timeout=60) as page:
                        page.read()
                    return seconds
            raise RuntimeError("make demo ended without a page:\n" + "".join(printed))
        finally:
            # As Ctrl-C in a terminal does: to make and the supervisor alike.
            if running.poll() is None:
                os.killpg(running.pid, signal.SIGINT)
            running.communicate(timeout=STOPPING_SECONDS)


@cache
def both_starts() -> tuple[float, float]:
    """The first start from nothing and the second in the same clone [s]."""
    with fresh_clone() as (clone, environment):
        first = seconds_to_first_page(clone, environment)
        return first, seconds_to_first_page(clone, environment)


@figure("start-from-nothing", goal="< 60", unit="s")
def start_from_nothing() -> float:
    return both_starts()[0]


@figure("start-again", goal="< 5", unit="s")
def start_again() -> float:
    return both_starts()[1]
