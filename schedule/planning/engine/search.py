"""Ruin and recreate: take a few groups out, wholly or before a cut, and put them back otherwise.

What goes back is placed operation by operation in a shuffled order of time, all groups mixed, as
late as dates and room allow. Where that would start before now, it is placed as early as it can
and then moved later. Worse plans are accepted with a chance that falls as the search cools; a
move is broken off as soon as it cannot be accepted any more.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.engine.columns import (
    AT_CENTRE,
    AXIS,
    BY_DUE,
    CENTRE,
    CENTRE_AT,
    COST_AT,
    DICE,
    DUE,
    DUR,
    FULL,
    GROUP_AT,
    GROUPS,
    INV,
    KIN,
    LAG,
    LATE_AT,
    LINK,
    LOG,
    MIXED_EARLY,
    MOST_GROUPS,
    NEVER,
    OPS,
    OTHER,
    OVERDUE,
    PLACED,
    POS,
    RANK,
    ROUTE,
    ROUTE_AT,
    ROUTE_OF,
    ROW,
    S0,
    S1,
    SLOT,
    SLOTS,
    SPREAD,
    START,
    STOCK,
    TAIL,
    WIDTH,
)
from schedule.planning.engine.compiling import compiled, entrance
from schedule.planning.engine.insertion import (
    cost_of,
    earliest_of,
    group_cost,
    insert_group,
    justify,
    late_cost,
    latest_of,
    lift,
    place,
    ready_of,
    settle_lateness,
    uncap,
    until_of,
)

Array = npt.NDArray[Any]


@compiled
def roll(state: Array) -> int:
    """The next random number, from 1 to 2147483646 (Park and Miller's generator)."""
    rolled: int = state[DICE] * 48271 % 2147483647
    state[DICE] = rolled
    return rolled


@compiled
def group_of(facts: Array, i: int) -> int:
    """The group of a movable operation."""
    low, high = 0, facts[GROUPS]
    while high - low > 1:
        middle = (low + high) // 2
        if facts[facts[GROUP_AT] + middle] <= i:
            low = middle
        else:
            high = middle
    return low


@compiled
def keys_in_order(facts: Array, keys: Array, first: int, last: int) -> None:
    """Lower keys where need be, so that each operation's is below those of all that follow it."""
    for i in range(last - 1, first - 1, -1):
        for e in range(facts[i * OPS + S0], facts[i * OPS + S1], LINK):
            other = facts[e + OTHER]
            if first <= other < last and keys[other] <= keys[i]:
                keys[i] = keys[other] - 1


@entrance
def latest_starts(facts: Array, table: Array, state: Array, taken: Array, keys: Array) -> None:
    """Latest starts from the due dates as if there were room for all; movable ones only."""
    count = keys.shape[0]
    for i in range(count - 1, -1, -1):
        until = facts[i * OPS + DUE] + facts[facts[OVERDUE] + facts[i * OPS + ROUTE]]
        for e in range(facts[i * OPS + S0], facts[i * OPS + S1], LINK):
            other = facts[e + OTHER]
            start = keys[other] if other < count else state[other * POS + START]
            if start - facts[e + LAG] < until:
                until = start - facts[e + LAG]
        if facts[i * OPS + DUR] > 0:
            axis = facts[i * OPS + AXIS]
            slot = table[axis * facts[WIDTH] + max(0, min(until, facts[SLOTS]))]
            until = table[facts[INV] + axis * facts[WIDTH] + max(0, slot - facts[i * OPS + DUR])]
        keys[i] = until


@entrance
def construct(
    facts: Array,
    table: Array,
    state: Array,
    taken: Array,
    keys: Array,
    rounds: int,
    best: Array,
    best_late: Array,
) -> int:
    """Place everything, latest key first, and let groups that find no room go first next time.

    keys : (movable,) wanted order of time
    rounds : how often
    best, best_late : filled with the slots and lateness of the best found
    returns : its cost; -1 when the calendars end too soon; the state keeps the last round
    """
    groups = facts[GROUPS]
    count = facts[facts[GROUP_AT] + groups]
    keys_in_order(facts, keys, 0, count)
    order = np.argsort(-keys, kind="mergesort")
    home = np.empty(count, np.int64)
    for g in range(groups):
        home[facts[facts[GROUP_AT] + g] : facts[facts[GROUP_AT] + g + 1]] = g
    failed_in = np.zeros(groups, np.int64)
    rank = np.empty(groups, np.int64)
    lowest = -1
    for number in range(rounds):
        if number > 0:
            for i in range(count):
                lift(facts, table, state, taken, i)
        for g in range(groups):
            uncap(facts, table, state, taken, g)
            for k in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
                state[facts[LATE_AT] + facts[facts[ROUTE_OF] + k]] = facts[
                    facts[OVERDUE] + facts[facts[ROUTE_OF] + k]
                ]
            # Groups that failed, those that failed first in front; then by due date.
            rank[g] = facts[facts[RANK] + g] - failed_in[g] * 1048576
        urgent = np.argsort(rank, kind="mergesort")
        alive = np.ones(groups, np.bool_)
        placed = np.zeros(count, np.bool_)
        for k in range(groups):
            g = urgent[k]
            if failed_in[g] > 0:
                if not insert_group(facts, table, state, taken, g):
                    return -1
                alive[g] = False
        for j in range(count):
            i = order[j]
            g = home[i]
            if not alive[g]:
                continue
            s = latest_of(facts, table, state, taken, i, until_of(facts, table, state, taken, i))
            if s >= 0:
                place(facts, table, state, taken, i, s)
                placed[i] = True
                continue
            alive[g] = False
            for q in range(facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]):
                if placed[q]:
                    lift(facts, table, state, taken, q)
        newly = 0
        for k in range(groups):
            g = urgent[k]
            if failed_in[g] == 0 and not alive[g]:
                newly += 1
                if not insert_group(facts, table, state, taken, g):
                    return -1
                failed_in[g] = rounds - number
        total = 0
        for g in range(groups):
            total += group_cost(facts, table, state, taken, g)
        if lowest < 0 or total < lowest:
            lowest = total
            best[:] = state[SLOT : SLOT + count * POS : POS]
            best_late[:] = state[facts[LATE_AT] : facts[LATE_AT] + best_late.shape[0]]
        if newly == 0:
            break
    return lowest


@entrance
def restore(facts: Array, table: Array, state: Array, taken: Array, slots: Array) -> None:
    """Put every operation where a kept plan has it; lateness stands already."""
    for i in range(slots.shape[0]):
        place(facts, table, state, taken, i, slots[i])
    for g in range(facts[GROUPS]):
        state[facts[COST_AT] + g] = group_cost(facts, table, state, taken, g)


@compiled
def choose(
    facts: Array, table: Array, state: Array, taken: Array, options: Array, chosen: Array
) -> int:
    """Pick groups that have to do with one another; returns how many."""
    groups = facts[GROUPS]
    wanted = min(1 + roll(state) % options[MOST_GROUPS], groups)
    centre = roll(state) % groups
    chosen[0] = centre
    count = 1
    span = max(2 * wanted, 5)
    first, size = (
        facts[facts[GROUP_AT] + centre],
        facts[facts[GROUP_AT] + centre + 1] - facts[facts[GROUP_AT] + centre],
    )
    for _ in range(4 * wanted):
        if count == wanted:
            break
        other = -1
        if size > 0 and roll(state) % 100 < options[KIN]:
            i = first + roll(state) % size
            place_ = facts[i * OPS + CENTRE]
            if place_ < 0:
                continue
            begin = facts[facts[CENTRE_AT] + place_]
            there = facts[facts[CENTRE_AT] + place_ + 1] - begin
            nearest = NEVER
            for _ in range(6):
                j = facts[facts[AT_CENTRE] + begin + roll(state) % there]
                apart = abs(state[j * POS + START] - state[i * POS + START])
                if apart < nearest and not first <= j < first + size:
                    nearest = apart
                    other = group_of(facts, j)
        else:
            at = facts[facts[RANK] + centre] + roll(state) % (2 * span + 1) - span
            if 0 <= at < groups:
                other = facts[facts[BY_DUE] + at]
        if other < 0:
            continue
        new = True
        for k in range(count):
            if chosen[k] == other:
                new = False
        if new:
            chosen[count] = other
            count += 1
    return count


@compiled
def aim(facts: Array, table: Array, state: Array, taken: Array, g: int) -> None:
    """Try another lateness for a late group's routes: none, less, or one slot less."""
    for k in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
        r = facts[facts[ROUTE_OF] + k]
        over = state[facts[LATE_AT] + r] - facts[facts[OVERDUE] + r]
        if over > 0:
            way = roll(state) % 4
            if way == 0:
                state[facts[LATE_AT] + r] = facts[facts[OVERDUE] + r]
            elif way == 1:
                state[facts[LATE_AT] + r] = facts[facts[OVERDUE] + r] + roll(state) % over
            elif way == 2:
                state[facts[LATE_AT] + r] -= 1 + roll(state) % (1 + over // 16)
                state[facts[LATE_AT] + r] = max(
                    state[facts[LATE_AT] + r], facts[facts[OVERDUE] + r]
                )


@compiled
def mix_late(
    facts: Array,
    table: Array,
    state: Array,
    taken: Array,
    buffer: Array,
    order: Array,
    budget: int,
    spent: int,
) -> tuple[int, int, int]:
    """Place operations late in a given order, breaking off when that must cost too much.

    returns : 0 done, 1 no room, 2 too dear; how many were placed; the cost so far
    """
    for j in range(order.shape[0]):
        i = buffer[order[j]]
        s = latest_of(facts, table, state, taken, i, until_of(facts, table, state, taken, i))
        if s < 0:
            return 1, j, spent
        place(facts, table, state, taken, i, s)
        spent += cost_of(facts, table, state, taken, i) - facts[STOCK] * facts[i * OPS + TAIL]
        if spent > budget:
            return 2, j + 1, spent
    return 0, order.shape[0], spent


@compiled
def mix_early(
    facts: Array,
    table: Array,
    state: Array,
    taken: Array,
    chosen: Array,
    groups: int,
    buffer: Array,
    order: Array,
    budget: int,
    spent: int,
) -> int:
    """Place operations early in a given order, then justify them; 0 done, 1 no room, 2 too dear.

    After 1 nothing is placed; after 2 everything is.
    """
    count = order.shape[0]
    for j in range(count):
        i = buffer[order[j]]
        s = earliest_of(facts, table, state, taken, i, ready_of(facts, table, state, taken, i))
        if s < 0:
            for q in range(j):
                lift(facts, table, state, taken, buffer[order[q]])
            return 1
        place(facts, table, state, taken, i, s)
    for k in range(groups):
        settle_lateness(facts, table, state, taken, chosen[k])
        spent += late_cost(facts, table, state, taken, chosen[k])
    if spent > budget:
        return 2
    justify(facts, table, state, taken, buffer, count)
    return 0


@entrance
def improve(
    facts: Array,
    table: Array,
    state: Array,
    taken: Array,
    options: Array,
    moves: int,
    heat: int,
    cost: int,
    lowest: int,
    best: Array,
    best_late: Array,
) -> tuple[int, int]:
    """Try so many moves at one heat.

    heat : how much worse a plan is accepted with a chance of 1/e
    cost, lowest : of the present plan and of the best
    best, best_late : slots and lateness of the best, kept up to date
    returns : cost and lowest after the moves
    """
    groups = facts[GROUPS]
    count = facts[facts[GROUP_AT] + groups]
    keys = np.zeros(count, np.int64)
    buffer = np.zeros(count, np.int64)
    old_slot = np.zeros(count, np.int64)
    chosen = np.zeros(options[MOST_GROUPS], np.int64)
    old_cost = np.zeros(options[MOST_GROUPS], np.int64)
    old_late = best_late.copy()
    for _ in range(moves):
        picked = choose(facts, table, state, taken, options, chosen)
        chance: Any = np.int64(facts[facts[LOG] + roll(state) % 1024])
        slack = heat * chance // 4096
        full = roll(state) % 100 < options[FULL]
        in_a_row = full and roll(state) % 100 < options[ROW]
        cut = NEVER
        centre = chosen[0]
        size = facts[facts[GROUP_AT] + centre + 1] - facts[facts[GROUP_AT] + centre]
        if not full and size > 0:
            cut = state[(facts[facts[GROUP_AT] + centre] + roll(state) % size) * POS + START] + 1
        width = options[SPREAD + roll(state) % 3]
        shifts = roll(state) % 3 > 0

        before: int = 0
        spent: int = 0
        mixed = 0
        least = 0
        for k in range(picked):
            g = chosen[k]
            old_cost[k] = state[facts[COST_AT] + g]
            before += state[facts[COST_AT] + g]
            for q in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
                old_late[facts[facts[ROUTE_OF] + q]] = state[
                    facts[LATE_AT] + facts[facts[ROUTE_OF] + q]
                ]
            if full and not in_a_row:
                aim(facts, table, state, taken, g)
            spent += late_cost(facts, table, state, taken, g)
            shift = roll(state) % (4 * width + 1) - 2 * width if shifts else 0
            first, last = facts[facts[GROUP_AT] + g], facts[facts[GROUP_AT] + g + 1]
            for i in range(last - 1, first - 1, -1):
                start = state[i * POS + START]
                if start >= cut:
                    spent += cost_of(facts, table, state, taken, i)
                    keys[i] = NEVER
                    continue
                key = start + shift + roll(state) % (width + 1)
                for e in range(facts[i * OPS + S0], facts[i * OPS + S1], LINK):
                    other = facts[e + OTHER]
                    if other < count and keys[other] <= key:
                        key = keys[other] - 1
                keys[i] = key
                old_slot[i] = state[i * POS + SLOT]
                buffer[mixed] = i
                mixed += 1
                least += facts[STOCK] * facts[i * OPS + TAIL]
            uncap(facts, table, state, taken, g)
        for j in range(mixed):
            lift(facts, table, state, taken, buffer[j])
        wanted = np.empty(mixed, np.int64)
        for j in range(mixed):
            wanted[j] = -keys[buffer[j]]
        order = np.argsort(wanted, kind="mergesort")
        budget = before + slack

        outcome = 1
        if not in_a_row:
            outcome, placed, spent = mix_late(
                facts, table, state, taken, buffer, order, budget, spent + least
            )
            if outcome == 1:
                for j in range(placed):
                    lift(facts, table, state, taken, buffer[order[j]])
        if outcome == 1 and full:
            if roll(state) % 100 < options[MIXED_EARLY]:
                outcome = mix_early(
                    facts,
                    table,
                    state,
                    taken,
                    chosen,
                    picked,
                    buffer,
                    order[::-1].copy(),
                    budget,
                    least,
                )
            else:
                outcome = 0
                for j in range(picked - 1, -1, -1):
                    k = roll(state) % (j + 1)
                    g = chosen[k]
                    chosen[k] = chosen[j]
                    chosen[j] = g
                    kept = old_cost[k]
                    old_cost[k] = old_cost[j]
                    old_cost[j] = kept
                for k in range(picked):
                    if not insert_group(facts, table, state, taken, chosen[k]):
                        for j in range(k):
                            for i in range(
                                facts[facts[GROUP_AT] + chosen[j]],
                                facts[facts[GROUP_AT] + chosen[j] + 1],
                            ):
                                lift(facts, table, state, taken, i)
                        outcome = 1
                        break
            if outcome == 0:
                spent = 0
                for k in range(picked):
                    spent += group_cost(facts, table, state, taken, chosen[k])
                if spent > budget:
                    outcome = 2
        if outcome == 0:
            cost -= before
            for k in range(picked):
                g = chosen[k]
                if full:
                    settle_lateness(facts, table, state, taken, g)
                state[facts[COST_AT] + g] = group_cost(facts, table, state, taken, g)
                cost += state[facts[COST_AT] + g]
            if cost < lowest:
                lowest = cost
                best[:] = state[SLOT : SLOT + count * POS : POS]
                best_late[:] = state[facts[LATE_AT] : facts[LATE_AT] + best_late.shape[0]]
        else:
            for k in range(picked):
                g = chosen[k]
                for q in range(facts[facts[ROUTE_AT] + g], facts[facts[ROUTE_AT] + g + 1]):
                    state[facts[LATE_AT] + facts[facts[ROUTE_OF] + q]] = old_late[
                        facts[facts[ROUTE_OF] + q]
                    ]
            # Most of what was placed stands where it stood; only the rest must go back.
            for j in range(mixed):
                i = buffer[j]
                if state[i * POS + PLACED] == 1 and state[i * POS + SLOT] != old_slot[i]:
                    lift(facts, table, state, taken, i)
            for j in range(mixed):
                i = buffer[j]
                if state[i * POS + PLACED] == 0:
                    place(facts, table, state, taken, i, old_slot[i])
    return cost, lowest
