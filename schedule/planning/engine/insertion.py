"""Placing operations of whole groups: as late as their dates allow, or as early as they can.

A group is what hangs together by links: one order's route, or several that share operations. Its
operations stand in an order in which each follows all it waits for.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.engine.columns import (
    AXIS,
    BEGIN,
    BEGINCAP,
    CAP,
    DUE,
    DUR,
    END,
    ENDCAP,
    FINISH,
    GROUP_AT,
    GROUPS,
    HEAD,
    INV,
    LAG,
    LATE,
    LATE_AT,
    LINK,
    MOVE,
    NEVER,
    OPS,
    OTHER,
    OVERDUE,
    P0,
    P1,
    PLACE,
    PLACED,
    PLAIN,
    POS,
    PREVIOUS,
    ROUTE,
    ROUTE_AT,
    ROUTE_OF,
    S0,
    S1,
    SIZES,
    SLOT,
    SLOTS,
    SPECIAL,
    START,
    STOCK,
    WEIGHT,
    WHO,
    WIDTH,
)
from schedule.planning.engine.compiling import compiled
from schedule.planning.engine.fits import (
    earliest_fit,
    latest_fit,
    occupy,
    settle,
    window_after,
    window_before,
)

Array = npt.NDArray[Any]

# How often a group is begun anew because a held resource or a longest lag stood in the way.
ATTEMPTS = 24


@compiled
def place(facts: Array, table: Array, state: Array, taken: Array, i: int, s: int) -> None:
    """Give an operation the window that begins at slot `s` of its axis."""
    settle(facts, table, state, taken, i, s)
    if facts[i * OPS + PLAIN] == 0:
        occupy(facts, table, state, taken, i, 1)


@compiled
def lift(facts: Array, table: Array, state: Array, taken: Array, i: int) -> None:
    """Take an operation out of its window; its times stay readable."""
    if facts[i * OPS + PLAIN] == 0:
        occupy(facts, table, state, taken, i, -1)
    base = facts[i * OPS + PLACE]
    if base >= 0:
        begin = base + state[i * POS + SLOT]
        for q in range(begin, begin + facts[i * OPS + DUR]):
            taken[q] -= 1
    state[i * POS + PLACED] = 0


@compiled
def latest_of(facts: Array, table: Array, state: Array, taken: Array, i: int, until: int) -> int:
    """First slot of the latest window that finishes by `until`; -1 for none."""
    if facts[i * OPS + PLAIN] == 0 or facts[i * OPS + DUR] == 0:
        return latest_fit(facts, table, state, taken, i, until)
    state[WHO] = -1
    if until <= 0:
        return -1
    axis = facts[i * OPS + AXIS]
    end = table[axis * facts[WIDTH] + until]
    s: int = end - facts[i * OPS + DUR]
    if facts[i * OPS + PLACE] >= 0:
        s = window_before(
            taken, facts[i * OPS + PLACE], facts[i * OPS + CAP], facts[i * OPS + DUR], end
        )
    if s < 0 or table[facts[INV] + axis * facts[WIDTH] + s] < facts[i * OPS + HEAD]:
        return -1
    return s


@compiled
def earliest_of(facts: Array, table: Array, state: Array, taken: Array, i: int, ready: int) -> int:
    """First slot of the earliest window that starts from `ready`; -1 for none."""
    if facts[i * OPS + PLAIN] == 0 or facts[i * OPS + DUR] == 0:
        return earliest_fit(facts, table, state, taken, i, ready)
    state[WHO] = -1
    if ready >= facts[SLOTS] + 1:
        return -1
    axis = facts[i * OPS + AXIS]
    begin = table[axis * facts[WIDTH] + ready]
    dur = facts[i * OPS + DUR]
    size = facts[facts[SIZES] + axis]
    if facts[i * OPS + PLACE] >= 0:
        return window_after(taken, facts[i * OPS + PLACE], facts[i * OPS + CAP], dur, begin, size)
    return begin if begin + dur <= size else -1


@compiled
def until_of(facts: Array, table: Array, state: Array, taken: Array, i: int) -> int:
    """When an operation must be finished: by its date, and before what follows [slot]."""
    until: int = facts[i * OPS + DUE] + state[facts[LATE_AT] + facts[i * OPS + ROUTE]]
    for e in range(facts[i * OPS + S0], facts[i * OPS + S1], LINK):
        bound = state[(facts[e + OTHER]) * POS + START] - facts[e + LAG]
        if bound < until:
            until = bound
    horizon = facts[SLOTS]
    return until if until < horizon else horizon


@compiled
def ready_of(facts: Array, table: Array, state: Array, taken: Array, i: int) -> int:
    """When an operation may start: after its own head, and after what it waits for [slot]."""
    ready: int = facts[i * OPS + HEAD]
    for e in range(facts[i * OPS + P0], facts[i * OPS + P1], LINK):
        bound = state[(facts[e + OTHER]) * POS + FINISH] + facts[e + LAG]
        if bound > ready:
            ready = bound
    return ready


@compiled
def cost_of(facts: Array, table: Array, state: Array, taken: Array, i: int) -> int:
    """What one operation's place costs, lateness of its route apart."""
    start = state[i * POS + START]
    wanted = facts[i * OPS + DUE] + state[facts[LATE_AT] + facts[i * OPS + ROUTE]]
    cost: int = facts[STOCK] * (wanted - start)
    if facts[MOVE] > 0 and facts[i * OPS + PREVIOUS] >= 0:
        cost += facts[MOVE] * abs(start - facts[i * OPS + PREVIOUS])
    return cost


@compiled
def late_cost(facts: Array, table: Array, state: Array, taken: Array, g: int) -> int:
    """What the lateness of a group's routes costs."""
    cost = 0
    for k in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
        r = facts[facts[ROUTE_OF] + k]
        cost += facts[LATE] * facts[facts[WEIGHT] + r] * state[facts[LATE_AT] + r]
    return cost


@compiled
def group_cost(facts: Array, table: Array, state: Array, taken: Array, g: int) -> int:
    """What a group costs as it is placed."""
    cost = late_cost(facts, table, state, taken, g)
    for i in range(facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]):
        cost += cost_of(facts, table, state, taken, i)
    return cost


@compiled
def uncap(facts: Array, table: Array, state: Array, taken: Array, g: int) -> None:
    """Forget what held resources and longest lags asked of a group's operations."""
    if facts[facts[SPECIAL] + g] == 1:
        for i in range(facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]):
            state[i * POS + ENDCAP] = NEVER
            state[i * POS + BEGINCAP] = 0


@compiled
def heed_blame(facts: Array, table: Array, state: Array, taken: Array) -> bool:
    """Note what stood in the way; False when it cannot be moved."""
    who = state[WHO]
    if who < 0 or who >= facts[facts[GROUP_AT] + facts[GROUPS]]:
        return False
    if state[END] >= 0:
        state[who * POS + ENDCAP] = min(state[who * POS + ENDCAP], state[END])
    if state[BEGIN] >= 0:
        state[who * POS + BEGINCAP] = max(state[who * POS + BEGINCAP], state[BEGIN])
    return True


@compiled
def insert_late(facts: Array, table: Array, state: Array, taken: Array, g: int) -> bool:
    """Place a group as late as its dates allow; False, and nothing placed, when there is no room.

    Given everything else, no operation of the group could start later.
    """
    first, last = facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]
    uncap(facts, table, state, taken, g)
    for _ in range(ATTEMPTS):
        failed = -1
        for i in range(last - 1, first - 1, -1):
            s = latest_of(facts, table, state, taken, i, until_of(facts, table, state, taken, i))
            if s < 0:
                failed = i
                break
            place(facts, table, state, taken, i, s)
        if failed < 0:
            return True
        heeded = heed_blame(facts, table, state, taken)
        for i in range(failed + 1, last):
            lift(facts, table, state, taken, i)
        if not heeded:
            return False
    return False


@compiled
def insert_early(facts: Array, table: Array, state: Array, taken: Array, g: int) -> bool:
    """Place a group as early as it can; False, and nothing placed, when the calendars end."""
    first, last = facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]
    uncap(facts, table, state, taken, g)
    for _ in range(ATTEMPTS):
        failed = -1
        for i in range(first, last):
            s = earliest_of(facts, table, state, taken, i, ready_of(facts, table, state, taken, i))
            if s < 0:
                failed = i
                break
            place(facts, table, state, taken, i, s)
        if failed < 0:
            return True
        heeded = heed_blame(facts, table, state, taken)
        for i in range(first, failed):
            lift(facts, table, state, taken, i)
        if not heeded:
            return False
    return False


@compiled
def settle_lateness(facts: Array, table: Array, state: Array, taken: Array, g: int) -> None:
    """Read off how late a group's routes finish."""
    for k in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
        r = facts[facts[ROUTE_OF] + k]
        state[facts[LATE_AT] + r] = facts[facts[OVERDUE] + r]
    for i in range(facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]):
        r = facts[i * OPS + ROUTE]
        late = state[i * POS + FINISH] - facts[i * OPS + DUE]
        if late > state[facts[LATE_AT] + r]:
            state[facts[LATE_AT] + r] = late


@compiled
def justify(
    facts: Array, table: Array, state: Array, taken: Array, chosen: Array, count: int
) -> None:
    """Move operations later, one by one from the last, as far as their dates and others allow."""
    keys = np.empty(count, np.int64)
    for j in range(count):
        # Finish, then position: an operation never comes before one that follows it.
        keys[j] = -(state[(chosen[j]) * POS + FINISH] * 1048576 + chosen[j])
    order = np.argsort(keys, kind="mergesort")
    for j in range(count):
        i = chosen[order[j]]
        old = state[i * POS + SLOT]
        lift(facts, table, state, taken, i)
        s = latest_of(facts, table, state, taken, i, until_of(facts, table, state, taken, i))
        place(facts, table, state, taken, i, s if s > old else old)


@compiled
def insert_group(facts: Array, table: Array, state: Array, taken: Array, g: int) -> bool:
    """Place a group: late if that meets its dates, else as early as it can and then justified.

    False, and nothing placed, when the calendars end too soon.
    """
    for k in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
        state[facts[LATE_AT] + facts[facts[ROUTE_OF] + k]] = facts[
            facts[OVERDUE] + facts[facts[ROUTE_OF] + k]
        ]
    if insert_late(facts, table, state, taken, g):
        return True
    if not insert_early(facts, table, state, taken, g):
        return False
    settle_lateness(facts, table, state, taken, g)
    first, last = facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]
    justify(facts, table, state, taken, np.arange(first, last), last - first)
    return True
