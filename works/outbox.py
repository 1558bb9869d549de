"""From the outbox to the tasks that answer: nothing lost, nothing done twice.

A deed commits its event and outbox row together. The relay turns each outbox row into one errand
per answering task and publishes it. A task does its work and marks its errand done in one
transaction, so a second delivery finds it done; an errand published but not done after a while
(a killed worker, a broker that forgot, a task that failed) is published again, each time after
twice as long, with its trouble written beside it.
"""

import logging
from collections import defaultdict
from collections.abc import Callable
from datetime import timedelta

from celery import Task, shared_task
from django.db import transaction
from django.db.models import DurationField, ExpressionWrapper, F, Q, Value
from django.db.models.functions import Least, Power
from django.utils import timezone

from works.models import Errand, Event, Outbox

log = logging.getLogger(__name__)

REPUBLISH_AFTER = timedelta(seconds=20)
DOUBLINGS = 8  # then every 85 minutes, for ever: somebody may mend the cause any day
BATCH = 200
TROUBLE_LENGTH = 2000

_answering: dict[str, list[Task]] = defaultdict(list)


def answers(*facts: str) -> Callable[[Callable[[Event], object]], Task]:
    """Make a Celery task of a function of one event, run once for each of the facts.

    The function runs inside a transaction that also marks the errand done.
    """

    def wrap(function: Callable[[Event], object]) -> Task:
        name = f"{function.__module__}.{function.__name__}"

        def run(errand_id: int) -> None:
            try:
                with transaction.atomic():
                    errand = (
                        Errand.objects.select_for_update(skip_locked=True, of=("self",))
                        .select_related("event")
                        .filter(pk=errand_id, done_at=None)
                        .first()
                    )
                    if errand is None:  # done already, or another worker has it
                        return
                    function(errand.event)
                    errand.done_at, errand.trouble = timezone.now(), ""
                    errand.save(update_fields=["done_at", "trouble"])
            except Exception as error:
                _undone(errand_id, repr(error))
                raise

        task: Task = shared_task(name=name)(run)
        for fact in facts:
            _answering[str(fact)].append(task)
        return task

    return wrap


def _undone(errand_id: int, trouble: str) -> None:
    Errand.objects.filter(pk=errand_id, done_at=None).update(trouble=trouble[:TROUBLE_LENGTH])


def expand() -> int:
    """Turn waiting outbox rows into errands; one an event and task.

    Within one batch several events about one thing need a task's answer only once: the last
    event stands for them, since the task reads the newest state.
    """
    with transaction.atomic():
        rows = list(
            Outbox.objects.select_for_update(skip_locked=True, of=("self",))
            .filter(passed_on_at=None)
            .select_related("event")
            .order_by("id")[:BATCH]
        )
        wanted: dict[tuple[str, str, int], Event] = {}
        for row in rows:
            for task in _answering[row.event.deed]:
                key = (task.name, row.event.about_kind, row.event.about_id)
                wanted[key] = row.event
        Errand.objects.bulk_create(
            [Errand(event=event, task=name) for (name, _, _), event in wanted.items()],
            ignore_conflicts=True,
        )
        Outbox.objects.filter(pk__in=[row.pk for row in rows]).update(passed_on_at=timezone.now())
    return len(rows)


def publish() -> int:
    """Hand every errand that is due to the broker; a broker in trouble leaves it waiting."""
    now = timezone.now()
    waits = ExpressionWrapper(
        Value(REPUBLISH_AFTER)
        * Power(Value(2.0), Least(F("attempts"), Value(DOUBLINGS + 1)) - Value(1)),
        output_field=DurationField(),
    )
    due = Errand.objects.filter(done_at=None).filter(
        Q(handed_on_at=None) | Q(handed_on_at__lte=Value(now) - waits)
    )
    tasks = {task.name: task for group in _answering.values() for task in group}
    handed = 0
    for errand in due.order_by("id")[:BATCH]:
        if task := tasks.get(errand.task):
            task.apply_async(args=[errand.pk], task_id=f"errand-{errand.pk}-{errand.attempts}")
            handed += 1
        else:
            log.error("no task named %s for errand %s", errand.task, errand.pk)
            _undone(errand.pk, f"no task is named {errand.task}")
        Errand.objects.filter(pk=errand.pk).update(handed_on_at=now, attempts=errand.attempts + 1)
    return handed
