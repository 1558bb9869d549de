"""What pages are told: work lists, bars, load, first lines, cards."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from pypdf import PdfReader

from schedule.actions.gates import open_gate
from schedule.actions.progress import report
from schedule.actions.routes import give_serials, hold_route, issue_drawing
from schedule.documents import route_card_pdf
from schedule.models import Operation, Route, Shift, WorkCentre
from schedule.queries.bars import drawing, route_bars
from schedule.queries.cards import route_card
from schedule.queries.load import load, routes_by_days_in_hand, starts_overdue
from schedule.queries.routes import route_view
from schedule.queries.sentences import first_line_of, late_start
from schedule.queries.work_lists import Next, work_list, work_lists
from tests.factories.schedule import (
    NOW,
    ZONE,
    GateFactory,
    LinkFactory,
    OperationFactory,
    PieceFactory,
    grown,
    step,
)
from works.drawing import draw, svg

pytestmark = pytest.mark.django_db

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def say(operation: Operation, deed: str, at: datetime = NOW, **more: Any) -> None:
    right = {"pattern": "P-IMPELLER B", "rotation": "clockwise"}
    report(
        operation_ids=[operation.pk],
        deed=deed,
        stated_at=at,
        by=None,
        at=at,
        confirmed={operation.pk: right},
        **more,
    )


def rows(code: str, now: datetime = NOW) -> list[Next]:
    return list(work_list(WorkCentre.objects.get(code=code), now=now).rows)


def test_a_work_list_shows_what_is_in_work_then_what_can_begin_by_days_in_hand() -> None:
    relaxed, urgent, running = grown(), grown(due_on=date(2026, 4, 10)), grown()
    say(step(running, "ENG-REVIEW"), "start")
    found = rows("DRAWING")
    assert [row.route for row in found] == [running.label, urgent.label, relaxed.label]
    assert [row.look for row in found] == ["running", "planned", "planned"]
    assert found[1].days_in_hand is not None and found[2].days_in_hand is not None
    assert found[1].days_in_hand < found[2].days_in_hand


def test_a_work_list_names_what_is_waited_for_and_held() -> None:
    route = grown()
    GateFactory.create(operation=step(route, "MCH-I-TURN"), reason="Wall thickness")
    GateFactory.create(operation=step(route, "MCH-I-TURN"), timing="during", reason="Run-out")
    row = rows("LATHE")[0]
    assert row.waits_for == ("Primer cures",)
    assert row.holds == ("Wall thickness",)
    assert row.holds_finish == ("Run-out",)
    assert (row.look, row.ready) == ("held", False)
    assert row.confirms == ("rotation",)


def test_a_hold_after_a_predecessor_holds_only_what_follows_it() -> None:
    route = grown(quantity=2)
    hydro = step(route, "ASM-HYDRO", 1)
    GateFactory.create(operation=hydro, timing="after", reason="No leak")
    # Another follower of the same operation, at another work centre: not this list's business.
    other = OperationFactory.create(route=route, name="Painting")
    LinkFactory.create(before=hydro, after=other)
    held = {row.pk: row.holds for row in rows("FLOOR")}
    assert held[step(route, "ASM-BUILD", 1).pk] == ("No leak (after Casing hydrostatic test)",)
    assert held[step(route, "ASM-BUILD", 2).pk] == ()
    assert held[hydro.pk] == ()


def test_a_work_list_shows_drawing_and_serial_number() -> None:
    route = grown()
    issue_drawing(route_id=route.pk, drawing="IM-7", revision="C", by=None, at=NOW)
    give_serials(route_id=route.pk, serials={1: "TB-2001"}, by=None, at=NOW)
    row = rows("LATHE")[0]
    assert (row.drawing, row.unit) == ("IM-7 rev C", "TB-2001")


def test_work_on_hold_or_far_ahead_is_not_on_the_list() -> None:
    held, far = grown(), grown()
    hold_route(route_id=held.pk, reason="money", by=None, at=NOW)
    found = work_list(WorkCentre.objects.get(code="PACKING"), now=NOW)
    assert [row.route for row in found.rows] == []
    assert found.left_out == 1
    assert rows("PACKING", NOW + 10 * DAY)[0].route == far.label


def test_a_cooling_mould_is_on_the_list_of_who_needs_it_next() -> None:
    route = grown()
    Operation.objects.filter(pk=step(route, "FDY-I-CURE").pk).update(
        kind="working", work_centre=(WorkCentre.objects.get(code="PACKING"))
    )
    assert "Cooling in the mould: impeller" not in {row.name for row in rows("PACKING")}
    say(step(route, "FDY-I-POUR"), "finish", started_at=NOW - HOUR)
    row = next(row for row in rows("PACKING") if row.pk == step(route, "FDY-I-COOL").pk)
    assert row.look == "running"


def test_an_approval_is_on_its_areas_list_once_it_is_due() -> None:
    route = grown()
    review = step(route, "ENG-REVIEW")
    approval = OperationFactory.create(
        route=route, kind="approval", work_centre=None, area="engineering", name="Approval"
    )
    LinkFactory.create(before=review, after=approval)
    assert [row.name for row in rows("DRAWING")] == ["Order review"]
    say(review, "finish", started_at=NOW - HOUR)
    assert [row.name for row in rows("DRAWING")] == ["Approval"]


def test_work_lists_count_what_stands_at_each_work_centre() -> None:
    route = grown(quantity=2)
    say(step(route, "ENG-REVIEW"), "start")
    by_code = {centre.code: centre for area in work_lists(NOW) for centre in area.centres}
    assert (by_code["DRAWING"].started, by_code["DRAWING"].waiting) == (1, 0)
    assert by_code["FLOOR"].waiting == 4
    late = {c.code: c.late for area in work_lists(NOW + 90 * DAY) for c in area.centres}
    assert late["FLOOR"] == 4


def test_a_work_list_costs_as_many_questions_for_many_as_for_one(
    django_assert_max_num_queries: Any,
) -> None:
    grown()
    centre = WorkCentre.objects.get(code="FLOOR")
    counts = []
    for _ in range(2):
        with django_assert_max_num_queries(8) as asked:
            work_list(centre, now=NOW)
        counts.append(len(asked))
        for _ in range(3):
            grown(quantity=3)
    assert counts[0] == counts[1]


def test_the_first_line_says_when_work_should_have_begun() -> None:
    route = grown(due_on=date(2026, 4, 7))
    review = step(route, "ENG-REVIEW")
    assert review.latest_start_at is not None
    at = review.latest_start_at + 23 * DAY
    assert first_line_of(route, now=at) == (
        f"Work on this order should have begun on {review.latest_start_at.date()}, 23 days ago: "
        "order review is the first that is late."
    )
    assert first_line_of(route, now=review.latest_start_at - HOUR) == ""


def test_the_first_line_of_a_route_begun_names_what_is_late_now() -> None:
    route = grown(due_on=date(2026, 4, 7))
    say(step(route, "ENG-REVIEW"), "finish", started_at=NOW - HOUR)
    line = first_line_of(route, now=NOW + 60 * DAY)
    assert "should have begun on" in line
    assert "more should have begun since" in line
    assert not line.startswith("Work on this order")


def test_the_first_line_says_hold_cancellation_and_trouble() -> None:
    route = grown()
    hold_route(route_id=route.pk, reason="money", by=None, at=NOW)
    route.refresh_from_db()
    assert first_line_of(route, now=NOW) == "This route is on hold."
    route.forecast_trouble = "The calendar never opens."
    assert "There is no forecast. The calendar" in first_line_of(route, now=NOW)
    route.state = Route.State.CANCELLED
    assert first_line_of(route, now=NOW) == "This route is cancelled."


def test_a_start_missed_today_is_said_so() -> None:
    route = grown(due_on=date(2026, 4, 7))
    rows_ = Operation.objects.filter(route=route)
    review = step(route, "ENG-REVIEW")
    assert review.latest_start_at is not None
    late = late_start(rows_, now=review.latest_start_at + HOUR, zone=ZONE)
    assert late is not None and "today" in str(late)
    later = late_start(rows_, now=review.latest_start_at + DAY, zone=ZONE)
    assert later is not None and "a day ago" in str(later)


def test_starts_overdue_has_one_line_a_route() -> None:
    first, _ = grown(due_on=date(2026, 4, 7)), grown(due_on=date(2027, 4, 7))
    found = starts_overdue(now=NOW + 60 * DAY)
    assert [row.route for row in found] == [first.label]
    assert found[0].operation == "Order review"
    assert found[0].more > 5


def test_load_is_put_into_the_weeks_it_falls_in() -> None:
    route = grown()
    centre = next(c for c in load(now=NOW) if c.code == "DRAWING")
    # 8 h from Wednesday 10:00; what is left of the week is 6 h, 8 h and 8 h.
    assert centre.cells[0].load_h == pytest.approx(8.0)
    assert centre.cells[0].capacity_h == pytest.approx(22.0)
    assert centre.cells[1].capacity_h == pytest.approx(40.0)
    total = sum(cell.load_h for c in load(now=NOW) for cell in c.cells)
    minutes = sum(
        route.operations.filter(work_centre__isnull=False).values_list("minutes", flat=True)
    )
    assert total == pytest.approx(minutes / 60)


def test_load_across_a_weekend_is_shared_by_both_weeks() -> None:
    grown(at=datetime(2026, 3, 6, 13, 0, tzinfo=UTC))  # Friday at one: 4 h this week, 4 h the next
    cells = next(
        c for c in load(now=datetime(2026, 3, 6, 13, 0, tzinfo=UTC)) if c.code == "DRAWING"
    ).cells
    assert [round(cell.load_h, 3) for cell in cells[:3]] == [4.0, 4.0, 0.0]


def test_overload_is_told() -> None:
    for _ in range(4):
        grown()
    centre = next(c for c in load(now=NOW) if c.code == "DRAWING")
    assert centre.cells[0].is_over
    assert centre.cells[0].share == pytest.approx(32 / 22)
    assert centre.cells[0].bar == 100.0


def test_a_work_centre_that_never_opens_says_why_it_has_no_capacity() -> None:
    grown()
    Shift.objects.all().delete()
    WorkCentre.objects.first().calendar.refresh_from_db()
    calendar = WorkCentre.objects.get(code="DRAWING").calendar
    calendar.version += 1
    calendar.save()
    assert "no open hours" in load(now=NOW)[0].trouble


def test_routes_are_listed_by_days_in_hand_those_without_a_forecast_first() -> None:
    relaxed, urgent, troubled = grown(), grown(due_on=date(2026, 4, 1)), grown()
    Route.objects.filter(pk=troubled.pk).update(days_in_hand=None, forecast_trouble="no hours")
    found = routes_by_days_in_hand()
    assert [line.label for line in found] == [troubled.label, urgent.label, relaxed.label]
    assert [line.look for line in found] == ["warned", "at-risk", "on-time"]


def test_a_bar_shows_done_running_and_to_come_without_overlap_in_a_lane() -> None:
    route = grown()
    say(step(route, "ENG-REVIEW"), "finish", started_at=NOW - 3 * HOUR)
    say(step(route, "FDY-I-MOULD"), "start")
    bar = route_bars([route.pk], now=NOW)[route.pk]
    states = [(segment.area, segment.state.value) for segment in bar.segments]
    assert ("engineering", "done") in states
    assert ("foundry", "running") in states
    assert ("foundry", "planned") in states
    assert ("buying", "passing") in states
    assert (bar.stage, bar.done, bar.total) == ("foundry", 1, route.operations.count())
    for one in bar.segments:
        for other in bar.segments:
            if one is not other and one.lane == other.lane:
                assert one.end <= other.start or other.end <= one.start


def test_a_bar_is_late_where_days_in_hand_are_negative_and_held_where_a_hold_is_open() -> None:
    late = grown(due_on=date(2026, 3, 10))
    held = grown()
    gate = open_gate(
        operation_id=step(held, "DSP-PACK").pk, timing="before", reason="Papers", by=None, at=NOW
    )
    bars = route_bars([late.pk, held.pk], now=NOW)
    assert {s.state.value for s in bars[late.pk].segments} == {"late"}
    packing = next(s for s in bars[held.pk].segments if s.area == "dispatch")
    assert packing.state.value == "held"
    hold = bars[held.pk].next_hold
    assert hold is not None
    assert (hold.gate_id, hold.reason, hold.operation) == (gate.pk, "Papers", "Packing")
    assert bars[held.pk].open_holds == 1


def test_a_bar_is_drawn() -> None:
    route = grown()
    bar = route_bars([route.pk], now=NOW)[route.pk]
    picture = svg(draw(drawing(bar, title=route.label, first=bar.first, last=bar.last, now=NOW)))
    assert route.label in picture
    assert "Ship by" in picture


def test_bars_cost_as_many_questions_for_many_as_for_one(django_assert_num_queries: Any) -> None:
    routes = [grown() for _ in range(4)]
    for some in (routes[:1], routes):
        with django_assert_num_queries(4):
            route_bars([route.pk for route in some], now=NOW)


def test_a_routes_page_has_units_areas_chain_and_what_was_left() -> None:
    route = grown(quantity=2)
    found = route_view(route, now=NOW)
    assert [unit.title for unit in found.units] == ["All units share", "Unit 1", "Unit 2"]
    assert [area.area for area in found.units[0].areas] == ["engineering", "buying"]
    assert found.chain[0].name == "Order review"
    assert found.chain[-1].name == "Packing"
    starts = [row.earliest_start_at for row in found.chain]
    assert starts == sorted(starts)  # type: ignore[type-var]
    assert (found.done, found.left) == (0, ())


def test_a_routes_page_costs_as_many_questions_for_many_units_as_for_one(
    django_assert_max_num_queries: Any,
) -> None:
    counts = []
    for quantity in (1, 5):
        route = Route.objects.get(pk=grown(quantity=quantity).pk)
        with django_assert_max_num_queries(10) as asked:
            route_view(route, now=NOW)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_route_card_lists_holds_pieces_and_cautions() -> None:
    route = grown(quantity=2)
    GateFactory.create(operation=step(route, "ASM-HYDRO", 1), timing="during", reason="Witnessed")
    unit = route.units.select_related("route").get(number=1)
    PieceFactory.create(state="taken", unit=unit, mark="C-77", heat="H-55")
    card = route_card(unit)
    assert (card.pieces[0][0], card.pieces[0][1], card.pieces[0][3]) == ("impeller", "C-77", "H-55")
    hydro = next(row for row in card.rows if row.code == "ASM-HYDRO")
    assert hydro.holds == ("HOLD during: Witnessed",)
    assert [row.shared for row in card.rows if row.code == "ENG-REVIEW"] == [True]
    assert set(card.cautions) == {"release", "hydrostatic", "foundry", "lifting"}
    assert ("Hydrostatic test pressure", "13.5\N{NO-BREAK SPACE}bar") in card.facts


def test_the_printed_card_says_what_the_screen_says(tmp_path: Any) -> None:
    route = grown()
    GateFactory.create(operation=step(route, "ASM-HYDRO"), timing="during", reason="Witnessed")
    unit = route.units.select_related("route").get()
    content = route_card_pdf(route_card(unit), printed="2026-03-04 10:00, Ana")
    path = tmp_path / "card.pdf"
    path.write_bytes(content)
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    for words in ("Route card", "Witnessed", "Never test with air or gas", "Impeller turned"):
        assert words in text
    assert content == route_card_pdf(route_card(unit), printed="2026-03-04 10:00, Ana")
