"""What can have happened here.

Every event that touches a route carries the route's number as `route` in what it says came after,
whatever thing it is about.
"""

from django.db.models import TextChoices


class Fact(TextChoices):
    ROUTE_GROWN = "schedule.route_grown"
    ROUTE_REGROWN = "schedule.route_regrown"
    ROUTE_RELEASED = "schedule.route_released"
    ROUTE_HELD = "schedule.route_held"
    ROUTE_RESUMED = "schedule.route_resumed"
    ROUTE_CANCELLED = "schedule.route_cancelled"
    UNITS_SHIPPED = "schedule.units_shipped"
    DUE_SET = "schedule.due_set"
    UNIT_DUE_SET = "schedule.unit_due_set"
    PUBLISHED_SET = "schedule.published_date_set"
    WEIGHT_SET = "schedule.weight_set"
    SERIALS_GIVEN = "schedule.serials_given"
    DRAWING_ISSUED = "schedule.drawing_issued"
    FORECAST_MOVED = "schedule.forecast_moved"

    PROGRESS_REPORTED = "schedule.progress_reported"
    REPORT_CORRECTED = "schedule.report_corrected"
    ELAPSED_PASSED = "schedule.elapsed_passed"

    GATES_OPENED = "schedule.gates_opened"
    GATE_CLEARED = "schedule.gate_cleared"
    GATE_PASSED_AT_RISK = "schedule.gate_passed_at_risk"
    GATE_WITHDRAWN = "schedule.gate_withdrawn"
    GATE_RELEASE_EXPECTED = "schedule.gate_release_expected"
    GATE_NOTICE_GIVEN = "schedule.gate_notice_given"

    PIECES_POURED = "schedule.pieces_poured"
    PIECE_TAKEN = "schedule.piece_taken"
    PIECE_PUT_BACK = "schedule.piece_put_back"
    PIECES_PAIRED = "schedule.pieces_paired"
    PIECES_SWAPPED = "schedule.pieces_swapped"
    PIECE_SCRAPPED = "schedule.piece_scrapped"

    PART_ORDERED = "schedule.part_ordered"
    PART_PROMISED = "schedule.part_promised"
    PART_ARRIVED = "schedule.part_arrived"

    CALENDAR_ADDED = "schedule.calendar_added"
    CALENDAR_CHANGED = "schedule.calendar_changed"
    WORK_CENTRE_ADDED = "schedule.work_centre_added"
    WORK_CENTRE_CHANGED = "schedule.work_centre_changed"
    LANE_ADDED = "schedule.lane_added"
    LANE_CHANGED = "schedule.lane_changed"
    TEMPLATE_LOADED = "schedule.template_loaded"
    TEMPLATE_CHANGED = "schedule.template_changed"
