"""Both passes: published examples, networkx as an independent check, and the floor's reports."""

from itertools import pairwise
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedule.planning import (
    Cause,
    Gate,
    Kind,
    Link,
    NotBefore,
    Operation,
    Position,
    Problem,
    Progress,
    Route,
    forecast,
)
from schedule.planning.errors import (
    BadReport,
    MaximumLagCannotHold,
    TimeInTheFuture,
    UnknownOperation,
)
from tests.schedule.planning.works import DAY, always, day_shift, elapsed, minute

# Critical-path examples: durations, predecessors, dates (ES, EF, LS, LF), total and free floats.
# Server project: Krajewski/Ritzman-type operations text, all dates published; free floats ours.
SERVER = (
    {"A": 2, "B": 4, "C": 5, "D": 2, "E": 1, "F": 8, "G": 3, "H": 5, "I": 4, "J": 7},
    ["AB", "AC", "BD", "BE", "BF", "CF", "DG", "EG", "FH", "FI", "GJ", "HJ", "IJ"],
    {
        "A": (0, 2, 0, 2, 0, 0),
        "B": (2, 6, 3, 7, 1, 0),
        "C": (2, 7, 2, 7, 0, 0),
        "D": (6, 8, 15, 17, 9, 0),
        "E": (6, 7, 16, 17, 10, 1),
        "F": (7, 15, 7, 15, 0, 0),
        "G": (8, 11, 17, 20, 9, 9),
        "H": (15, 20, 15, 20, 0, 0),
        "I": (15, 19, 16, 20, 1, 1),
        "J": (20, 27, 20, 27, 0, 0),
    },
    "ACFHJ",
)
# Lathe installation: published problem and end date, table completed.
LATHE = (
    {"A": 4, "B": 7, "C": 9, "D": 3, "E": 14, "F": 10, "G": 11},
    ["AB", "BC", "BD", "DE", "CF", "DF", "FG", "EG"],
    {
        "A": (0, 4, 0, 4, 0, 0),
        "B": (4, 11, 4, 11, 0, 0),
        "C": (11, 20, 11, 20, 0, 0),
        "D": (11, 14, 13, 16, 2, 0),
        "E": (14, 28, 16, 30, 2, 2),
        "F": (20, 30, 20, 30, 0, 0),
        "G": (30, 41, 30, 41, 0, 0),
    },
    "ABCFG",
)
# Foundry filter project: Heizer and Render, from memory.
FOUNDRY = (
    {"A": 2, "B": 3, "C": 2, "D": 4, "E": 4, "F": 3, "G": 5, "H": 2},
    ["AC", "AD", "BD", "CE", "CF", "DG", "EG", "FH", "GH"],
    {
        "A": (0, 2, 0, 2, 0, 0),
        "B": (0, 3, 1, 4, 1, 0),
        "C": (2, 4, 2, 4, 0, 0),
        "D": (3, 7, 4, 8, 1, 1),
        "E": (4, 8, 4, 8, 0, 0),
        "F": (4, 7, 10, 13, 6, 6),
        "G": (8, 13, 8, 13, 0, 0),
        "H": (13, 15, 13, 15, 0, 0),
    },
    "ACEGH",
)


@pytest.mark.parametrize("example", [SERVER, LATHE, FOUNDRY], ids=["server", "lathe", "foundry"])
def test_the_passes_agree_with_published_examples(example: Any) -> None:
    durations, waits, dates, critical = example
    due = max(finish for _, finish, *_ in dates.values())
    found = forecast(elapsed(durations, waits, due=due), now=0)
    assert found.finish == due
    for key, expected in dates.items():
        row = found.row(key)
        assert (
            row.earliest_start,
            row.earliest_finish,
            row.latest_start,
            row.latest_finish,
            row.total_float,
            row.free_float,
        ) == expected, key
    assert "".join(bind.operation for bind in found.binding_chain()) == critical


@st.composite
def networks(draw: st.DrawFn) -> tuple[list[int], dict[tuple[int, int], int]]:
    count = draw(st.integers(2, 25))
    durations = draw(st.lists(st.integers(0, 50), min_size=count, max_size=count))
    pairs = [(i, j) for j in range(count) for i in range(j)]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=60))
    return durations, {pair: draw(st.integers(0, 20)) for pair in chosen}


@given(network=networks(), slack=st.integers(-30, 30))
@settings(deadline=None)
def test_the_passes_agree_with_longest_paths_by_networkx(network: Any, slack: int) -> None:
    durations, lags = network
    graph = nx.DiGraph()
    graph.add_nodes_from(["source", "sink"])
    for i, duration in enumerate(durations):
        graph.add_edge("source", ("s", i), weight=0)
        graph.add_edge(("s", i), ("f", i), weight=duration)
        graph.add_edge(("f", i), "sink", weight=0)
    for (i, j), lag in lags.items():
        graph.add_edge(("f", i), ("s", j), weight=lag)
    length = nx.dag_longest_path_length(graph)
    due = length + slack
    problem = Problem(
        operations=tuple(
            Operation(key=str(i), minutes=d, kind=Kind.ELAPSED) for i, d in enumerate(durations)
        ),
        links=tuple(
            Link(before=str(i), after=str(j), lag_minutes=lag) for (i, j), lag in lags.items()
        ),
        routes=(Route(key="r", due=due),),
    )
    found = forecast(problem, now=0)
    assert found.finish == length
    order = list(nx.topological_sort(graph))
    from_source, to_sink = dict.fromkeys(order, 0), dict.fromkeys(order, 0)
    for node in order:
        for after, edge in graph[node].items():
            from_source[after] = max(from_source[after], from_source[node] + edge["weight"])
    for node in reversed(order):
        for before, _, edge in graph.in_edges(node, data=True):
            to_sink[before] = max(to_sink[before], to_sink[node] + edge["weight"])
    for i in range(len(durations)):
        row = found.row(str(i))
        assert row.earliest_start == from_source["s", i]
        assert row.latest_finish == due - to_sink["f", i]
        assert row.total_float == row.latest_finish - row.earliest_finish
    chain = found.binding_chain()
    assert chain[0].cause is Cause.NOW
    assert chain[-1].finish == length
    for bind, following in pairwise(chain):
        lag = lags[int(bind.operation), int(following.operation)]
        assert following.start == bind.finish + lag


MONDAY = minute(2026, 1, 12, 8)


def shop(*operations: Operation, links: tuple[Link, ...] = (), due: int | None = None) -> Problem:
    return Problem(
        operations=operations,
        links=links,
        calendars=(day_shift(), always()),
        routes=(Route(key="order", due=MONDAY + 30 * DAY if due is None else due),),
    )


def work(key: str, hours: float, **options: object) -> Operation:
    return Operation(key=key, minutes=round(hours * 60), calendar=0, **options)


def test_work_stops_at_night_and_lags_pass_through_it() -> None:
    problem = shop(
        work("coat", 6),
        work("second coat", 2),
        links=(Link(before="coat", after="second coat", lag_minutes=17 * 60),),
        due=MONDAY + 4 * DAY,
    )
    found = forecast(problem, now=MONDAY, days_calendar=0)
    coat, second = found.row("coat"), found.row("second coat")
    assert coat.earliest_finish == minute(2026, 1, 12, 15)
    assert second.earliest_start == minute(2026, 1, 13, 8)
    assert second.earliest_finish == minute(2026, 1, 13, 10)
    assert found.binding_chain()[-1].waited == 0
    assert str(found.days_in_hand[0]) == "2.8 working days"
    assert second.latest_finish == minute(2026, 1, 15, 17)  # due on the 16th at 08:00
    assert second.total_float == (7 - 2 + 2 * 8) * 60 + 60
    assert coat.latest_finish == minute(2026, 1, 14, 17)  # 17 h before the 15th, 15:00


def test_days_in_hand_say_when_they_are_days_that_pass() -> None:
    found = forecast(shop(work("bore", 1), due=MONDAY + 2 * DAY), now=MONDAY)
    assert found.days_in_hand[0].unit == "elapsed days"
    assert found.days_in_hand[0].days == pytest.approx(2 - 1 / 24)


def test_an_order_that_should_have_begun_says_so() -> None:
    problem = shop(
        work("mould", 8),
        work("bore", 8),
        links=(Link(before="mould", after="bore"),),
        due=MONDAY + DAY,
    )
    found = forecast(problem, now=MONDAY, days_calendar=0)
    assert found.overdue == ("mould",)
    assert found.total_float == (-480, -480)
    assert found.days_in_hand[0].days == -1.0


def test_a_finished_operation_keeps_its_times_and_frees_what_follows() -> None:
    problem = shop(work("mould", 8), work("pour", 2), links=(Link(before="mould", after="pour"),))
    found = forecast(
        problem,
        now=MONDAY + DAY,
        progress=[Progress(operation="mould", started=MONDAY, finished=MONDAY + 100)],
    )
    assert found.row("mould").earliest_finish == MONDAY + 100
    assert found.row("mould").total_float is None
    assert found.row("pour").earliest_start == MONDAY + DAY
    assert found.binding_chain()[0].cause is Cause.NOW


def test_a_started_operation_needs_only_what_remains() -> None:
    found = forecast(
        shop(work("bore", 12)),
        now=MONDAY + 120,
        progress=[Progress(operation="bore", started=MONDAY, remaining=30)],
    )
    assert found.finish == MONDAY + 150
    bind = found.binding_chain()[0]
    assert (bind.cause, bind.note) == (Cause.PROGRESS, "in work")


def test_a_started_operation_of_which_nobody_said_what_remains_goes_as_planned() -> None:
    report = [Progress(operation="bore", started=MONDAY)]
    assert forecast(shop(work("bore", 3)), now=MONDAY + 60, progress=report).finish == MONDAY + 180
    late = forecast(shop(work("bore", 3)), now=MONDAY + 200, progress=report)
    assert late.finish == MONDAY + 200
    assert late.ahead.marks == (("bore", "should be done by now; say what remains"),)


def test_an_out_of_order_start_is_taken_and_marked_and_ends_no_earlier_than_what_it_needs() -> None:
    problem = shop(work("bore", 4), work("drill", 1), links=(Link(before="bore", after="drill"),))
    found = forecast(
        problem, now=MONDAY + 30, progress=[Progress(operation="drill", started=MONDAY)]
    )
    assert found.ahead.marks == (("drill", "started before the finish of bore"),)
    assert found.row("bore").earliest_finish == minute(2026, 1, 12, 13, 30)
    assert found.finish == minute(2026, 1, 12, 13, 30)
    assert [bind.operation for bind in found.binding_chain()] == ["bore", "drill"]


def test_a_bought_out_comes_when_promised_and_when_late_no_earlier_than_now() -> None:
    problem = shop(
        Operation(key="motor", minutes=35 * DAY, kind=Kind.ELAPSED),
        work("couple", 6),
        links=(Link(before="motor", after="couple"),),
    )
    promised = forecast(
        problem,
        now=MONDAY,
        progress=[Progress(operation="motor", started=MONDAY - DAY, expected=MONDAY + 10 * DAY)],
    )
    assert promised.row("couple").earliest_start == MONDAY + 10 * DAY
    late = forecast(
        problem,
        now=MONDAY,
        progress=[Progress(operation="motor", started=MONDAY - DAY, expected=MONDAY - 60)],
    )
    assert late.row("couple").earliest_start == MONDAY
    assert late.ahead.marks == (("motor", "promised for a time that is past"),)


def test_an_arrival_date_binds_and_is_named_in_the_chain() -> None:
    arrival = NotBefore(at=MONDAY + 3 * DAY, cause=Cause.ARRIVAL, note="bar promised")
    found = forecast(shop(work("turn", 2, not_before=(arrival,))), now=MONDAY)
    bind = found.binding_chain()[0]
    assert (bind.start, bind.cause, bind.note) == (
        MONDAY + 3 * DAY,
        Cause.ARRIVAL,
        "bar promised",
    )


def test_notice_not_yet_given_is_counted_from_now_in_working_days() -> None:
    gate = Gate(
        operation="test",
        position=Position.BEFORE,
        reason="customer witnesses the pressure test",
        notice_days=10,
        notice_calendar=0,
    )
    found = forecast(shop(work("test", 3)), now=MONDAY, gates=[gate])
    assert found.row("test").earliest_start == MONDAY + 14 * DAY
    assert found.binding_chain()[0].cause is Cause.NOTICE
    later = MONDAY + 14 * DAY
    given_notice = forecast(
        shop(work("test", 3)),
        now=later,
        gates=[
            Gate(
                operation="test",
                position=Position.BEFORE,
                reason="customer witnesses the pressure test",
                notice_days=10,
                notice_calendar=0,
                notified=MONDAY,
            )
        ],
    )
    assert given_notice.row("test").earliest_start == later


@pytest.mark.parametrize(
    ("position", "bore", "drill"),
    [
        (Position.BEFORE, MONDAY + DAY + 60, MONDAY + DAY + 60),
        (Position.DURING, MONDAY + DAY, MONDAY + DAY),
        (Position.AFTER, MONDAY + 60, MONDAY + DAY),
    ],
)
def test_a_gate_binds_the_start_the_finish_or_what_follows(
    position: Any, bore: Any, drill: Any
) -> None:
    problem = shop(work("bore", 1), work("drill", 1), links=(Link(before="bore", after="drill"),))
    gate = Gate(operation="bore", position=position, reason="dimensions", expected=MONDAY + DAY)
    found = forecast(problem, now=MONDAY, gates=[gate])
    assert found.row("bore").earliest_finish == bore
    assert found.row("drill").earliest_start == drill
    if position is Position.AFTER:
        assert found.binding_chain()[-1].cause is Cause.GATE
        assert found.binding_chain()[-1].note == "dimensions"


def test_a_longest_lag_pushes_the_operation_before_it() -> None:
    problem = shop(
        work("blast", 2),
        work("rig the booth", 8),
        work("prime", 1),
        links=(
            Link(before="blast", after="prime", max_lag_minutes=20 * 60),
            Link(before="rig the booth", after="prime"),
        ),
        due=MONDAY + 2 * DAY,
    )
    found = forecast(problem, now=MONDAY)
    prime = found.row("prime").earliest_start
    assert prime == MONDAY + DAY
    assert found.row("blast").earliest_finish >= prime - 20 * 60
    assert found.ahead.causes[0] is Cause.MAXIMUM_LAG
    assert found.row("prime").latest_start <= found.row("blast").latest_finish + 20 * 60


def test_a_longest_lag_that_can_never_hold_is_refused() -> None:
    problem = shop(
        work("blast", 1),
        Operation(key="cure", minutes=DAY, kind=Kind.ELAPSED),
        work("prime", 1),
        links=(
            Link(before="blast", after="cure"),
            Link(before="cure", after="prime"),
            Link(before="blast", after="prime", max_lag_minutes=60),
        ),
    )
    with pytest.raises(MaximumLagCannotHold, match="prime must start within 60 minutes"):
        forecast(problem, now=MONDAY)


@pytest.mark.parametrize(
    ("report", "error", "says"),
    [
        (
            Progress(operation="bore", started=MONDAY + 1),
            TimeInTheFuture,
            "started 1 minutes after now",
        ),
        (Progress(operation="bore", finished=MONDAY), BadReport, "never started; state the start"),
        (
            Progress(operation="bore", started=MONDAY, finished=MONDAY - 5),
            BadReport,
            "5 minutes before it began",
        ),
        (
            Progress(operation="bore", started=MONDAY, remaining=-1),
            BadReport,
            "0 is the least",
        ),
        (Progress(operation="drill", started=MONDAY), UnknownOperation, "progress report"),
    ],
)
def test_an_impossible_report_is_refused(report: Any, error: Any, says: Any) -> None:
    with pytest.raises(error, match=says):
        forecast(shop(work("bore", 1)), now=MONDAY, progress=[report])


def test_the_same_operation_reported_twice_is_refused() -> None:
    twice = [Progress(operation="bore", started=MONDAY)] * 2
    with pytest.raises(BadReport, match="given twice"):
        forecast(shop(work("bore", 1)), now=MONDAY, progress=twice)


def test_part_deliveries_have_their_own_days_in_hand() -> None:
    problem = Problem(
        operations=(
            work("shared", 8),
            work("unit 1", 8, route=0),
            work("unit 2", 16, route=1),
        ),
        links=(Link(before="shared", after="unit 1"), Link(before="shared", after="unit 2")),
        calendars=(day_shift(),),
        routes=(Route(key="first", due=MONDAY + 4 * DAY), Route(key="second", due=MONDAY + DAY)),
    )
    found = forecast(problem, now=MONDAY, days_calendar=0)
    assert [round(days.days, 2) for days in found.days_in_hand] == [2.0, -2.0]
    assert [bind.operation for bind in found.binding_chain(route=0)] == ["shared", "unit 1"]
