"""Long jobs: one a key while open, progress that a page can show, cancel that is heard."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import IntegrityError, transaction
from django.utils import timezone

from works.models import Job, Person

OPEN = (Job.State.WAITING, Job.State.RUNNING)


class JobCancelled(Exception):
    """Somebody asked for the job to stop."""


def ask(kind: str, *, key: str, by: Person | None) -> tuple[Job, bool]:
    """The open job of that key, made if there is none; and whether it is new."""
    while True:
        try:
            with transaction.atomic():
                return Job.objects.create(kind=kind, key=key, asked_by=by), True
        except IntegrityError:
            # Somebody asked before us; unless theirs has ended meanwhile, it is ours as well.
            if job := Job.objects.filter(key=key, state__in=OPEN).first():
                return job, False


def progress(job: Job, *, phase: str, done: int = 0, total: int = 0) -> None:
    """Write how far the job is.

    raises : JobCancelled when somebody asked for it
    """
    Job.objects.filter(pk=job.pk).update(phase=phase, done=done, total=total)
    if Job.objects.filter(pk=job.pk, cancel_asked=True).exists():
        raise JobCancelled(job.kind)


@contextmanager
def running(job: Job) -> Iterator[Job]:
    """Mark the job running, then done, cancelled or failed with its trouble."""
    Job.objects.filter(pk=job.pk).update(state=Job.State.RUNNING, started_at=timezone.now())
    try:
        yield job
    except JobCancelled:
        Job.objects.filter(pk=job.pk).update(state=Job.State.CANCELLED, ended_at=timezone.now())
    except BaseException as error:
        Job.objects.filter(pk=job.pk).update(
            state=Job.State.FAILED, ended_at=timezone.now(), trouble=repr(error)
        )
        raise
    else:
        Job.objects.filter(pk=job.pk).update(state=Job.State.DONE, ended_at=timezone.now())


def stop(job: Job) -> bool:
    """Ask an open job to stop at its next step; False when it has ended already."""
    return bool(Job.objects.filter(pk=job.pk, state__in=OPEN).update(cancel_asked=True))
