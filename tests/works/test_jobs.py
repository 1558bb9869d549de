"""Long jobs: one a key, progress, a cancel that is heard, troubles kept."""

import pytest
from django.db import IntegrityError, transaction

from tests.factories.works import person
from works import jobs
from works.models import Job
from works.people import Group

pytestmark = pytest.mark.django_db


def now(job: Job) -> Job:
    return Job.objects.get(pk=job.pk)


def test_two_requests_for_the_same_are_one_job() -> None:
    by = person(Group.PLANNER)
    first, is_new = jobs.ask("plan", key="plan", by=by)
    again, is_new_again = jobs.ask("plan", key="plan", by=None)
    assert (is_new, is_new_again, again) == (True, False, first)


def test_when_a_job_has_ended_the_next_request_is_a_new_one() -> None:
    first, _ = jobs.ask("plan", key="plan", by=None)
    with jobs.running(first):
        pass
    second, is_new = jobs.ask("plan", key="plan", by=None)
    assert is_new
    assert second != first


def test_progress_is_written_and_the_end_too() -> None:
    job, _ = jobs.ask("plan", key="plan", by=None)
    with jobs.running(job):
        jobs.progress(job, phase="searching", done=2, total=5)
        seen = now(job)
    assert (seen.state, seen.phase, seen.done, seen.total) == ("running", "searching", 2, 5)
    assert now(job).state == "done"
    assert now(job).ended_at is not None


def test_a_cancel_is_heard_at_the_next_step() -> None:
    job, _ = jobs.ask("plan", key="plan", by=None)
    with jobs.running(job):
        assert jobs.stop(job)
        jobs.progress(job, phase="the next step")
        pytest.fail("the job went on")
    assert now(job).state == "cancelled"


def test_a_job_that_has_ended_cannot_be_stopped() -> None:
    job, _ = jobs.ask("plan", key="plan", by=None)
    with jobs.running(job):
        pass
    assert not jobs.stop(job)
    assert not now(job).cancel_asked


def test_a_job_that_fails_keeps_its_trouble() -> None:
    job, _ = jobs.ask("plan", key="plan", by=None)
    with pytest.raises(ZeroDivisionError), jobs.running(job):
        _ = 1 / 0
    assert now(job).state == "failed"
    assert "division by zero" in now(job).trouble


def test_the_database_holds_a_job_to_its_key_and_its_count() -> None:
    job, _ = jobs.ask("plan", key="plan", by=None)
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.create(kind="plan", key="plan")
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(done=6, total=5)
