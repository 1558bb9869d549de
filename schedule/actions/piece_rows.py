"""Rows of pieces: locked, compared with the unit they are for, moved."""

from collections.abc import Collection, Sequence

from schedule.actions.locks import lock_routes
from schedule.errors import NoSuchThing, PieceNotFit
from schedule.models import Piece, Unit
from schedule.queries.confirmations import HALVES

CASTINGS = (Piece.Part.UPPER_HALF, Piece.Part.LOWER_HALF, Piece.Part.IMPELLER)
State = Piece.State


def take(piece: Piece, unit: Unit) -> None:
    if piece.state != State.SHELF:
        raise PieceNotFit(piece=piece.mark, why=f"it is {piece.state}, not on the shelf.")
    check_fits(piece, unit)
    check_free(unit, piece)
    piece.state, piece.unit = State.TAKEN, unit
    save(piece)


def check_fits(piece: Piece, unit: Unit) -> None:
    """Compare pattern, metal and hand with what the unit's route was grown for.

    raises : PieceNotFit
    """
    ordered = unit.route.configuration
    of = "impeller" if piece.part == Piece.Part.IMPELLER else "casing"
    if piece.part not in CASTINGS:
        return
    for what, is_, wanted in (
        ("pattern", piece.pattern.number, ordered.get(f"{of}_pattern")),
        ("metal", piece.metal, ordered.get(f"{of}_metal")),
        ("rotation", piece.rotation, ordered.get("rotation") if piece.rotation else None),
    ):
        if wanted and is_ != wanted:
            why = f"its {what} is {is_}, {unit} needs {wanted}."
            raise PieceNotFit(piece=piece.mark, why=why)
    if not piece.pair:
        return
    partner = Piece.objects.filter(unit=unit, part__in=HALVES, state=State.TAKEN)
    if other := partner.exclude(part=piece.part).exclude(pair=piece.pair).first():
        why = f"it was bored in the pair {piece.pair}, {unit} has {other.mark}: halves stay a pair."
        raise PieceNotFit(piece=piece.mark, why=why)


def check_free(unit: Unit, piece: Piece) -> None:
    """A unit has one of each casting.

    raises : PieceNotFit
    """
    if piece.part in CASTINGS:
        there = Piece.objects.filter(unit=unit, part=piece.part, state=State.TAKEN).first()
        if there is not None:
            why = f"{unit} has its {piece.part} {there.mark} already."
            raise PieceNotFit(piece=piece.mark, why=why)


def lock_units(ids: Collection[int]) -> dict[int, Unit]:
    """The units, their routes locked.

    raises : NoSuchThing
    """
    found = {unit.pk: unit for unit in Unit.objects.filter(pk__in=ids, dropped_in=None)}
    for pk in ids:
        if pk not in found:
            raise NoSuchThing(what="unit", key=pk)
    routes = lock_routes({unit.route_id for unit in found.values()})
    for unit in found.values():
        unit.route = routes[unit.route_id]
    return found


def lock_pieces(ids: Sequence[int]) -> list[Piece]:
    """The pieces in the order asked for, locked after the routes of their units.

    raises : NoSuchThing
    """
    of = dict(Piece.objects.filter(pk__in=ids).values_list("pk", "unit__route_id"))
    lock_routes({route_id for route_id in of.values() if route_id is not None})
    found = {
        piece.pk: piece
        for piece in Piece.objects.select_for_update(of=("self",))
        .select_related("pattern", "unit__route")
        .filter(pk__in=ids)
        .order_by("pk")
    }
    for pk in ids:
        if pk not in found:
            raise NoSuchThing(what="piece", key=pk)
    return [found[pk] for pk in ids]


def save(piece: Piece) -> None:
    piece.version += 1
    piece.save(update_fields=["state", "unit", "pair", "scrapped_because", "version"])
