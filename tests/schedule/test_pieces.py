"""Castings: whose they are, what they fit, and whose order suffers when one is lost."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from schedule.actions.pieces import (
    NewPiece,
    pair_halves,
    pour,
    put_on_shelf,
    scrap_piece,
    swap_between_units,
    take_from_shelf,
)
from schedule.actions.progress import report
from schedule.errors import BadFigure, NoSuchThing, PieceNotFit
from schedule.models import Piece, Route, Unit
from schedule.queries.confirmations import expected_confirmations
from schedule.queries.pieces import candidates, poured_to_an_old_pattern
from selection.configuration import Sealing
from selection.models import Pattern
from tests.factories.schedule import (
    NOW,
    PatternFactory,
    PieceFactory,
    configuration,
    grown,
    person,
    step,
)
from works.errors import NotAllowed, ReasonMissing, TimeInFuture
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
PACKED = configuration(sealing=Sealing.PACKING)


def finish(route: Route, *codes: str, unit: int = 1) -> None:
    for code in codes:
        operation = step(route, code, unit)
        report(
            operation_ids=[operation.pk],
            deed="finish",
            started_at=NOW - HOUR,
            stated_at=NOW,
            by=None,
            at=NOW,
            confirmed={operation.pk: {"pattern": "P-IMPELLER B", "rotation": "clockwise"}},
        )


def cast(quantity: int = 1) -> Route:
    """A route with its impellers poured, cooled, and taken by its units."""
    route = grown(quantity=quantity, configuration=PACKED)
    finish(route, "ENG-REVIEW")
    for unit in route.units.all():
        finish(route, "FDY-I-MOULD", "FDY-I-POUR", "FDY-I-COOL", unit=unit.number)
        piece_for(unit)
    return route


def piece_for(unit: Unit | None, **fields: Any) -> Piece:
    values: dict[str, Any] = {
        "pattern": Pattern.objects.get(number="P-IMPELLER"),
        "state": Piece.State.TAKEN if unit else Piece.State.SHELF,
        "unit": unit,
    }
    return PieceFactory.create(**{**values, **fields})


def half(unit: Unit | None, part: Piece.Part, **fields: Any) -> Piece:
    pattern = Pattern.objects.get(number="P-CASING")
    return piece_for(unit, part=part, pattern=pattern, metal="EN-GJL-250", **fields)


def new(**fields: Any) -> NewPiece:
    values: dict[str, Any] = {
        "mark": "C-1",
        "part": "impeller",
        "pattern_number": "P-IMPELLER",
        "metal": "CC491K",
        "heat": "H-7",
    }
    return NewPiece(**{**values, **fields})


def test_a_pour_registers_its_pieces_to_the_patterns_revision_of_the_day() -> None:
    route = grown(quantity=2)
    one, other = route.units.all()
    pieces = pour(
        pieces=[new(unit_id=one.pk), new(mark="C-2", unit_id=other.pk), new(mark="C-3")],
        poured_on=NOW.date(),
        by=person(Group.SUPERVISOR),
        at=NOW,
    )
    assert [piece.pattern_revision for piece in pieces] == ["B", "B", "B"]
    assert [piece.state for piece in pieces] == ["taken", "taken", "on the shelf"]
    assert Event.objects.filter(deed="schedule.pieces_poured").count() == 2  # the route, the shelf


def test_a_casting_needs_its_heat_and_a_fresh_mark() -> None:
    grown()
    with pytest.raises(BadFigure, match="The heat of C-1"):
        pour(pieces=[new(heat=" ")], poured_on=NOW.date(), by=None, at=NOW)
    pour(pieces=[new()], poured_on=NOW.date(), by=None, at=NOW)
    with pytest.raises(BadFigure, match="one not yet used"):
        pour(pieces=[new()], poured_on=NOW.date(), by=None, at=NOW)
    with pytest.raises(BadFigure, match="twice the same"):
        pour(pieces=[new(mark="X"), new(mark="X")], poured_on=NOW.date(), by=None, at=NOW)
    with pytest.raises(BadFigure, match="at least one"):
        pour(pieces=[], poured_on=NOW.date(), by=None, at=NOW)


def test_a_pour_of_tomorrow_or_of_an_unknown_pattern_is_refused() -> None:
    grown()
    with pytest.raises(TimeInFuture):
        pour(pieces=[new()], poured_on=date(2026, 3, 5), by=None, at=NOW)
    with pytest.raises(NoSuchThing, match="no pattern P-NONE"):
        pour(pieces=[new(pattern_number="P-NONE")], poured_on=NOW.date(), by=None, at=NOW)
    with pytest.raises(BadFigure, match="upper half, lower half, impeller"):
        pour(pieces=[new(part="lid")], poured_on=NOW.date(), by=None, at=NOW)


def test_a_unit_has_one_impeller() -> None:
    route = cast()
    unit = route.units.get()
    with pytest.raises(PieceNotFit, match="has its impeller"):
        pour(pieces=[new(unit_id=unit.pk)], poured_on=NOW.date(), by=None, at=NOW)


def test_the_database_refuses_two_impellers_in_one_unit() -> None:
    route = cast()
    with pytest.raises(DatabaseError, match="one_of_a_part"), transaction.atomic():
        piece_for(route.units.get())


def test_a_shelf_piece_is_taken_when_it_fits() -> None:
    route = grown()
    piece = piece_for(None)
    taken = take_from_shelf(piece_id=piece.pk, unit_id=route.units.get().pk, by=None, at=NOW)
    assert (taken.state, taken.unit) == ("taken", route.units.get())
    with pytest.raises(PieceNotFit, match="not on the shelf"):
        take_from_shelf(piece_id=piece.pk, unit_id=route.units.get().pk, by=None, at=NOW)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"metal": "CC333G"}, "its metal is CC333G, T-0000/1 unit 1 needs CC491K"),
        ({"rotation": "counter-clockwise"}, "its rotation is counter-clockwise"),
    ],
)
def test_a_piece_that_does_not_fit_is_refused(fields: dict[str, str], words: str) -> None:
    route = grown()
    piece = piece_for(None, **fields)
    with pytest.raises(PieceNotFit, match=words):
        take_from_shelf(piece_id=piece.pk, unit_id=route.units.get().pk, by=None, at=NOW)


def test_a_piece_of_another_pattern_is_refused() -> None:
    route = grown()
    piece = piece_for(None, pattern=PatternFactory.create(number="P-OTHER"))
    with pytest.raises(PieceNotFit, match="its pattern is P-OTHER"):
        take_from_shelf(piece_id=piece.pk, unit_id=route.units.get().pk, by=None, at=NOW)


def test_the_floor_does_not_decide_over_pieces() -> None:
    route = grown()
    with pytest.raises(NotAllowed):
        take_from_shelf(
            piece_id=piece_for(None).pk,
            unit_id=route.units.get().pk,
            by=person(Group.SUPERVISOR),
            at=NOW,
        )


def test_a_piece_goes_back_to_the_shelf() -> None:
    route = cast()
    piece = Piece.objects.get()
    assert put_on_shelf(piece_id=piece.pk, by=None, at=NOW).unit is None
    assert route.units.get().pieces.count() == 0
    with pytest.raises(PieceNotFit):
        put_on_shelf(piece_id=piece.pk, by=None, at=NOW)


def test_two_units_swap_their_pieces_with_a_reason() -> None:
    first, second = cast(), cast()
    one, other = Piece.objects.get(unit__route=first), Piece.objects.get(unit__route=second)
    with pytest.raises(ReasonMissing):
        swap_between_units(piece_id=one.pk, other_piece_id=other.pk, reason="", by=None, at=NOW)
    swap_between_units(
        piece_id=one.pk, other_piece_id=other.pk, reason="the second is urgent", by=None, at=NOW
    )
    one.refresh_from_db()
    other.refresh_from_db()
    assert one.unit == second.units.get()
    assert other.unit == first.units.get()
    routes = {e.after["route"] for e in Event.objects.filter(deed="schedule.pieces_swapped")}
    assert routes == {first.pk, second.pk}


def test_a_swap_needs_two_pieces_of_one_part_in_two_units() -> None:
    route = cast()
    mine, shelf = Piece.objects.get(), piece_for(None)
    with pytest.raises(PieceNotFit, match="not taken by a unit"):
        swap_between_units(piece_id=mine.pk, other_piece_id=shelf.pk, reason="x", by=None, at=NOW)
    upper = half(route.units.get(), Piece.Part.UPPER_HALF)
    with pytest.raises(PieceNotFit, match="of another unit is needed"):
        swap_between_units(piece_id=mine.pk, other_piece_id=upper.pk, reason="x", by=None, at=NOW)


def test_halves_become_a_pair_and_stay_one() -> None:
    first, second = grown(), grown()
    one, other = first.units.get(), second.units.get()
    with pytest.raises(PieceNotFit, match="0 of its two halves"):
        pair_halves(unit_id=one.pk, pair="PAIR-1", by=None, at=NOW)
    upper = half(one, Piece.Part.UPPER_HALF)
    half(one, Piece.Part.LOWER_HALF)
    stranger = half(other, Piece.Part.UPPER_HALF)
    half(other, Piece.Part.LOWER_HALF)
    pair_halves(unit_id=one.pk, pair="PAIR-1", by=None, at=NOW)
    with pytest.raises(PieceNotFit, match="carries that pair's mark already"):
        pair_halves(unit_id=other.pk, pair="PAIR-1", by=None, at=NOW)
    with pytest.raises(PieceNotFit, match="it was bored in the pair PAIR-1"):
        swap_between_units(
            piece_id=upper.pk, other_piece_id=stranger.pk, reason="x", by=None, at=NOW
        )


def test_a_half_of_a_pair_does_not_join_a_strange_half() -> None:
    route = grown()
    unit = route.units.get()
    half(unit, Piece.Part.LOWER_HALF)
    widowed = half(None, Piece.Part.UPPER_HALF, pair="PAIR-9")
    with pytest.raises(PieceNotFit, match="halves stay a pair"):
        take_from_shelf(piece_id=widowed.pk, unit_id=unit.pk, by=None, at=NOW)


def test_the_start_confirms_the_pair_once_there_is_one() -> None:
    route = grown()
    unit, build = route.units.get(), step(route, "ASM-BUILD")
    assert "half-pair" not in expected_confirmations([build])[build.pk]
    half(unit, Piece.Part.UPPER_HALF, mark="U7")
    half(unit, Piece.Part.LOWER_HALF, mark="L7")
    assert expected_confirmations([build])[build.pk]["half-pair"] == "U7 / L7"
    pair_halves(unit_id=unit.pk, pair="PAIR-7", by=None, at=NOW)
    assert expected_confirmations([build])[build.pk]["half-pair"] == "PAIR-7"


def test_a_scrapped_casting_moves_the_forecast() -> None:
    route = cast()
    route.refresh_from_db()
    before = route.forecast_ship_at
    planner = person(Group.PLANNER)
    done = scrap_piece(
        piece_id=Piece.objects.get().pk, reason="cold shut", recast=True, by=planner, at=NOW
    )
    assert done.regrown is not None
    assert {new.code for _, new in done.regrown.repeated} >= {"FDY-I-MOULD", "FDY-I-POUR"}
    assert step(route, "FDY-I-POUR").repeat == 1
    route.refresh_from_db()
    assert before is not None and route.forecast_ship_at is not None
    assert route.forecast_ship_at > before
    assert route.revision == 2
    event = Event.objects.get(deed="schedule.piece_scrapped")
    assert (event.by, event.after["recast"]) == (planner, True)


def test_a_scrapped_casting_of_one_unit_leaves_the_others_alone() -> None:
    route = cast(quantity=3)
    scrap_piece(
        piece_id=Piece.objects.get(unit__number=2).pk, reason="x", recast=True, by=None, at=NOW
    )
    assert [step(route, "FDY-I-POUR", unit).repeat for unit in (1, 2, 3)] == [0, 1, 0]


def test_a_scrapped_casting_is_replaced_from_the_shelf_and_machined_again() -> None:
    route = cast()
    finish(route, "MCH-I-TURN")
    shelf = piece_for(None)
    lost = Piece.objects.get(state="taken")
    done = scrap_piece(piece_id=lost.pk, reason="porous", replacement_id=shelf.pk, by=None, at=NOW)
    assert done.replaced_by == shelf
    assert done.regrown is not None
    assert {new.code for _, new in done.regrown.repeated} == {"MCH-I-TURN"}
    assert step(route, "FDY-I-POUR").repeat == 0
    shelf.refresh_from_db()
    assert shelf.unit == route.units.get()


def test_another_orders_casting_is_taken_and_that_order_pours_again() -> None:
    urgent, patient = cast(), cast()
    lost, given = Piece.objects.get(unit__route=urgent), Piece.objects.get(unit__route=patient)
    manager = person(Group.WORKS_MANAGER)
    scrap_piece(piece_id=lost.pk, reason="porous", replacement_id=given.pk, by=manager, at=NOW)
    given.refresh_from_db()
    assert given.unit == urgent.units.get()
    assert step(urgent, "FDY-I-POUR").repeat == 0
    assert step(patient, "FDY-I-POUR").repeat == 1
    revision = patient.revisions.get()
    assert f"{given.mark} given to T-0000/1 unit 1" in revision.reason


def test_scrapping_says_why_and_only_one_answer() -> None:
    cast()
    piece, shelf = Piece.objects.get(), piece_for(None)
    with pytest.raises(ReasonMissing):
        scrap_piece(piece_id=piece.pk, reason="", by=None, at=NOW)
    with pytest.raises(BadFigure, match="not both"):
        scrap_piece(
            piece_id=piece.pk,
            reason="x",
            recast=True,
            replacement_id=shelf.pk,
            by=None,
            at=NOW,
        )
    with pytest.raises(PieceNotFit, match="no unit waits for it"):
        scrap_piece(piece_id=shelf.pk, reason="x", recast=True, by=None, at=NOW)
    scrap_piece(piece_id=shelf.pk, reason="x", by=None, at=NOW)
    with pytest.raises(PieceNotFit, match="scrapped already"):
        scrap_piece(piece_id=shelf.pk, reason="x", by=None, at=NOW)


def test_a_refused_replacement_leaves_the_piece_unscrapped() -> None:
    cast()
    piece, wrong = Piece.objects.get(), piece_for(None, metal="CC333G")
    with pytest.raises(PieceNotFit):
        scrap_piece(piece_id=piece.pk, reason="x", replacement_id=wrong.pk, by=None, at=NOW)
    piece.refresh_from_db()
    assert piece.state == "taken"


def test_a_part_that_the_route_does_not_pour_is_not_poured_again() -> None:
    route = grown()
    upper = half(route.units.get(), Piece.Part.UPPER_HALF)
    with pytest.raises(PieceNotFit, match="its route pours no upper half"):
        scrap_piece(piece_id=upper.pk, reason="x", recast=True, by=None, at=NOW)


def test_candidates_come_from_the_shelf_first_and_then_from_who_suffers_least() -> None:
    mine = cast()
    near = cast()
    far = cast()
    Route.objects.filter(pk=near.pk).update(days_in_hand=2.0)
    Route.objects.filter(pk=far.pk).update(days_in_hand=40.0)
    shelf = piece_for(None)
    piece_for(None, metal="CC333G")
    found = candidates(Piece.objects.get(unit__route=mine))
    assert [c.from_route for c in found] == [None, far.label, near.label]
    assert found[0].mark == shelf.mark


def test_a_casting_poured_to_the_old_pattern_is_found() -> None:
    cast()
    assert list(poured_to_an_old_pattern()) == []
    Pattern.objects.filter(number="P-IMPELLER").update(revision="C")
    assert list(poured_to_an_old_pattern()) == [Piece.objects.get()]
