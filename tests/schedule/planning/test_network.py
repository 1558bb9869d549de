"""The door: what a problem is refused for, and that each refusal says where."""

from typing import Any

import pytest

from schedule.planning import (
    Held,
    Kind,
    Link,
    Need,
    Operation,
    Problem,
    Resource,
    Route,
    WorkCentre,
)
from schedule.planning.errors import (
    BadLag,
    BadProblem,
    Cycle,
    DuplicateLink,
    DuplicateOperation,
    MissingCalendar,
    NegativeDuration,
    NotEnoughPlaces,
    OperationTooLong,
    UnknownOperation,
    UnknownPlace,
    UnknownPredecessor,
)
from tests.schedule.planning.works import day_shift, elapsed


def passing(key: str, minutes: int = 10, **options: object) -> Operation:
    return Operation(key=key, minutes=minutes, kind=Kind.ELAPSED, **options)


def working(key: str, minutes: int = 10, **options: object) -> Operation:
    return Operation(key=key, minutes=minutes, **options)


def test_a_cycle_names_its_operations_in_the_order_they_wait() -> None:
    with pytest.raises(Cycle) as refused:
        elapsed(
            {"start": 1, "bore": 1, "drill": 1, "bolt": 1, "end": 1},
            [
                ("start", "bore"),
                ("bore", "drill"),
                ("drill", "bolt"),
                ("bolt", "bore"),
                ("bolt", "end"),
            ],
        )
    assert refused.value.operations == ("bore", "drill", "bolt")
    assert "bore → drill → bolt → bore" in str(refused.value)


def test_an_operation_that_waits_for_itself_is_a_cycle_of_one() -> None:
    with pytest.raises(Cycle) as refused:
        elapsed({"bore": 1}, [("bore", "bore")])
    assert refused.value.operations == ("bore",)


@pytest.mark.parametrize(
    ("make", "error", "says"),
    [
        (lambda: elapsed({"a": 1}, [("b", "a")]), UnknownPredecessor, "a waits for b"),
        (lambda: elapsed({"a": 1}, [("a", "b")]), UnknownOperation, "names b"),
        (lambda: elapsed({"a": -5}, []), NegativeDuration, "-5 minutes"),
        (lambda: elapsed({"a": 1, "b": 1}, [("a", "b")] * 2), DuplicateLink, "twice to a"),
        (
            lambda: Problem(operations=(passing("a"), passing("a"))),
            DuplicateOperation,
            "Two operations are called a",
        ),
        (
            lambda: Problem(
                operations=(passing("a"), passing("b")),
                links=(Link(before="a", after="b", lag_minutes=-1),),
            ),
            BadLag,
            "-1 minutes",
        ),
        (
            lambda: Problem(
                operations=(passing("a"), passing("b")),
                links=(Link(before="a", after="b", lag_minutes=60, max_lag_minutes=30),),
            ),
            BadLag,
            "60 to 30",
        ),
        (lambda: Problem(operations=(working("a"),)), MissingCalendar, "no calendar"),
        (
            lambda: Problem(operations=(working("a", calendar=3),), calendars=(day_shift(),)),
            MissingCalendar,
            "calendar 3; there are 1",
        ),
        (
            lambda: Problem(operations=(passing("a", calendar=0),), calendars=(day_shift(),)),
            BadProblem,
            "keeps no calendar",
        ),
        (
            lambda: Problem(
                operations=(working("pour", 500, calendar=0, splits=False),),
                calendars=(day_shift(),),
            ),
            OperationTooLong,
            "pour takes 500 minutes.*480 minutes",
        ),
        (
            lambda: Problem(operations=(passing("a", route=1),), routes=(Route(key="r", due=0),)),
            UnknownPlace,
            "route 1; there are 1",
        ),
        (
            lambda: Problem(operations=(passing("a", work_centre=0),)),
            UnknownPlace,
            "work centre 0; there are 0",
        ),
        (
            lambda: Problem(
                operations=(passing("a", needs=(Need(resource=0, amount=2),)),),
                resources=(Resource(key="boring jig", amount=1),),
                work_centres=(WorkCentre(key="borer"),),
            ),
            NotEnoughPlaces,
            "needs 2 of boring jig",
        ),
        (
            lambda: Problem(
                operations=(passing("a"),),
                resources=(Resource(key="box", amount=1),),
                held=(Held(resource=0, first="a", last="z"),),
            ),
            UnknownOperation,
            "names z",
        ),
    ],
)
def test_a_bad_problem_is_refused_with_what_and_where(make: Any, error: Any, says: Any) -> None:
    with pytest.raises(error, match=says):
        make()


def test_operations_come_after_all_they_wait_for() -> None:
    problem = elapsed(
        {"e": 1, "d": 1, "c": 1, "b": 1, "a": 1},
        [("a", "b"), ("a", "c"), ("b", "d"), ("c", "d"), ("d", "e")],
    )
    keys = [problem.operations[i].key for i in problem.topological]
    assert keys == ["a", "c", "b", "d", "e"]
