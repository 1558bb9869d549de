"""Castings and other traced parts: poured, taken, swapped, paired, scrapped.

Whose order suffers when a casting is lost is a named person's decision: to pour again, to take one
from the shelf, or to take another order's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from schedule.actions.forecast import reforecast
from schedule.actions.growing import repeat_operations
from schedule.actions.piece_rows import (
    CASTINGS,
    check_fits,
    check_free,
    lock_pieces,
    lock_units,
    save,
    take,
)
from schedule.actions.revising import Regrown
from schedule.errors import BadFigure, NoSuchThing, PieceNotFit
from schedule.facts import Fact
from schedule.models import Link, Operation, Piece, Unit
from schedule.queries.confirmations import HALVES, part_of
from selection.models import Pattern
from works.errors import ReasonMissing, TimeInFuture
from works.events import record
from works.models import Person, Site
from works.people import Area, Group, require

State = Piece.State


@dataclass(frozen=True, kw_only=True)
class NewPiece:
    """A piece as poured or made.

    mark : cast or stamped on it, once in the works
    unit_id : the unit that takes it at once; None for the shelf
    """

    mark: str
    part: str
    pattern_number: str
    metal: str
    heat: str
    unit_id: int | None = None
    pair: str = ""
    rotation: str = ""


@dataclass(frozen=True)
class Scrapped:
    """What scrapping a piece brought about: work repeated, and what replaces the piece."""

    piece: Piece
    regrown: Regrown | None
    replaced_by: Piece | None


@transaction.atomic
def pour(
    *, pieces: Sequence[NewPiece], poured_on: date, by: Person | None, at: datetime
) -> list[Piece]:
    """Register pieces of one melt, each to its pattern's revision of today.

    raises : NotAllowed, BadFigure, TimeInFuture, NoSuchThing, PieceNotFit
    """
    if by is not None:
        require(by, Group.SUPERVISOR, Group.PLANNER, Group.QUALITY_ENGINEER, deed="register pieces")
    if not pieces:
        raise BadFigure(field="The pieces", value="none", right="at least one")
    today = at.astimezone(Site.current().zone).date()
    if poured_on > today:
        raise TimeInFuture(what="The day of pouring", stated=str(poured_on), now=str(today))
    units = lock_units([new.unit_id for new in pieces if new.unit_id is not None])
    patterns = {
        pattern.number: pattern
        for pattern in Pattern.objects.filter(number__in={new.pattern_number for new in pieces})
    }
    rows = []
    for new in pieces:
        mark = new.mark.strip()
        if not 1 <= len(mark) <= 40 or Piece.objects.filter(mark=mark).exists():
            raise BadFigure(field="The mark", value=repr(mark), right="one not yet used, given")
        if new.part not in Piece.Part.values:
            right = ", ".join(Piece.Part.values)
            raise BadFigure(field=f"The part of {mark}", value=new.part, right=right)
        if new.pattern_number not in patterns:
            raise NoSuchThing(what="pattern", key=new.pattern_number)
        if new.part in CASTINGS and not new.heat.strip():
            raise BadFigure(field=f"The heat of {mark}", value="empty", right="given for a casting")
        pattern = patterns[new.pattern_number]
        unit = units[new.unit_id] if new.unit_id is not None else None
        row = Piece(
            mark=mark,
            part=new.part,
            pattern=pattern,
            pattern_revision=pattern.revision,
            metal=new.metal.strip(),
            heat=new.heat.strip(),
            pair=new.pair.strip(),
            rotation=new.rotation.strip(),
            poured_on=poured_on,
            state=State.SHELF if unit is None else State.TAKEN,
            unit=unit,
        )
        if unit is not None:
            check_free(unit, row)
        rows.append(row)
    if len({row.mark for row in rows}) < len(rows):
        raise BadFigure(field="The marks", value="twice the same", right="one for each piece")
    made = Piece.objects.bulk_create(rows)
    by_route: dict[int | None, list[Piece]] = {}
    for piece in made:
        by_route.setdefault(piece.unit.route_id if piece.unit else None, []).append(piece)
    for route_id, its in by_route.items():
        after = {
            "route": route_id,
            "pieces": [
                {
                    "mark": piece.mark,
                    "part": piece.part,
                    "heat": piece.heat,
                    "pattern": f"{piece.pattern.number} rev {piece.pattern_revision}",
                }
                for piece in its
            ],
        }
        record(Fact.PIECES_POURED, about=its[0], by=by, at=at, after=after)
    return made


@transaction.atomic
def take_from_shelf(*, piece_id: int, unit_id: int, by: Person | None, at: datetime) -> Piece:
    """A unit takes a piece from the shelf.

    raises : NotAllowed, NoSuchThing, PieceNotFit
    """
    _may_decide(by, "take a piece from the shelf")
    unit = lock_units([unit_id])[unit_id]
    piece = lock_pieces([piece_id])[0]
    take(piece, unit)
    record(
        Fact.PIECE_TAKEN,
        about=piece,
        by=by,
        at=at,
        before={"state": State.SHELF.value},
        after={"route": unit.route_id, "unit": unit.number, "heat": piece.heat},
    )
    reforecast(route_ids=[unit.route_id], now=at)
    return piece


@transaction.atomic
def put_on_shelf(*, piece_id: int, by: Person | None, at: datetime, reason: str = "") -> Piece:
    """A unit gives a piece back, as when its order is cancelled.

    raises : NotAllowed, NoSuchThing, PieceNotFit
    """
    _may_decide(by, "put a piece on the shelf")
    piece = lock_pieces([piece_id])[0]
    if piece.state != State.TAKEN or piece.unit is None:
        raise PieceNotFit(piece=piece.mark, why=f"it is {piece.state}, not taken by a unit.")
    unit = piece.unit
    piece.state, piece.unit = State.SHELF, None
    save(piece)
    after = {"route": unit.route_id, "unit": unit.number, "reason": reason.strip()}
    record(Fact.PIECE_PUT_BACK, about=piece, by=by, at=at, after=after)
    return piece


@transaction.atomic
def pair_halves(*, unit_id: int, pair: str, by: Person | None, at: datetime) -> list[Piece]:
    """Note that a unit's halves are bolted and bored together: from now on they stay a pair.

    raises : NotAllowed, NoSuchThing, BadFigure, PieceNotFit
    """
    if by is not None:
        require(by, Group.SUPERVISOR, Group.PLANNER, deed="pair two halves")
    if not 1 <= len(pair.strip()) <= 40:
        raise BadFigure(field="The pair's mark", value=repr(pair), right="1 to 40 characters")
    unit = lock_units([unit_id])[unit_id]
    halves = list(
        Piece.objects.select_for_update().filter(unit=unit, state=State.TAKEN, part__in=HALVES)
    )
    if len(halves) != 2:
        raise PieceNotFit(piece=pair, why=f"{unit} has {len(halves)} of its two halves.")
    elsewhere = Piece.objects.filter(pair=pair.strip()).exclude(unit=unit).first()
    if elsewhere is not None:
        raise PieceNotFit(piece=pair, why=f"{elsewhere.mark} carries that pair's mark already.")
    for half in halves:
        half.pair = pair.strip()
        save(half)
    after = {"route": unit.route_id, "unit": unit.number, "halves": [h.mark for h in halves]}
    record(Fact.PIECES_PAIRED, about=halves[0], by=by, at=at, after=after)
    return halves


@transaction.atomic
def swap_between_units(
    *, piece_id: int, other_piece_id: int, reason: str, by: Person | None, at: datetime
) -> tuple[Piece, Piece]:
    """Two units exchange pieces of one part; who pays is in the reason.

    raises : NotAllowed, NoSuchThing, ReasonMissing, PieceNotFit
    """
    _may_decide(by, "swap pieces between units")
    if not reason.strip():
        raise ReasonMissing(deed="swap pieces between units")
    one, other = lock_pieces([piece_id, other_piece_id])
    for piece in (one, other):
        if piece.state != State.TAKEN:
            raise PieceNotFit(piece=piece.mark, why=f"it is {piece.state}, not taken by a unit.")
    if one.part != other.part or one.unit_id == other.unit_id:
        why = f"it is a {one.part}, the other a {other.part} of another unit is needed."
        raise PieceNotFit(piece=one.mark, why=why)
    mine, its = one.unit, other.unit
    if mine is None or its is None:  # the database allows no taken piece without a unit
        raise PieceNotFit(piece=one.mark, why="no unit has it.")
    for piece in (one, other):
        if piece.pair:
            raise PieceNotFit(piece=piece.mark, why=f"it was bored in the pair {piece.pair}.")
    check_fits(one, its)
    check_fits(other, mine)
    # One piece of a part a unit: the first steps aside while the second comes in.
    one.state, one.unit = State.SHELF, None
    save(one)
    other.unit = mine
    save(other)
    one.state, one.unit = State.TAKEN, its
    save(one)
    for piece, unit, had in ((one, its, mine), (other, mine, its)):
        record(
            Fact.PIECES_SWAPPED,
            about=piece,
            by=by,
            at=at,
            before={"route": had.route_id, "unit": str(had)},
            after={"route": unit.route_id, "unit": str(unit), "reason": reason.strip()},
        )
    reforecast(route_ids={mine.route_id, its.route_id}, now=at)
    return one, other


@transaction.atomic
def scrap_piece(
    *,
    piece_id: int,
    reason: str,
    by: Person | None,
    at: datetime,
    recast: bool = False,
    replacement_id: int | None = None,
) -> Scrapped:
    """Scrap a piece, and say what takes its place: a new one poured, or one that exists.

    recast : its casting work, and what followed from it, is done again
    replacement_id : a piece on the shelf, or one of another unit, which then pours again instead
    raises : NotAllowed, NoSuchThing, ReasonMissing, BadFigure, PieceNotFit, RouteCannotGrow,
        RouteNotInWork
    """
    _may_decide(by, "scrap a piece")
    if not reason.strip():
        raise ReasonMissing(deed="scrap a piece")
    if recast and replacement_id is not None:
        right = "either poured again or another piece, not both"
        raise BadFigure(field="What takes its place", value="two answers", right=right)
    chosen = [piece_id] if replacement_id is None else [piece_id, replacement_id]
    pieces = lock_pieces(chosen)
    piece = pieces[0]
    if piece.state == State.SCRAPPED:
        raise PieceNotFit(piece=piece.mark, why="it is scrapped already.")
    unit = piece.unit if piece.state == State.TAKEN else None
    if unit is None and (recast or replacement_id is not None):
        raise PieceNotFit(piece=piece.mark, why="no unit waits for it, so nothing replaces it.")
    piece.state, piece.scrapped_because = State.SCRAPPED, reason.strip()[:200]
    save(piece)
    if unit is not None and piece.part in HALVES:  # the half left over is a pair no more
        Piece.objects.filter(unit=unit, state=State.TAKEN, part__in=HALVES).update(pair="")
    after = {
        "route": unit.route_id if unit else None,
        "unit": unit.number if unit else None,
        "reason": piece.scrapped_because,
        "recast": recast,
        "replaced_by": pieces[1].mark if replacement_id is not None else None,
    }
    record(Fact.PIECE_SCRAPPED, about=piece, by=by, at=at, after=after)
    if unit is None:
        return Scrapped(piece, None, None)
    why = f"{piece.part} {piece.mark} scrapped: {piece.scrapped_because}"
    if recast:
        return Scrapped(piece, _recast(unit, piece.part, why, at), None)
    if replacement_id is None:
        return Scrapped(piece, None, None)
    replacement = pieces[1]
    donor = replacement.unit
    if donor is not None:
        replacement.state, replacement.unit = State.SHELF, None
        save(replacement)
    take(replacement, unit)
    told = {"route": unit.route_id, "unit": unit.number, "instead_of": piece.mark}
    record(Fact.PIECE_TAKEN, about=replacement, by=by, at=at, after=told)
    if donor is not None:  # whose order suffers is said where it suffers
        _recast(donor, replacement.part, f"{replacement.mark} given to {unit}", at)
    return Scrapped(piece, _work_again(unit, piece.part, why, at), replacement)


def _recast(unit: Unit, part: str, why: str, at: datetime) -> Regrown | None:
    """Do the casting of a part again, and what followed from it; None if it was never poured."""
    pour_ = _pours(unit, part)
    begun = [operation.pk for operation in pour_ if operation.started_at is not None]
    return repeat_operations(operation_ids=begun, reason=why, by=None, at=at) if begun else None


def _work_again(unit: Unit, part: str, why: str, at: datetime) -> Regrown | None:
    """Do again on another casting what was done on the lost one after the foundry."""
    pour_ = _pours(unit, part)
    unit_operations = {
        operation.pk: operation for operation in Operation.objects.live().filter(unit=unit)
    }
    followers: dict[int, list[int]] = {}
    for before, after in Link.objects.filter(
        before__in=unit_operations, after__in=unit_operations
    ).values_list("before_id", "after_id"):
        followers.setdefault(before, []).append(after)
    lost, seen = set(), {operation.pk for operation in pour_}
    waiting = list(seen)
    for pk in waiting:  # grows along the foundry's branch
        for after in followers.get(pk, ()):
            operation = unit_operations[after]
            if operation.area != Area.FOUNDRY:
                if operation.started_at is not None:
                    lost.add(after)
            elif after not in seen:
                seen.add(after)
                waiting.append(after)
    return repeat_operations(operation_ids=lost, reason=why, by=None, at=at) if lost else None


def _pours(unit: Unit, part: str) -> list[Operation]:
    """The pouring of a part: what its moulding says must be done again with it.

    raises : PieceNotFit when the route pours no such part
    """
    operations = list(
        Operation.objects.live().select_related("unit", "work_centre").filter(unit=unit)
    )
    moulded_with = {
        code
        for operation in operations
        if part_of(operation.code) == part and operation.grown.get("pattern")
        for code in operation.grown.get("remade_with", ())
    }
    pours = [o for o in operations if o.grown.get("row", o.code) in moulded_with]
    if not pours:
        raise PieceNotFit(
            piece=str(unit), why=f"its route pours no {part}: change the route instead."
        )
    return pours


def _may_decide(by: Person | None, deed: str) -> None:
    if by is not None:
        require(by, Group.PLANNER, Group.QUALITY_ENGINEER, deed=deed)
