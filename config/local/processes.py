"""Children that can't outlive their parent, and traces of those that were killed with it.

Each child leads a session of its own, so that Ctrl-C in the terminal reaches the supervisor
alone, and asks the kernel for a signal when its parent dies. What may still be left after a
`kill -9` is found again by process number, start time and boot: a number alone may meanwhile
belong to somebody else.
"""

import ctypes
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from config.local.account import Account
from config.local.errors import NotLinux, Trouble

PR_SET_PDEATHSIG = 1
_libc = ctypes.CDLL(None, use_errno=True)


class Died(Trouble):
    """A child ended that should have run on."""

    def __init__(self, name: str, code: int, log: Path) -> None:
        self.name, self.code, self.log = name, code, log
        super().__init__(f"{name} ended with {describe(code)}; its log, {log}, ends:\n{tail(log)}")


class TooSlow(Trouble):
    """A child did not become ready in time."""

    def __init__(self, name: str, seconds: float, log: Path) -> None:
        super().__init__(
            f"{name} was not ready after {seconds:g} s; its log, {log}, ends:\n{tail(log)}"
        )


def require_linux() -> None:
    """raises : NotLinux"""
    if not sys.platform.startswith("linux"):
        raise NotLinux(
            "The embedded services need Linux. Elsewhere set DATABASE_URL and BROKER_URL to "
            "servers of your own and start the commands of docker-compose.yml."
        )


def describe(code: int) -> str:
    """An exit code in words."""
    return f"signal {signal.Signals(-code).name}" if code < 0 else f"exit code {code}"


def tail(log: Path, lines: int = 15) -> str:
    """The end of a log."""
    if not log.exists():
        return "(empty)"
    return "\n".join(log.read_text(errors="replace").splitlines()[-lines:]) or "(empty)"


def start(
    argv: Sequence[str | Path],
    *,
    log: Path | None,
    cwd: Path,
    env: Mapping[str, str],
    account: Account | None = None,
    death_signal: signal.Signals = signal.SIGTERM,
    pass_fds: Sequence[int] = (),
) -> subprocess.Popen[bytes]:
    """Start a child in its own session that is told when this process dies.

    Call it from the main thread: the kernel watches the thread that forked.
    """
    parent = os.getpid()

    def before_exec() -> None:
        # After the change of account, since that clears the request.
        _libc.prctl(PR_SET_PDEATHSIG, int(death_signal))
        if os.getppid() != parent:
            os._exit(1)

    other = account is not None and account.uid != os.geteuid()
    output = log.open("ab") if log else None
    try:
        return subprocess.Popen(
            [str(word) for word in argv],
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT if output else None,
            cwd=cwd,
            env=dict(env),
            start_new_session=True,
            preexec_fn=before_exec,
            pass_fds=pass_fds,
            user=account.uid if account and other else None,
            group=account.gid if account and other else None,
            extra_groups=[] if other else None,
        )
    finally:
        if output:
            output.close()


def stop(
    child: subprocess.Popen[bytes],
    *,
    by: signal.Signals = signal.SIGTERM,
    patience: float = 10.0,
) -> None:
    """Ask a child to stop; end what is left of its session when it has, or after the patience."""
    if not has_ended(child):
        child.send_signal(by)
    await_end(child, patience=patience)


def await_end(child: subprocess.Popen[bytes], *, patience: float = 10.0) -> None:
    """Wait for a child that was asked to stop; end it and what is left of its session."""
    wait_until(lambda: has_ended(child), seconds=patience)
    collect(child)


def has_ended(child: subprocess.Popen[bytes]) -> bool:
    """True when the child runs no more, whether collected or not."""
    if child.returncode is not None:
        return True
    found = look_up(child.pid)
    return found is None or found.is_zombie


def collect(child: subprocess.Popen[bytes]) -> int:
    """End what is left of a child's process group, then take its exit code.

    In this order: until its code is taken, nobody else can be given its number.
    """
    if child.returncode is None:
        end_group(child.pid)
    return child.wait()


def end_group(leader: int) -> None:
    """Kill what is left of a child's process group."""
    try:
        os.killpg(leader, signal.SIGKILL)
    except ProcessLookupError:
        return


@dataclass(frozen=True)
class Stat:
    """What the kernel says of a process."""

    pid: int
    state: str
    session: int
    started: int  # clock ticks since boot

    @property
    def is_zombie(self) -> bool:
        """Ended, but not yet collected by its parent."""
        return self.state in "ZX"


def look_up(pid: int) -> Stat | None:
    """The process of that number, None when there is none."""
    try:
        text = Path(f"/proc/{pid}/stat").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return None
    rest = text[text.rindex(")") + 2 :].split()  # a command's name may hold spaces and brackets
    return Stat(pid=pid, state=rest[0], session=int(rest[3]), started=int(rest[19]))


def command_line(pid: int) -> list[str]:
    """The words a process was started with, empty when it is gone."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_text(errors="replace").split("\0")
    except (FileNotFoundError, ProcessLookupError):
        return []


def boot() -> str:
    """Names the run of this machine since it was switched on."""
    return Path("/proc/sys/kernel/random/boot_id").read_text().strip()


@dataclass(frozen=True)
class Trace:
    """A child as it can be recognised after its parent was killed."""

    name: str
    pid: int
    started: int
    boot: str

    def remains(self) -> list[int]:
        """The live processes of the child's session."""
        if self.boot != boot():
            return []
        leader = look_up(self.pid)
        if leader and leader.started != self.started:
            return []  # the number is somebody else's, which the kernel allows only after the end
        every = (look_up(int(entry.name)) for entry in Path("/proc").glob("[0-9]*"))
        return [
            found.pid
            for found in every
            if found and found.session == self.pid and not found.is_zombie
        ]


def trace(name: str, child: subprocess.Popen[bytes]) -> Trace | None:
    """The trace of a child just started, None when it has ended already."""
    found = look_up(child.pid)
    return Trace(name, child.pid, found.started, boot()) if found else None


def write_traces(path: Path, traces: Sequence[Trace]) -> None:
    """Keep the traces for the next start."""
    new = path.with_suffix(".new")
    new.write_text(json.dumps([asdict(trace) for trace in traces]))
    new.replace(path)


def read_traces(path: Path) -> list[Trace]:
    """The traces of the last start."""
    return [Trace(**entry) for entry in json.loads(path.read_text())] if path.exists() else []


def wait_until(true: Callable[[], bool], *, seconds: float, step: float = 0.02) -> bool:
    """Look again and again until it is true; False when time is up."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            return False
        time.sleep(step)
    return True


def clear(traces: Sequence[Trace], *, patience: float = 5.0) -> None:
    """See to it that nothing of an earlier start still runs.

    They were told of their parent's death and mostly leave by themselves.
    """
    wait_until(lambda: not any(trace.remains() for trace in traces), seconds=patience)
    for trace in traces:
        for pid in trace.remains():
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
    wait_until(lambda: not any(trace.remains() for trace in traces), seconds=patience)
