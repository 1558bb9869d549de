"""Room for one operation: the latest or earliest window that keeps to everything."""

from typing import Any

import numpy.typing as npt

from schedule.planning.engine.columns import (
    AMOUNT,
    AXIS,
    BASE,
    BEGIN,
    BEGINCAP,
    CAP,
    CHANGE,
    DOING,
    DUR,
    END,
    ENDCAP,
    FAMILY,
    FINISH,
    FIRST,
    H0,
    H1,
    HEAD,
    INV,
    LAST,
    LIMIT,
    LINK,
    MOST,
    N0,
    N1,
    NEED,
    OPS,
    OTHER,
    P0,
    P1,
    PLACE,
    PLACED,
    PLAIN,
    POS,
    S0,
    S1,
    SHIFT,
    SIZES,
    SLOT,
    SLOTS,
    START,
    WHO,
    WHOLE,
    WIDTH,
)
from schedule.planning.engine.compiling import compiled

Array = npt.NDArray[Any]


@compiled
def window_before(taken: Array, base: int, cap: int, dur: int, end: int) -> int:
    """First slot of the latest free window of `dur` slots that ends by `end`; -1 for none."""
    s: int = end - dur
    while s >= 0:
        q = base + s
        last = q + dur
        while q < last and taken[q] < cap:
            q += 1
        if q == last:
            return s
        s = q - base - dur
    return -1


@compiled
def window_after(taken: Array, base: int, cap: int, dur: int, begin: int, size: int) -> int:
    """First slot of the earliest free window of `dur` slots from `begin`; -1 for none."""
    s: int = begin
    while s + dur <= size:
        q = base + s + dur - 1
        while q >= base + s and taken[q] < cap:
            q -= 1
        if q < base + s:
            return s
        s = q - base + 1
    return -1


@compiled
def settle(facts: Array, table: Array, state: Array, taken: Array, i: int, s: int) -> None:
    """Give an operation its window at its work centre."""
    dur = facts[i * OPS + DUR]
    if dur == 0:
        state[i * POS + START] = s
        state[i * POS + FINISH] = s
    else:
        axis = facts[i * OPS + AXIS]
        state[i * POS + START] = table[facts[INV] + axis * facts[WIDTH] + s]
        state[i * POS + FINISH] = table[facts[INV] + axis * facts[WIDTH] + s + dur - 1] + 1
        base = facts[i * OPS + PLACE]
        if base >= 0:
            for q in range(base + s, base + s + dur):
                taken[q] += 1
    state[i * POS + SLOT] = s
    state[i * POS + PLACED] = 1


@compiled
def occupy(facts: Array, table: Array, state: Array, taken: Array, i: int, sign: int) -> None:
    """Take (sign 1) or give back (sign -1) second resources, held ones, and the set-up's mark.

    The operation's times stand in `pos`. A hold counts while both its ends have a place; whoever
    of the two is placed last takes it.
    """
    for n in range(facts[i * OPS + N0], facts[i * OPS + N1], NEED):
        for q in range(
            facts[n + BASE] + state[i * POS + START], facts[n + BASE] + state[i * POS + FINISH]
        ):
            state[q] += sign * facts[n + AMOUNT]
    for k in range(facts[i * OPS + H0], facts[i * OPS + H1]):
        h = facts[k]
        first = facts[h + FIRST]
        last = facts[h + LAST]
        other = last if first == i else first
        if other == i or state[other * POS + PLACED] == 1:
            for q in range(
                facts[h + BASE] + state[first * POS + START],
                facts[h + BASE] + state[last * POS + FINISH],
            ):
                state[q] += sign * facts[h + AMOUNT]
    if facts[i * OPS + FAMILY] > 0 and facts[i * OPS + DUR] > 0:
        mark = facts[i * OPS + FAMILY] if sign > 0 else 0
        base = facts[i * OPS + PLACE] + state[i * POS + SLOT]
        for q in range(base, base + facts[i * OPS + DUR]):
            state[facts[DOING] + q] = mark


@compiled
def latest_fit(facts: Array, table: Array, state: Array, taken: Array, i: int, until: int) -> int:
    """First slot of the latest window that finishes by `until`; -1 for none.

    When another operation stands in the way, `blame` names it and what it should keep to.
    """
    state[WHO] = -1
    dur = facts[i * OPS + DUR]
    axis = facts[i * OPS + AXIS]
    if until < 0:
        return -1
    if dur == 0:
        return until if until >= facts[i * OPS + HEAD] else -1
    end = min(table[axis * facts[WIDTH] + until], state[i * POS + ENDCAP])
    for e in range(facts[i * OPS + P0], facts[i * OPS + P1], LINK):
        other = facts[e + OTHER]
        if facts[e + MOST] >= 0 and state[other * POS + PLACED] == 1:
            bound = min(state[other * POS + FINISH] + facts[e + MOST] + 1, facts[SLOTS])
            end = min(end, table[axis * facts[WIDTH] + bound] - 1 + dur)
    base = facts[i * OPS + PLACE]
    while True:
        s: int = end - dur
        if base >= 0:
            s = window_before(taken, base, facts[i * OPS + CAP], dur, end)
        if (
            s < 0
            or table[facts[INV] + axis * facts[WIDTH] + s] < facts[i * OPS + HEAD]
            or s < state[i * POS + BEGINCAP]
        ):
            return -1
        if facts[i * OPS + PLAIN] == 1:
            return s
        if (
            facts[i * OPS + WHOLE] == 1
            and table[facts[SHIFT] + axis * facts[WIDTH] + s]
            != table[facts[SHIFT] + axis * facts[WIDTH] + s + dur - 1]
        ):
            end = table[facts[SHIFT] + axis * facts[WIDTH] + s + dur - 1]
            continue
        if facts[i * OPS + FAMILY] > 0:
            moved = _before_setup(facts, table, state, taken, i, s, base, dur)
            if moved >= 0:
                end = moved
                continue
        start = table[facts[INV] + axis * facts[WIDTH] + s]
        finish = table[facts[INV] + axis * facts[WIDTH] + s + dur - 1] + 1
        clash = _need_clash(facts, table, state, taken, i, start, finish)
        if clash >= 0:
            end = table[axis * facts[WIDTH] + clash]
            continue
        verdict = _hold_before(facts, table, state, taken, i, start, finish)
        if verdict >= 0:
            end = table[axis * facts[WIDTH] + verdict]
            continue
        if verdict == -2:
            return -1
        for e in range(facts[i * OPS + S0], facts[i * OPS + S1], LINK):
            other = facts[e + OTHER]
            if facts[e + MOST] >= 0 and state[other * POS + PLACED] == 1:
                least = finish + facts[e + MOST]
                if state[other * POS + START] > least and facts[other * OPS + DUR] > 0:
                    its = facts[other * OPS + AXIS]
                    state[WHO] = other
                    state[END] = (
                        table[its * facts[WIDTH] + least + 1] - 1 + facts[other * OPS + DUR]
                    )
                    state[BEGIN] = -1
                    return -1
        return s


@compiled
def earliest_fit(facts: Array, table: Array, state: Array, taken: Array, i: int, ready: int) -> int:
    """First slot of the earliest window that starts from `ready`; -1 for none.

    When another operation stands in the way, `blame` names it and what it should keep to.
    """
    state[WHO] = -1
    dur = facts[i * OPS + DUR]
    axis = facts[i * OPS + AXIS]
    if ready >= facts[SLOTS] + 1:
        return -1
    if dur == 0:
        return ready
    begin = max(table[axis * facts[WIDTH] + ready], state[i * POS + BEGINCAP])
    for e in range(facts[i * OPS + S0], facts[i * OPS + S1], LINK):
        other = facts[e + OTHER]
        if facts[e + MOST] >= 0 and state[other * POS + PLACED] == 1:
            bound = state[other * POS + START] - facts[e + MOST]
            if bound > 0:
                begin = max(begin, table[axis * facts[WIDTH] + bound - 1] + 1 - dur)
    base = facts[i * OPS + PLACE]
    while True:
        s: int = begin
        if base >= 0:
            s = window_after(
                taken, base, facts[i * OPS + CAP], dur, begin, facts[facts[SIZES] + axis]
            )
        if s < 0 or s + dur > facts[facts[SIZES] + axis]:
            return -1
        if facts[i * OPS + PLAIN] == 1:
            return s
        if (
            facts[i * OPS + WHOLE] == 1
            and table[facts[SHIFT] + axis * facts[WIDTH] + s]
            != table[facts[SHIFT] + axis * facts[WIDTH] + s + dur - 1]
        ):
            begin = table[facts[SHIFT] + axis * facts[WIDTH] + s + dur - 1]
            continue
        if facts[i * OPS + FAMILY] > 0:
            moved = _after_setup(facts, table, state, taken, i, s, base, dur)
            if moved >= 0:
                begin = moved
                continue
        start = table[facts[INV] + axis * facts[WIDTH] + s]
        finish = table[facts[INV] + axis * facts[WIDTH] + s + dur - 1] + 1
        clash = _need_clash_last(facts, table, state, taken, i, start, finish)
        if clash >= 0:
            begin = table[axis * facts[WIDTH] + clash + 1]
            continue
        verdict = _hold_after(facts, table, state, taken, i, start, finish)
        if verdict >= 0:
            begin = table[axis * facts[WIDTH] + verdict + 1]
            continue
        if verdict == -2:
            return -1
        for e in range(facts[i * OPS + P0], facts[i * OPS + P1], LINK):
            other = facts[e + OTHER]
            if facts[e + MOST] >= 0 and state[other * POS + PLACED] == 1:
                least = start - facts[e + MOST]
                if state[other * POS + FINISH] < least and facts[other * OPS + DUR] > 0:
                    its = facts[other * OPS + AXIS]
                    state[WHO] = other
                    state[END] = -1
                    state[BEGIN] = (
                        table[its * facts[WIDTH] + least - 1] + 1 - facts[other * OPS + DUR]
                    )
                    return -1
        return s


@compiled
def _need_clash(
    facts: Array, table: Array, state: Array, taken: Array, i: int, start: int, finish: int
) -> int:
    """The first slot at which a second resource is short; -1 for none."""
    for n in range(facts[i * OPS + N0], facts[i * OPS + N1], NEED):
        base = facts[n + BASE]
        room = facts[n + LIMIT] - facts[n + AMOUNT]
        for t in range(start, finish):
            if state[base + t] > room:
                return t
    return -1


@compiled
def _need_clash_last(
    facts: Array, table: Array, state: Array, taken: Array, i: int, start: int, finish: int
) -> int:
    """The last slot at which a second resource is short; -1 for none."""
    for n in range(facts[i * OPS + N0], facts[i * OPS + N1], NEED):
        base = facts[n + BASE]
        room = facts[n + LIMIT] - facts[n + AMOUNT]
        for t in range(finish - 1, start - 1, -1):
            if state[base + t] > room:
                return t
    return -1


@compiled
def _hold_before(
    facts: Array, table: Array, state: Array, taken: Array, i: int, start: int, finish: int
) -> int:
    """-1 when held resources suffice, -2 with blame, or the slot by which to finish instead."""
    for k in range(facts[i * OPS + H0], facts[i * OPS + H1]):
        h = facts[k]
        base = facts[h + BASE]
        room = facts[h + LIMIT] - facts[h + AMOUNT]
        first = facts[h + FIRST]
        last = facts[h + LAST]
        if first == i and last != i and state[last * POS + PLACED] == 1:
            for t in range(state[last * POS + FINISH] - 1, start - 1, -1):
                if state[base + t] > room:
                    while t > 0 and state[base + t - 1] > room:
                        t -= 1
                    state[WHO] = last
                    state[END] = table[facts[last * OPS + AXIS] * facts[WIDTH] + t]
                    state[BEGIN] = -1
                    return -2
        elif first == i and last == i:
            for t in range(start, finish):
                if state[base + t] > room:
                    return t
        elif last == i and state[first * POS + PLACED] == 1:
            for t in range(state[first * POS + START], finish):
                if state[base + t] > room:
                    return t
    return -1


@compiled
def _hold_after(
    facts: Array, table: Array, state: Array, taken: Array, i: int, start: int, finish: int
) -> int:
    """-1 when held resources suffice, -2 with blame, or the slot after which to start instead."""
    for k in range(facts[i * OPS + H0], facts[i * OPS + H1]):
        h = facts[k]
        base = facts[h + BASE]
        room = facts[h + LIMIT] - facts[h + AMOUNT]
        first = facts[h + FIRST]
        last = facts[h + LAST]
        if last == i and first != i and state[first * POS + PLACED] == 1:
            for t in range(state[first * POS + START], finish):
                if state[base + t] > room:
                    while t + 1 < facts[SLOTS] and state[base + t + 1] > room:
                        t += 1
                    state[WHO] = first
                    state[END] = -1
                    state[BEGIN] = table[facts[first * OPS + AXIS] * facts[WIDTH] + t + 1]
                    return -2
        elif first == i and last == i:
            for t in range(finish - 1, start - 1, -1):
                if state[base + t] > room:
                    return t
        elif first == i and state[last * POS + PLACED] == 1:
            for t in range(state[last * POS + FINISH] - 1, start - 1, -1):
                if state[base + t] > room:
                    return t
    return -1


@compiled
def _before_setup(
    facts: Array, table: Array, state: Array, taken: Array, i: int, s: int, base: int, dur: int
) -> int:
    """-1 when the set-up before and after has time, or the slot by which to end instead."""
    gap: int = facts[i * OPS + CHANGE]
    family = facts[i * OPS + FAMILY]
    for q in range(s + dur, min(s + dur + gap, facts[facts[SIZES] + facts[i * OPS + AXIS]])):
        if (
            taken[base + q] > 0
            and state[facts[DOING] + base + q] != 0
            and state[facts[DOING] + base + q] != family
        ):
            return max(q - gap, 0)
    for q in range(s - 1, max(s - gap, 0) - 1, -1):
        if (
            taken[base + q] > 0
            and state[facts[DOING] + base + q] != 0
            and state[facts[DOING] + base + q] != family
        ):
            return q
    return -1


@compiled
def _after_setup(
    facts: Array, table: Array, state: Array, taken: Array, i: int, s: int, base: int, dur: int
) -> int:
    """-1 when the set-up before and after has time, or the slot from which to begin instead."""
    gap: int = facts[i * OPS + CHANGE]
    family = facts[i * OPS + FAMILY]
    for q in range(s - 1, max(s - gap, 0) - 1, -1):
        if (
            taken[base + q] > 0
            and state[facts[DOING] + base + q] != 0
            and state[facts[DOING] + base + q] != family
        ):
            return q + 1 + gap
    for q in range(s + dur, min(s + dur + gap, facts[facts[SIZES] + facts[i * OPS + AXIS]])):
        if (
            taken[base + q] > 0
            and state[facts[DOING] + base + q] != 0
            and state[facts[DOING] + base + q] != family
        ):
            return q + 1
    return -1
