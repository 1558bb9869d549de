"""A worker killed in the middle loses nothing and does nothing twice."""

import pytest
from django.db import transaction
from django.utils import timezone

from schedule.facts import Fact
from tests.background import Background
from tests.factories.schedule import RouteFactory
from tests.factories.works import SiteFactory
from works.events import record
from works.models import Errand, Outbox

pytestmark = pytest.mark.slow
COUNT = 40


def test_a_killed_worker_loses_and_doubles_nothing(
    worker: Background,
) -> None:
    SiteFactory.create()
    with transaction.atomic():
        for route in RouteFactory.create_batch(COUNT):
            record(
                Fact.FORECAST_MOVED,
                about=route,
                by=None,
                at=timezone.now(),
                after={"route": route.pk},
            )
    worker.wait_until(lambda: Errand.objects.filter(attempts__gt=0).exists())
    worker.kill("worker")
    Errand.objects.filter(done_at=None).update(handed_on_at=None)
    worker.start("worker")
    worker.wait_until(
        lambda: (
            not Outbox.objects.filter(passed_on_at=None).exists()
            and Errand.objects.exists()
            and not Errand.objects.filter(done_at=None).exists()
        ),
        seconds=60.0,
    )
    done = Errand.objects.values_list("event__about_id", "task")
    assert len({about for about, _ in done}) == COUNT
    assert len(set(done)) == len(done)
