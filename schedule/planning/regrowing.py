"""A route grown again after a change, or after work is lost.

Tells what is added and dropped, and what must be done again because what it rested on changed;
work that is done is never dropped in silence.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from schedule.planning.errors import UnknownOperation
from schedule.planning.growing import GrownOperation, Growth, key_of

TOLD_NOT_HANDED = ("engineering", "pattern shop")


@dataclass(frozen=True)
class Repetition:
    """Done work to be done again: the old key, the new one, and why."""

    key: str
    again: str
    because: str


@dataclass(frozen=True)
class Difference:
    """What growing again changes.

    added : keys not there before
    dropped : keys no longer called for, not begun
    superseded : keys no longer called for, begun or finished: they stay on the record
    repeated : done work to be done again
    growth : the route from now on, superseded and repeated work included
    """

    added: tuple[str, ...]
    dropped: tuple[str, ...]
    superseded: tuple[str, ...]
    repeated: tuple[Repetition, ...]
    growth: Growth


def regrow(old: Growth, new: Growth, *, done: Collection[str]) -> Difference:
    """What a change does to a route.

    old : the route as it stands, repeated work included
    new : grown again from the changed choice or terms
    done : keys of the old route that are begun or finished
    returns : added, dropped, superseded and repeated operations, and the route from now on
    raises : UnknownOperation for a done key the old route does not have
    """
    keys = {operation.key for operation in old.operations}
    for key in done:
        if key not in keys:
            raise UnknownOperation(key, "list of work done")
    live = _live(old)
    reasons: dict[str, str] = {}
    for operation in new.operations:
        was = live.get(operation.key)
        if was is None or was.key not in done or was.facts == operation.facts:
            continue
        changed = [
            f"{name.replace('_', ' ')} was {before}, is {now}"
            for (name, before), (_, now) in zip(was.facts, operation.facts, strict=True)
            if before != now
        ]
        reasons[operation.key] = "; ".join(changed)
    _spread(new, live, done, reasons)
    return _difference(old, new, live, done, reasons)


def remake(growth: Growth, keys: Collection[str], *, done: Collection[str], why: str) -> Difference:
    """What must be done again when the work of some operations is lost, as by scrap.

    growth : the route as it stands
    keys : operations whose work is lost, e.g. the pouring of a scrapped half
    done : keys begun or finished
    why : for the record
    returns : as `regrow`
    raises : UnknownOperation
    """
    live = _live(growth)
    base = {operation.key: name for name, operation in live.items()}
    for key in keys:
        if key not in base:
            raise UnknownOperation(key, "list of work lost")
    new = Growth(
        tuple(_renamed(operation, name, 0) for name, operation in live.items()),
        tuple(
            replace(link, before=base[link.before], after=base[link.after])
            for link in growth.links
            if link.before in base and link.after in base
        ),
    )
    reasons = {base[key]: why for key in keys if key in done}
    _spread(new, live, done, reasons)
    return _difference(growth, new, live, done, reasons)


def _live(growth: Growth) -> dict[str, GrownOperation]:
    """The latest repetition of each operation, by the key it had at first."""
    live: dict[str, GrownOperation] = {}
    for operation in growth.operations:
        name = key_of(operation.code, operation.unit, 0)
        if name not in live or live[name].repeat < operation.repeat:
            live[name] = operation
    return live


def _spread(
    new: Growth, live: Mapping[str, GrownOperation], done: Collection[str], reasons: dict[str, str]
) -> None:
    """Done work that follows repeated work is repeated, and what was used up with it.

    Drawings and patterns pass on what they say, not the thing itself: whether a casting must be
    poured again for a new drawing is told by the casting's own facts.
    """
    followers: dict[str, list[str]] = {}
    for link in new.links:
        followers.setdefault(link.before, []).append(link.after)
    used_up: dict[tuple[str, int | None], list[str]] = {}
    for operation in new.operations:
        for row in operation.remade_with:
            used_up.setdefault((row, operation.unit), []).append(operation.key)
    named = {operation.key: operation for operation in new.operations}
    waiting = [(key, True) for key in reasons]
    for key, spreads in waiting:  # grows as it is walked
        operation = named[key]
        more = [
            (a, f"follows {key}", True)
            for a in followers.get(key, ())
            if spreads and _passes_on(operation, named[a])
        ]
        more += [
            (a, f"used up with {key}", False)
            for a in used_up.get((operation.row, operation.unit), ())
        ]
        for other, why, on in more:
            if other in live and live[other].key in done and other not in reasons:
                reasons[other] = why
                waiting.append((other, on))


def _passes_on(before: GrownOperation, after: GrownOperation) -> bool:
    """Whether what is done anew reaches the next operation as a thing.

    Units that follow one another on a pattern are not each other's consequence.
    """
    if before.unit is not None and after.unit is not None and before.unit != after.unit:
        return False
    return before.area not in TOLD_NOT_HANDED or after.area == before.area


def _difference(
    old: Growth,
    new: Growth,
    live: Mapping[str, GrownOperation],
    done: Collection[str],
    reasons: Mapping[str, str],
) -> Difference:
    final: dict[str, GrownOperation] = {}
    repeated, added = [], []
    for operation in new.operations:
        was = live.get(operation.key)
        if was is None:
            final[operation.key] = operation
            added.append(operation.key)
        elif operation.key in reasons:
            again = _renamed(operation, operation.key, was.repeat + 1)
            final[operation.key] = again
            repeated.append(Repetition(was.key, again.key, reasons[operation.key]))
        elif was.key in done:
            final[operation.key] = was
        else:
            final[operation.key] = _renamed(operation, operation.key, was.repeat)
    kept = {operation.key for operation in final.values()}
    record = tuple(op for op in old.operations if op.key in done and op.key not in kept)
    superseded = tuple(
        op.key
        for op in record
        if op.key not in {repetition.key for repetition in repeated}
        and live[key_of(op.code, op.unit, 0)].key == op.key
    )
    dropped = tuple(
        operation.key
        for name, operation in live.items()
        if name not in final and operation.key not in done
    )
    recorded = {operation.key for operation in record}
    links = {
        (link.before, link.after): link
        for link in old.links
        if link.before in recorded and link.after in recorded | kept and link.after in done
    }
    for link in new.links:
        before, after = final[link.before].key, final[link.after].key
        if after in done and link.before in live:  # it followed the work as done at first
            before = live[link.before].key
        links[before, after] = replace(link, before=before, after=after)
    operations = tuple(_rekeyed(operation, final) for operation in final.values())
    return Difference(
        tuple(added),
        dropped,
        superseded,
        tuple(repeated),
        Growth(record + operations, tuple(links.values())),
    )


def _rekeyed(operation: GrownOperation, final: Mapping[str, GrownOperation]) -> GrownOperation:
    """Holds end with the operation as it is now called."""
    holds = tuple(
        (name, final[until].key if until in final else until) for name, until in operation.holds
    )
    return replace(operation, holds=holds) if holds != operation.holds else operation


def _renamed(operation: GrownOperation, name: str, repeat: int) -> GrownOperation:
    key = name if repeat == 0 else f"{name}#{repeat}"
    return replace(operation, key=key, repeat=repeat)
