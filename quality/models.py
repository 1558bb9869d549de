"""Proof: inspection plans, points, releases, instruments, records, nonconformances."""

from typing import TYPE_CHECKING, ClassVar

from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.urls import reverse

from schedule.models import Gate, Link, Operation, Piece, Route, Unit
from works.models import Person, Revision


class Party(models.TextChoices):
    MAKER = "maker"
    CUSTOMER = "customer"
    THIRD_PARTY = "third party"


class Part(models.TextChoices):
    """A party's part in a point."""

    HOLD = "H", "hold"
    WITNESS = "W", "witness"
    REVIEW = "R", "review"
    NONE = "", "no part"


class PlanTemplate(models.Model):
    """The rules that an inspection plan is written by: rows of the works' own."""

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=20)
    rows = models.JSONField(default=list)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.name


class InspectionPlan(models.Model):
    """The inspections of one route."""

    route = models.OneToOneField(Route, on_delete=models.PROTECT, related_name="inspection_plan")
    terms = models.JSONField(
        default=dict, help_text="fields of quality.acceptance's Terms, as written with"
    )
    revision = models.PositiveSmallIntegerField(default=1)

    def __str__(self) -> str:
        return f"Inspection plan of {self.route}"

    def get_absolute_url(self) -> str:
        return reverse("quality:plan", args=[self.pk])


class InspectionPointQuerySet(models.QuerySet["InspectionPoint"]):
    def outstanding(self) -> "InspectionPointQuerySet":
        """Points whose gate is still open."""
        return self.filter(
            withdrawn_at=None,
            gate__isnull=False,
            gate__withdrawn_at=None,
            gate__cleared_at=None,
            gate__at_risk_at=None,
        )

    def with_arrival(self) -> "InspectionPointQuerySet":
        """Say of each point whether work before its operation is still going on."""
        unfinished = Link.objects.filter(after=OuterRef("operation_id")).exclude(
            before__state=Operation.State.FINISHED
        )
        return self.annotate(work_before=Exists(unfinished))


class InspectionPoint(models.Model):
    """One line of the plan: what is inspected when, to what, and each party's part."""

    plan = models.ForeignKey(InspectionPlan, on_delete=models.PROTECT, related_name="points")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="points")
    code = models.CharField(max_length=60, help_text="of the rule that wrote it")
    timing = models.CharField(max_length=10, choices=Gate.Timing.choices)
    characteristic = models.CharField(max_length=200)
    method = models.CharField(max_length=120, blank=True)
    extent = models.CharField(max_length=60, blank=True)
    criterion = models.CharField(max_length=400, blank=True)
    reference = models.CharField(max_length=200, blank=True)
    record_kind = models.CharField(max_length=60, blank=True, help_text="record to be kept")
    maker = models.CharField(max_length=1, choices=Part.choices, blank=True)
    customer = models.CharField(max_length=1, choices=Part.choices, blank=True)
    third_party = models.CharField(max_length=1, choices=Part.choices, blank=True)
    notice_days = models.PositiveSmallIntegerField(default=0, help_text="working days")
    gate = models.OneToOneField(
        Gate, null=True, blank=True, on_delete=models.PROTECT, related_name="point"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = InspectionPointQuerySet.as_manager()

    if TYPE_CHECKING:  # of `with_arrival`
        work_before: bool

    class Meta:
        ordering = ("operation__position", "id")
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["plan", "operation", "code"],
                condition=Q(withdrawn_at=None),
                name="inspection_point_once_an_operation",
            )
        ]

    def __str__(self) -> str:
        return f"{self.characteristic} ({self.timing} {self.operation.name})"

    def get_absolute_url(self) -> str:
        return reverse("quality:point", args=[self.pk])

    def parties(self) -> dict[str, str]:
        """Each party that has a part, with its letter."""
        letters = {
            Party.MAKER: self.maker,
            Party.CUSTOMER: self.customer,
            Party.THIRD_PARTY: self.third_party,
        }
        return {str(party): letter for party, letter in letters.items() if letter}


class Release(models.Model):
    """A party's word that work may go on; one a point and party, never changed."""

    class Kind(models.TextChoices):
        RELEASED = "released"
        WAIVED = "waived in writing"
        NOT_ATTENDED = "witness did not come"

    point = models.ForeignKey(InspectionPoint, on_delete=models.PROTECT, related_name="releases")
    party = models.CharField(max_length=12, choices=Party.choices)
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.RELEASED)
    signed_by = models.CharField(max_length=120, help_text="who gave the word")
    record = models.TextField(blank=True, help_text="what was found, or the waiver's words")
    paper = models.ForeignKey(Revision, null=True, blank=True, on_delete=models.PROTECT)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("at",)
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["point", "party"], name="release_once_a_point_and_party"
            ),
            models.CheckConstraint(condition=~Q(signed_by=""), name="hold_release_names_releaser"),
            models.CheckConstraint(
                condition=~Q(kind="waived in writing") | ~Q(record=""),
                name="release_waiver_keeps_its_words",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.party}: {self.kind}"


class VisitQuerySet(models.QuerySet["Visit"]):
    def upcoming(self) -> "VisitQuerySet":
        """Visits still to come, or to be reported on."""
        return self.filter(
            state__in=[Visit.State.PLANNED, Visit.State.NOTICE_SENT, Visit.State.AGREED]
        )


class Visit(models.Model):
    """An inspector's visit to points of one route, with its notice."""

    class State(models.TextChoices):
        PLANNED = "planned"
        NOTICE_SENT = "notice sent"
        AGREED = "agreed"
        CAME = "came"
        DID_NOT_COME = "did not come"
        CANCELLED = "cancelled"

    route = models.ForeignKey(Route, on_delete=models.PROTECT, related_name="visits")
    points = models.ManyToManyField(InspectionPoint, related_name="visits")
    party = models.CharField(max_length=12, choices=Party.choices)
    inspector = models.CharField(max_length=120, blank=True)
    on = models.DateField()
    notice_by_on = models.DateField(help_text="last day that notice can be given")
    notice_sent_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.PLANNED)
    note = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ("on",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(state__in=["notice sent", "agreed"]) | Q(notice_sent_on__isnull=False),
                name="visit_notice_has_its_day",
            )
        ]

    def __str__(self) -> str:
        return f"{self.party} visit on {self.on}"

    def get_absolute_url(self) -> str:
        return reverse("quality:visit", args=[self.pk])

    @property
    def is_over(self) -> bool:
        return self.state in {self.State.CAME, self.State.DID_NOT_COME, self.State.CANCELLED}


class Instrument(models.Model):
    """A measuring instrument and its calibration."""

    tag = models.CharField(max_length=30, unique=True)
    kind = models.CharField(max_length=40)
    unit = models.CharField(max_length=20)
    range_low = models.FloatField(null=True, blank=True)
    range_high = models.FloatField(null=True, blank=True)
    resolution = models.FloatField(null=True, blank=True)
    uncertainty_percent = models.FloatField(help_text="systematic, of reading, 95 %")
    certificate = models.CharField(max_length=60, blank=True)
    calibrated_on = models.DateField()
    due_on = models.DateField()
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ("tag",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(due_on__gt=F("calibrated_on")),
                name="instrument_is_due_after_its_calibration",
            ),
            models.CheckConstraint(
                condition=Q(range_low=None) | Q(range_high=None) | Q(range_high__gt=F("range_low")),
                name="instrument_range_has_two_ends",
            ),
            models.CheckConstraint(
                condition=Q(uncertainty_percent__gte=0),
                name="instrument_uncertainty_is_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.tag

    def get_absolute_url(self) -> str:
        return reverse("quality:instrument", args=[self.pk])


class Calibration(models.Model):
    """One calibration of an instrument: kept, so that an old record can be judged by its day."""

    instrument = models.ForeignKey(
        Instrument, on_delete=models.PROTECT, related_name="calibrations"
    )
    calibrated_on = models.DateField()
    due_on = models.DateField()
    certificate = models.CharField(max_length=60, blank=True)
    uncertainty_percent = models.FloatField(help_text="systematic, of reading, 95 %")
    within_limits = models.BooleanField(
        default=True, help_text="as found, before any adjustment; else earlier records are in doubt"
    )
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-calibrated_on",)
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument", "calibrated_on"], name="calibration_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(due_on__gt=F("calibrated_on")),
                name="calibration_is_due_after_its_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} calibrated on {self.calibrated_on}"


class SignedRecord(models.Model):
    """What all records share: who entered it, who signed it; frozen once signed."""

    class Verdict(models.TextChoices):
        PASSED = "pass", "pass"
        FAILED = "fail", "fail"
        NOT_JUDGED = "unclear", "not judged"

    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="%(class)ss")
    tested_on = models.DateField(help_text="when it was done; instruments are in date on this day")
    entered_by = models.ForeignKey(
        Person, null=True, on_delete=models.PROTECT, related_name="%(class)ss_entered"
    )
    entered_at = models.DateTimeField()
    instruments = models.ManyToManyField(Instrument, related_name="%(class)ss")
    inputs = models.JSONField(default=dict, help_text="everything the verdict is computed from, SI")
    verdict = models.CharField(
        max_length=10,
        choices=Verdict.choices,
    )
    result = models.JSONField(
        default=dict, help_text="the verdict with its reasons and the rows it used"
    )
    engine_version = models.CharField(max_length=40)
    signed_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="%(class)ss_signed"
    )
    signed_at = models.DateTimeField(null=True, blank=True)
    replaces = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by"
    )
    version = models.PositiveIntegerField(default=1)

    page: ClassVar[str]

    if TYPE_CHECKING:  # Django adds it to each child; the abstract class is what callers know
        replaces_id: int | None

    class Meta:
        abstract = True
        ordering = ("id",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(signed_at=None, signed_by=None)
                | Q(signed_at__isnull=False, signed_by__isnull=False),
                name="%(class)s_signature_names_person",
            )
        ]

    def __str__(self) -> str:
        return f"{self._meta.verbose_name} of {self.operation}: {self.verdict}"

    def get_absolute_url(self) -> str:
        return reverse(self.page, args=[self.pk])

    @property
    def is_signed(self) -> bool:
        return self.signed_at is not None

    @property
    def is_replaced(self) -> bool:
        """True when a correction stands in its place."""
        return hasattr(self, "replaced_by")


class PressureTest(SignedRecord):
    """A casing's hydrostatic test."""

    page = "quality:pressure_test"

    class Meta(SignedRecord.Meta):
        verbose_name = "hydrostatic test"


class PerformanceTest(SignedRecord):
    """A performance test on the bed."""

    page = "quality:performance_test"

    class Meta(SignedRecord.Meta):
        verbose_name = "performance test"


class SealTest(SignedRecord):
    """A seal leakage test after the performance test."""

    page = "quality:seal_test"

    performance_test = models.ForeignKey(
        PerformanceTest, on_delete=models.PROTECT, related_name="seal_tests"
    )

    class Meta(SignedRecord.Meta):
        verbose_name = "seal leakage test"


class Measurement(SignedRecord):
    """A measured record: dimensions, run-out, balance, hardness … judged by one engine."""

    page = "quality:measurement"

    kind = models.CharField(max_length=40)
    piece = models.ForeignKey(
        Piece, null=True, blank=True, on_delete=models.PROTECT, related_name="measurements"
    )

    class Meta(SignedRecord.Meta):
        verbose_name = "measured record"


class MaterialCertificate(models.Model):
    """A heat's certificate."""

    heat = models.CharField(max_length=40, unique=True)
    metal = models.CharField(max_length=30)
    type = models.CharField(max_length=10, default="3.1", help_text="EN 10204")
    chemistry = models.JSONField(default=dict)
    mechanicals = models.JSONField(default=dict)
    received_on = models.DateField(null=True, blank=True)
    accepted_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT)
    accepted_on = models.DateField(null=True, blank=True)
    paper = models.ForeignKey(Revision, null=True, blank=True, on_delete=models.PROTECT)

    class Meta:
        ordering = ("heat",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(accepted_on=None, accepted_by=None)
                | Q(accepted_on__isnull=False, accepted_by__isnull=False),
                name="material_certificate_acceptance_names_person",
            )
        ]

    def __str__(self) -> str:
        return f"Heat {self.heat}"


class NonconformanceQuerySet(models.QuerySet["Nonconformance"]):
    def open(self) -> "NonconformanceQuerySet":
        return self.filter(closed_at=None)


class Nonconformance(models.Model):
    """A part that is not as it should be, what was decided, and by whom."""

    class Severity(models.TextChoices):
        MINOR = "minor"
        MAJOR = "major"

    class Disposition(models.TextChoices):
        UNDECIDED = "undecided"
        ACCEPT = "accept as it is"
        REWORK = "rework"
        REPAIR = "repair"
        SCRAP = "scrap"

    number = models.CharField(max_length=20, unique=True)
    route = models.ForeignKey(Route, on_delete=models.PROTECT, related_name="nonconformances")
    operation = models.ForeignKey(
        Operation, on_delete=models.PROTECT, related_name="nonconformances"
    )
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.PROTECT)
    piece = models.ForeignKey(
        Piece, null=True, blank=True, on_delete=models.PROTECT, related_name="nonconformances"
    )
    pressure_test = models.ForeignKey(PressureTest, null=True, blank=True, on_delete=models.PROTECT)
    defect = models.CharField(max_length=300)
    cause = models.CharField(max_length=40, blank=True, help_text="cause code")
    severity = models.CharField(max_length=6, choices=Severity.choices)
    disposition = models.CharField(
        max_length=16, choices=Disposition.choices, default=Disposition.UNDECIDED
    )
    disposition_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="dispositions"
    )
    disposition_at = models.DateTimeField(null=True, blank=True)
    disposition_note = models.TextField(blank=True)
    gate = models.OneToOneField(
        Gate, null=True, blank=True, on_delete=models.PROTECT, related_name="nonconformance"
    )
    opened_by = models.ForeignKey(
        Person, null=True, on_delete=models.PROTECT, related_name="nonconformances_opened"
    )
    opened_at = models.DateTimeField()
    closed_by = models.ForeignKey(
        Person,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="nonconformances_closed",
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = NonconformanceQuerySet.as_manager()

    class Meta:
        ordering = ("closed_at", "-severity", "opened_at")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(closed_at=None)
                | (~Q(disposition="undecided") & Q(closed_by__isnull=False)),
                name="nonconformance_closed_is_decided",
            ),
            models.CheckConstraint(
                condition=Q(disposition="undecided") | Q(disposition_by__isnull=False),
                name="nonconformance_disposition_names_person",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.defect}"

    def get_absolute_url(self) -> str:
        return reverse("quality:nonconformance", args=[self.pk])


class Concession(models.Model):
    """A question put to the buyer and the written answer; the answer never changes."""

    class Answer(models.TextChoices):
        ACCEPTED = "accepted"
        REFUSED = "refused"

    nonconformance = models.ForeignKey(
        Nonconformance, on_delete=models.PROTECT, related_name="concessions"
    )
    proposed = models.CharField(max_length=16, choices=Nonconformance.Disposition.choices)
    question = models.TextField(help_text="as the customer reads it")
    asked_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    asked_at = models.DateTimeField()
    answer = models.CharField(max_length=10, choices=Answer.choices, blank=True)
    answer_words = models.TextField(blank=True)
    answered_by = models.CharField(max_length=120, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    recorded_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="answers_recorded"
    )
    paper = models.ForeignKey(Revision, null=True, blank=True, on_delete=models.PROTECT)

    class Meta:
        ordering = ("id",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(answer="", answered_at=None, answered_by="")
                | (~Q(answer="") & Q(answered_at__isnull=False) & ~Q(answered_by="")),
                name="concession_answer_names_who_and_when",
            ),
            models.UniqueConstraint(
                fields=["nonconformance"],
                condition=Q(answer=""),
                name="concession_one_question_at_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"Concession for {self.nonconformance.number}"


__all__ = [
    "Calibration",
    "Concession",
    "InspectionPlan",
    "InspectionPoint",
    "Instrument",
    "MaterialCertificate",
    "Measurement",
    "Nonconformance",
    "Part",
    "Party",
    "PerformanceTest",
    "PlanTemplate",
    "PressureTest",
    "Release",
    "SealTest",
    "SignedRecord",
    "Visit",
]
