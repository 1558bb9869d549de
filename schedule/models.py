"""When: calendars, work centres, freight lanes, route templates, routes, gates, pieces, plans."""

from typing import ClassVar

from django.contrib.postgres.fields import ArrayField
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now
from django.urls import reverse

from selection.models import Choice, Pattern
from works.models import Person
from works.people import Area


class Calendar(models.Model):
    """Working time of a work centre, a supplier or a customer's inspector."""

    name = models.CharField(max_length=60, unique=True)
    country = models.CharField(max_length=2, blank=True)
    region = models.CharField(max_length=10, blank=True)
    keeps_public_holidays = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1, help_text="grows with every change")

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class Shift(models.Model):
    """Working hours of one weekday, in the works' wall-clock time; ends may pass midnight."""

    calendar = models.ForeignKey(Calendar, on_delete=models.CASCADE, related_name="shifts")
    weekday = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(6)], help_text="0 is Monday"
    )
    starts = models.TimeField()
    ends = models.TimeField(help_text="at or before the start means the next day")
    valid_from = models.DateField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("weekday", "starts")
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(weekday__lte=6), name="shift_weekday_is_of_a_week")
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_name()} {self.starts:%H:%M} to {self.ends:%H:%M}"

    def get_weekday_name(self) -> str:
        return ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[self.weekday]


class CalendarDay(models.Model):
    """One day that differs from the week: closed, or with extra hours."""

    class Kind(models.TextChoices):
        PUBLIC_HOLIDAY = "public holiday"
        SHUTDOWN = "shutdown"
        OUTAGE = "outage"
        OVERTIME = "overtime"

    calendar = models.ForeignKey(Calendar, on_delete=models.CASCADE, related_name="days")
    on = models.DateField()
    kind = models.CharField(max_length=20, choices=Kind.choices)
    note = models.CharField(max_length=120, blank=True)
    starts = models.TimeField(null=True, blank=True, help_text="of overtime")
    ends = models.TimeField(null=True, blank=True)

    class Meta:
        ordering = ("on",)
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["calendar", "on", "kind"], name="calendar_day_once_a_kind"
            ),
            models.CheckConstraint(
                condition=~Q(kind="overtime") | Q(starts__isnull=False, ends__isnull=False),
                name="calendar_day_overtime_states_its_hours",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.on} {self.kind}"


class WorkCentre(models.Model):
    """A place where operations are done, one at a time in each of its places."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=60)
    area = models.CharField(max_length=20, choices=Area.choices)
    places = models.PositiveSmallIntegerField(default=1)
    calendar = models.ForeignKey(Calendar, on_delete=models.PROTECT)
    firm_days = models.PositiveSmallIntegerField(
        default=0, help_text="working days ahead that only a person moves"
    )
    caution = models.CharField(max_length=40, blank=True, help_text="key of the caution shown")
    closed_for_good = models.BooleanField(default=False)

    class Meta:
        ordering = ("area", "code")
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(places__gte=1), name="work_centre_has_a_place")
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("schedule:work_list", args=[self.code])


class Lane(models.Model):
    """A freight lane from the works' door to a site."""

    class Mode(models.TextChoices):
        SEA = "sea"
        ROAD = "road"
        AIR = "air"

    name = models.CharField(max_length=80, unique=True)
    mode = models.CharField(max_length=10, choices=Mode.choices)
    destination = models.CharField(max_length=80)
    country = models.CharField(max_length=2)
    door_to_port_days = models.PositiveSmallIntegerField(default=0)
    cut_off_days = models.PositiveSmallIntegerField(
        default=0, help_text="before sailing that the port closes"
    )
    sailing_weekdays = ArrayField(
        models.PositiveSmallIntegerField(), default=list, blank=True, help_text="0 is Monday"
    )
    voyage_days = models.PositiveSmallIntegerField(default=0)
    customs_days = models.PositiveSmallIntegerField(default=0)
    haulage_days = models.PositiveSmallIntegerField(default=0)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class RouteTemplate(models.Model):
    """The operations that a kind of item may need."""

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=20, help_text="pump, spares impeller, spares shaft …")
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.name


class TemplateOperation(models.Model):
    """One operation of a template: a row of its table."""

    template = models.ForeignKey(RouteTemplate, on_delete=models.CASCADE, related_name="rows")
    position = models.PositiveSmallIntegerField()
    code = models.CharField(max_length=40)
    row = models.JSONField(help_text="fields of schedule.planning's TemplateOperation")

    class Meta:
        ordering = ("position",)
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["template", "code"], name="template_operation_code_once_a_template"
            )
        ]

    def __str__(self) -> str:
        return self.code


class Route(models.Model):
    """The network of operations for one item, with the dates it is judged by.

    It carries its own due date, quantity and weight as planning facts, and knows no customer.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "not released"
        RELEASED = "released", "in work"
        ON_HOLD = "on hold", "on hold"
        SHIPPED = "shipped", "shipped"
        CANCELLED = "cancelled", "cancelled"

    label = models.CharField(
        max_length=80, help_text="what the works calls it, e.g. order and item"
    )
    template = models.ForeignKey(RouteTemplate, on_delete=models.PROTECT)
    choice = models.ForeignKey(Choice, null=True, blank=True, on_delete=models.PROTECT)
    configuration = models.JSONField(
        default=dict,
        blank=True,
        help_text="fields of selection's Configuration, as grown with; empty for spares",
    )
    terms = models.JSONField(
        default=dict, help_text="fields of schedule.planning's Terms, as grown with"
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    quantity = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    due_on = models.DateField(help_text="ship-by: the last day it may leave the works")
    published_on = models.DateField(null=True, blank=True, help_text="ship date told outside")
    weight = models.PositiveSmallIntegerField(
        default=2, help_text="how much a day late costs against others, 1 to 9"
    )
    revision = models.PositiveSmallIntegerField(default=1)
    version = models.PositiveIntegerField(default=1)
    # The forecast, rewritten by every reforecast.
    forecast_ship_at = models.DateTimeField(null=True)
    latest_first_start_at = models.DateTimeField(
        null=True, help_text="when the first open operation must start"
    )
    days_in_hand = models.FloatField(
        null=True, help_text="ship-by less forecast, working days; the worst of its deliveries"
    )
    forecast_at = models.DateTimeField(null=True)
    forecast_trouble = models.CharField(
        max_length=500, blank=True, help_text="why there is no forecast, and what would be right"
    )

    class Meta:
        ordering = ("due_on", "id")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(quantity__gte=1, quantity__lte=50), name="route_quantity_is_plausible"
            ),
            models.CheckConstraint(
                condition=Q(weight__gte=1, weight__lte=9), name="route_weight_is_one_to_nine"
            ),
        ]

    def __str__(self) -> str:
        return self.label


class RouteRevision(models.Model):
    """Why a route was grown again, and what that added, dropped and repeated."""

    route = models.ForeignKey(Route, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=300)
    difference = models.JSONField(default=dict)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("number",)
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["route", "number"], name="route_revision_once")
        ]

    def __str__(self) -> str:
        return f"{self.route} revision {self.number}"


class Unit(models.Model):
    """One pump (or spare) of a route, with its serial number."""

    route = models.ForeignKey(Route, on_delete=models.PROTECT, related_name="units")
    number = models.PositiveSmallIntegerField()
    serial = models.CharField(max_length=40, unique=True, null=True, blank=True)
    due_on = models.DateField(
        null=True, blank=True, help_text="its own ship-by, if delivered apart"
    )
    shipped_on = models.DateField(null=True, blank=True)
    dropped_in = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="route revision that took it out of the quantity"
    )
    forecast_ship_at = models.DateTimeField(null=True)
    days_in_hand = models.FloatField(null=True)

    class Meta:
        ordering = ("route", "number")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["route", "number"], name="unit_number_once_a_route"),
            models.CheckConstraint(
                condition=Q(serial=None) | ~Q(serial=""), name="unit_serial_is_not_empty"
            ),
        ]

    def __str__(self) -> str:
        return self.serial or f"{self.route} unit {self.number}"


class OperationQuerySet(models.QuerySet["Operation"]):
    def live(self) -> "OperationQuerySet":
        """Operations that are still part of their route."""
        return self.filter(dropped_in=None)

    def open(self) -> "OperationQuerySet":
        return self.live().exclude(state=Operation.State.FINISHED)


class Operation(models.Model):
    """One step of a route: at a work centre, or time that passes."""

    class Kind(models.TextChoices):
        WORKING = "working", "worked at a work centre"
        ELAPSED = "elapsed", "time that passes"
        BOUGHT_OUT = "bought-out", "waits for a purchase"
        APPROVAL = "approval", "waits for the customer"

    class State(models.TextChoices):
        WAITING = "waiting", "not started"
        STARTED = "started", "started"
        STOPPED = "stopped", "stopped"
        FINISHED = "finished", "finished"

    route = models.ForeignKey(Route, on_delete=models.PROTECT, related_name="operations")
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="operations"
    )
    code = models.CharField(max_length=40, help_text="of the template")
    repeat = models.PositiveSmallIntegerField(default=0, help_text="0 at first; 1 when done again")
    name = models.CharField(max_length=100)
    area = models.CharField(max_length=20, choices=Area.choices)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.WORKING)
    work_centre = models.ForeignKey(
        WorkCentre, null=True, blank=True, on_delete=models.PROTECT, related_name="operations"
    )
    minutes = models.PositiveIntegerField(help_text="working minutes, or elapsed minutes")
    splits = models.BooleanField(
        default=True, help_text="may be left over a night and taken up again"
    )
    grown = models.JSONField(
        default=dict, help_text="what growing again needs to know: row, pattern, facts, holds"
    )
    position = models.PositiveIntegerField(help_text="order along the route, for lists")
    safety_related = models.BooleanField(
        default=False, help_text="elapsed time that a person must confirm the end of"
    )
    confirmations = ArrayField(
        models.CharField(max_length=30),
        default=list,
        blank=True,
        help_text="what the start confirms: drawing, pattern, core boxes, half-pair, rotation …",
    )
    caution = models.CharField(max_length=40, blank=True)
    drawing = models.CharField(max_length=40, blank=True)
    drawing_revision = models.CharField(max_length=10, blank=True)
    added_in = models.PositiveSmallIntegerField(default=1, help_text="route revision")
    dropped_in = models.PositiveSmallIntegerField(null=True, blank=True)
    # Progress, as stated by the latest reports.
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    remaining_minutes = models.PositiveIntegerField(
        null=True, blank=True, help_text="as last said or counted; none when nobody said"
    )
    remaining_at = models.DateTimeField(null=True, blank=True, help_text="when that was so")
    stop_reason = models.CharField(max_length=60, blank=True)
    # The published plan, and the forecast rewritten by every reforecast.
    planned_start_at = models.DateTimeField(null=True, blank=True)
    planned_finish_at = models.DateTimeField(null=True, blank=True)
    earliest_start_at = models.DateTimeField(null=True, blank=True)
    earliest_finish_at = models.DateTimeField(null=True, blank=True)
    latest_start_at = models.DateTimeField(null=True, blank=True)
    latest_finish_at = models.DateTimeField(null=True, blank=True)
    days_in_hand = models.FloatField(null=True, blank=True)
    binds = models.BooleanField(default=False, help_text="on the chain that sets the forecast")
    waits_for = models.CharField(max_length=200, blank=True, help_text="what binds it, in words")
    version = models.PositiveIntegerField(default=1)

    objects = OperationQuerySet.as_manager()

    class Meta:
        ordering = ("route", "position")
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["route", "unit", "code", "repeat"],
                name="operation_code_once_a_unit_and_repeat",
                nulls_distinct=False,
            ),
            models.CheckConstraint(
                condition=~Q(kind="working") | Q(work_centre__isnull=False),
                name="operation_worked_has_a_work_centre",
            ),
            models.CheckConstraint(
                condition=Q(state="waiting", started_at=None, finished_at=None)
                | Q(state__in=["started", "stopped"], started_at__isnull=False, finished_at=None)
                | Q(
                    state="finished",
                    started_at__isnull=False,
                    finished_at__gte=F("started_at"),
                ),
                name="operation_state_agrees_with_its_times",
            ),
        ]
        indexes: ClassVar = [
            models.Index(
                fields=["work_centre", "state"],
                condition=Q(dropped_in=None),
                name="operation_by_work_centre",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit or self.route}: {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("schedule:operation", args=[self.pk])


class Link(models.Model):
    """An edge of the network: `after` may start when `before` has finished and the lag passed."""

    before = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="links_out")
    after = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="links_in")
    lag_minutes = models.PositiveIntegerField(default=0, help_text="elapsed")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["before", "after"], name="link_once_a_pair"),
            models.CheckConstraint(
                condition=~Q(before=F("after")), name="link_joins_two_operations"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.before_id} → {self.after_id}"


class GateQuerySet(models.QuerySet["Gate"]):
    def open(self) -> "GateQuerySet":
        return self.filter(withdrawn_at=None, cleared_at=None, at_risk_at=None)


class Gate(models.Model):
    """A hold on an operation: before its start, during it (blocks the finish), or after it."""

    class Timing(models.TextChoices):
        BEFORE = "before"
        DURING = "during"
        AFTER = "after"

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="gates")
    timing = models.CharField(max_length=10, choices=Timing.choices)
    reason = models.CharField(max_length=200)
    notice_days = models.PositiveSmallIntegerField(default=0, help_text="working days")
    calendar = models.ForeignKey(Calendar, null=True, blank=True, on_delete=models.PROTECT)
    notified_on = models.DateField(null=True, blank=True, help_text="notice was given")
    release_expected_on = models.DateField(null=True, blank=True)
    never_at_risk = models.BooleanField(
        default=False, help_text="the pressure test and dispatch: nobody may pass it at risk"
    )
    cleared_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="gates_cleared"
    )
    cleared_at = models.DateTimeField(null=True, blank=True)
    at_risk_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="gates_at_risk"
    )
    at_risk_at = models.DateTimeField(null=True, blank=True)
    at_risk_scope = models.CharField(max_length=300, blank=True)
    at_risk_limit = models.CharField(max_length=300, blank=True)
    withdrawn_at = models.DateTimeField(
        null=True, blank=True, help_text="the point was dropped from the plan"
    )
    repeats = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="repeated_by",
        help_text="the gate on the work that this operation does again",
    )

    objects = GateQuerySet.as_manager()

    class Meta:
        ordering = ("operation", "id")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(cleared_at=None, cleared_by=None)
                | Q(cleared_at__isnull=False, cleared_by__isnull=False),
                name="gate_cleared_names_person",
            ),
            models.CheckConstraint(
                condition=Q(at_risk_at=None, at_risk_by=None)
                | (
                    Q(at_risk_at__isnull=False, at_risk_by__isnull=False)
                    & ~Q(at_risk_scope="")
                    & ~Q(at_risk_limit="")
                ),
                name="gate_at_risk_names_person_scope_and_limit",
            ),
            models.CheckConstraint(
                condition=Q(never_at_risk=False) | Q(at_risk_at=None),
                name="gate_of_pressure_test_or_dispatch_is_never_passed_at_risk",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.timing} {self.operation.name}: {self.reason}"

    @property
    def is_open(self) -> bool:
        return self.withdrawn_at is None and self.cleared_at is None and self.at_risk_at is None


class Piece(models.Model):
    """A casting (or other traced part): pattern, heat, pair, hand of rotation, whose it is."""

    class State(models.TextChoices):
        SHELF = "on the shelf"
        TAKEN = "taken"
        SCRAPPED = "scrapped"

    class Part(models.TextChoices):
        UPPER_HALF = "upper half"
        LOWER_HALF = "lower half"
        IMPELLER = "impeller"
        RING = "ring"
        SHAFT = "shaft"

    mark = models.CharField(max_length=40, unique=True, help_text="cast or stamped on it")
    part = models.CharField(max_length=12, choices=Part.choices)
    pattern = models.ForeignKey(Pattern, on_delete=models.PROTECT, related_name="pieces")
    pattern_revision = models.CharField(max_length=10, help_text="it was poured to")
    metal = models.CharField(max_length=30)
    heat = models.CharField(max_length=40, blank=True)
    pair = models.CharField(max_length=40, blank=True, help_text="halves bored together")
    rotation = models.CharField(max_length=20, blank=True)
    poured_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=14, choices=State.choices, default=State.SHELF)
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="pieces"
    )
    scrapped_because = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("mark",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=(Q(state="taken") & Q(unit__isnull=False))
                | (Q(state="on the shelf") & Q(unit=None))
                | (Q(state="scrapped") & ~Q(scrapped_because="")),
                name="piece_state_agrees_with_its_unit",
            ),
            models.UniqueConstraint(
                fields=["unit", "part"],
                condition=Q(state="taken") & Q(part__in=["upper half", "lower half", "impeller"]),
                name="piece_one_of_a_part_in_a_unit",
            ),
        ]

    def __str__(self) -> str:
        return self.mark


class BoughtOut(models.Model):
    """Something bought for a route: promised, late, arrived."""

    operation = models.OneToOneField(Operation, on_delete=models.PROTECT, related_name="bought_out")
    item = models.CharField(max_length=100)
    supplier = models.CharField(max_length=100, blank=True)
    ordered_on = models.DateField(null=True, blank=True)
    promised_on = models.DateField(null=True, blank=True)
    arrived_on = models.DateField(null=True, blank=True)
    sent_straight_to_site = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("promised_on", "id")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(arrived_on=None) | Q(ordered_on__isnull=False),
                name="bought_out_arrives_after_it_is_ordered",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item} for {self.operation.route}"


class Plan(models.Model):
    """A plan of the whole works or of one route; published ones are the baseline."""

    class State(models.TextChoices):
        DRAFT = "draft"
        PUBLISHED = "published"
        REPLACED = "replaced"

    title = models.CharField(max_length=120)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    made_at = models.DateTimeField(db_default=Now())
    published_at = models.DateTimeField(null=True)
    figures = models.JSONField(default=dict)

    class Meta:
        ordering = ("-id",)

    def __str__(self) -> str:
        return self.title


class Placement(models.Model):
    """Where a plan puts an operation."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="placements")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="placements")
    place = models.PositiveSmallIntegerField(default=0)
    starts_at = models.DateTimeField()
    finishes_at = models.DateTimeField()
    pinned = models.BooleanField(default=False)
    waits_for = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["plan", "operation"], name="placement_once_a_plan"),
            models.CheckConstraint(
                condition=Q(finishes_at__gte=F("starts_at")), name="placement_ends_after_it_starts"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.operation} in {self.plan}"


class Progress(models.Model):
    """A report from the floor; never changed, a mistaken one is corrected by a new one."""

    class Deed(models.TextChoices):
        START = "start"
        STOP = "stop"
        RESUME = "resume"
        PART_DONE = "part done"
        FINISH = "finish"

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="reports")
    deed = models.CharField(max_length=10, choices=Deed.choices)
    stated_at = models.DateTimeField(help_text="when it happened, as said")
    reported_at = models.DateTimeField(help_text="when it was said")
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="reports")
    worker = models.CharField(
        max_length=60, blank=True, help_text="who did it, when somebody else reports"
    )
    reason = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=300, blank=True)
    remaining_minutes = models.PositiveIntegerField(null=True, blank=True)
    confirmed = models.JSONField(default=dict, help_text="what the start confirmed")
    marks = ArrayField(
        models.CharField(max_length=20),
        default=list,
        blank=True,
        help_text="late, out of order, overlapping",
    )
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    withdraws = models.BooleanField(default=False, help_text="the corrected report never happened")
    key = models.CharField(
        max_length=60, unique=True, null=True, blank=True, help_text="of the sender, sent once"
    )

    class Meta:
        ordering = ("stated_at", "id")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(stated_at__lte=F("reported_at")), name="progress_is_of_the_past"
            ),
            models.CheckConstraint(
                condition=~Q(deed="stop") | ~Q(reason=""), name="progress_stop_gives_its_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.deed} {self.operation}"


__all__ = [
    "BoughtOut",
    "Calendar",
    "CalendarDay",
    "Gate",
    "Lane",
    "Link",
    "Operation",
    "Piece",
    "Placement",
    "Plan",
    "Progress",
    "Route",
    "RouteRevision",
    "RouteTemplate",
    "Shift",
    "TemplateOperation",
    "Unit",
    "WorkCentre",
]
