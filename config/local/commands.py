"""The commands of the program's own processes: the supervisor and docker-compose.yml run these.

Each begins with `python`, found on the path in a container and taken from the virtual
environment by the supervisor.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Commands:
    """The words of each command, given where the web listens and where beat keeps its notes."""

    bind: str
    beat_schedule: str

    @property
    def migrate(self) -> list[str]:
        """Bring the database's tables up to date, then end.

        Without the checks of all pages, which a test runs: they would load the whole program.
        """
        return ["python", "manage.py", "migrate", "--no-input", "--skip-checks"]

    @property
    def web(self) -> list[str]:
        """Serve pages."""
        return [
            *("python", "-m", "gunicorn", "config.wsgi", "--bind", self.bind),
            # Loaded once and forked: half the work before the first page, half the memory after.
            *("--preload", "--worker-class", "gthread", "--workers", "2", "--threads", "4"),
            # The control socket has one fixed place a user: two copies would fight over it.
            *("--no-control-socket", "--access-logfile", "-"),
        ]

    @property
    def worker(self) -> list[str]:
        """Do the long jobs."""
        return [
            *("python", "-m", "celery", "--app", "config.celery", "worker"),
            *("--loglevel", "INFO", "--concurrency", "2", "--without-gossip", "--without-mingle"),
        ]

    @property
    def beat(self) -> list[str]:
        """Start what is due by the clock."""
        return [
            *("python", "-m", "celery", "--app", "config.celery", "beat"),
            *("--loglevel", "INFO", "--schedule", self.beat_schedule),
        ]

    @property
    def relay(self) -> list[str]:
        """Hand committed events on to the worker."""
        return ["python", "manage.py", "relay"]

    @property
    def demonstration(self) -> list[str]:
        """Load the invented works once, then end."""
        return ["python", "manage.py", "load_demonstration"]
