"""Weeks of work in seconds: every report and release up to one operation, by the deeds."""

from collections.abc import Mapping
from datetime import timedelta

from django.utils import timezone

from quality.actions.holds import release
from quality.models import InspectionPoint, Part
from schedule.actions.bought_outs import arrive, order_part
from schedule.actions.forecast import forecast_once
from schedule.actions.progress import report
from schedule.models import BoughtOut, Link, Operation, Route
from schedule.queries.confirmations import expected_confirmations
from works.models import Person


def hurry(route: Route, *, until: str, people: Mapping[str, Person]) -> None:
    """Finish all that must come before the operations of a code, and release what guards it.

    until : code of the operations that are left to the test, with their own holds
    """
    ends = set(route.operations.filter(code=until).values_list("pk", flat=True))
    before: dict[int, set[int]] = {}
    for source, target in Link.objects.filter(after__route=route).values_list("before", "after"):
        before.setdefault(target, set()).add(source)
    wanted: set[int] = set()
    waiting = [source for end in ends for source in before.get(end, set())]
    while waiting:
        pk = waiting.pop()
        if pk not in wanted:
            wanted.add(pk)
            waiting += before.get(pk, set())
    with forecast_once(now=timezone.now()):
        for operation in route.operations.filter(pk__in=wanted).order_by("position"):
            _finish(operation, people)


def _finish(operation: Operation, people: Mapping[str, Person]) -> None:
    now = timezone.now()
    _release(operation, "before", people)
    operation.refresh_from_db()
    if operation.kind == Operation.Kind.BOUGHT_OUT:
        part = BoughtOut.objects.get(operation=operation)
        today = timezone.localdate()
        buyer = people["buyer"]
        order_part(bought_out_id=part.pk, supplier="Sabor", ordered_on=today, by=buyer, at=now)
        arrive(bought_out_id=part.pk, arrived_on=today, by=buyer, at=now)
    elif operation.state != Operation.State.FINISHED:
        started = operation.started_at is None
        if started and InspectionPoint.objects.filter(operation=operation, timing="during"):
            _report(operation, "start", people)
            started = False
        _release(operation, "during", people)
        _report(operation, "finish", people, states_start=started)
    _release(operation, "after", people)


def _report(
    operation: Operation, deed: str, people: Mapping[str, Person], *, states_start: bool = False
) -> None:
    now = timezone.now()
    operation = Operation.objects.select_related("route", "unit").get(pk=operation.pk)
    report(
        operation_ids=[operation.pk],
        deed=deed,
        stated_at=now,
        started_at=now - timedelta(seconds=1) if states_start else None,
        confirmed=expected_confirmations([operation]),
        by=people["manager"],
        at=now,
    )


def _release(operation: Operation, timing: str, people: Mapping[str, Person]) -> None:
    for point in InspectionPoint.objects.filter(operation=operation, timing=timing):
        for party, letter in point.parties().items():
            if letter == Part.HOLD:
                release(
                    point_id=point.pk,
                    party=party,
                    signed_by="T. Vilar",
                    record="found as required",
                    by=people["quality"],
                    at=timezone.now(),
                )
