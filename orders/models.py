"""Who and what for: customers, orders, items, deliveries, changes, links, status reports."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from quality.models import InspectionPlan
from schedule.models import Lane, Route, Unit
from selection.models import Choice, Study
from works.models import Person, Revision


class Customer(models.Model):
    name = models.CharField(max_length=120, unique=True)
    country = models.CharField(max_length=2)
    note = models.TextField(blank=True, help_text="internal; never leaves the works")

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("orders:customer", args=[self.pk])


class Contact(models.Model):
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="contacts")
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    is_inspector = models.BooleanField(default=False)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class DeliveryTerm(models.TextChoices):
    """Incoterms 2020."""

    EXW = "EXW", "EXW ex works"
    FCA = "FCA", "FCA free carrier"
    CPT = "CPT", "CPT carriage paid to"
    CIP = "CIP", "CIP carriage and insurance paid to"
    DAP = "DAP", "DAP delivered at place"
    DPU = "DPU", "DPU delivered at place unloaded"
    DDP = "DDP", "DDP delivered duty paid"
    FAS = "FAS", "FAS free alongside ship"
    FOB = "FOB", "FOB free on board"
    CFR = "CFR", "CFR cost and freight"
    CIF = "CIF", "CIF cost, insurance and freight"


class OrderQuerySet(models.QuerySet["Order"]):
    def in_work(self) -> "OrderQuerySet":
        return self.filter(state__in=[Order.State.ORDERED, Order.State.ON_HOLD])

    def enquiries(self) -> "OrderQuerySet":
        return self.filter(state=Order.State.ENQUIRY)


class Order(models.Model):
    """An enquiry, and then the order it became."""

    class State(models.TextChoices):
        ENQUIRY = "enquiry", "enquiry"
        ORDERED = "ordered", "in work"
        ON_HOLD = "on hold", "on hold"
        SHIPPED = "shipped", "shipped"
        CANCELLED = "cancelled", "cancelled"
        DECLINED = "declined", "declined"

    number = models.CharField(max_length=20, unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    contact = models.ForeignKey(
        Contact, null=True, blank=True, on_delete=models.PROTECT, related_name="orders"
    )
    customer_reference = models.CharField(max_length=60, blank=True)
    project = models.CharField(max_length=120, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.ENQUIRY)
    delivery_term = models.CharField(max_length=3, choices=DeliveryTerm.choices)
    destination = models.CharField(max_length=120)
    lane = models.ForeignKey(Lane, null=True, blank=True, on_delete=models.PROTECT)
    on_site_on = models.DateField(help_text="the date wanted on site")
    ship_by_on = models.DateField(help_text="worked back from the on-site date along the lane")
    promised_on = models.DateField(null=True, blank=True, help_text="on site, as contracted")
    ordered_on = models.DateField(null=True, blank=True)
    priority = models.PositiveSmallIntegerField(
        default=2, validators=[MinValueValidator(1), MaxValueValidator(9)]
    )
    value_eur = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    penalty = models.CharField(max_length=200, blank=True, help_text="as contracted; internal")
    hold_reason = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True, help_text="internal; never leaves the works")
    contract = models.JSONField(
        default=dict, help_text="terms: approvals, parties, notices, grade and edition, paint"
    )
    version = models.PositiveIntegerField(default=1)

    objects = OrderQuerySet.as_manager()

    class Meta:
        ordering = ("ship_by_on", "number")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(ship_by_on__lte=F("on_site_on")),
                name="order_ships_before_it_is_on_site",
            ),
            models.CheckConstraint(
                condition=Q(priority__gte=1, priority__lte=9), name="order_priority_is_one_to_nine"
            ),
            models.CheckConstraint(
                condition=~Q(state="on hold") | ~Q(hold_reason=""),
                name="order_on_hold_says_why",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["ordered", "on hold", "shipped"])
                | Q(ordered_on__isnull=False),
                name="order_in_work_has_its_day",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("orders:order", args=[self.number])

    @property
    def is_in_work(self) -> bool:
        return self.state in {self.State.ORDERED, self.State.ON_HOLD}


class Item(models.Model):
    """One line of an order: pumps of one choice, or spares without a hydraulic choice."""

    class Kind(models.TextChoices):
        PUMP = "pump", "pump"
        SPARES_IMPELLER = "spares impeller", "spare impeller"
        SPARES_SHAFT = "spares shaft", "spare shaft"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="items")
    number = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.PUMP)
    tag = models.CharField(max_length=60, blank=True, help_text="the customer's equipment number")
    description = models.CharField(max_length=200, blank=True)
    quantity = models.PositiveSmallIntegerField(default=1)
    study = models.ForeignKey(
        Study, null=True, blank=True, on_delete=models.PROTECT, related_name="items"
    )
    choice = models.ForeignKey(
        Choice, null=True, blank=True, on_delete=models.PROTECT, related_name="items"
    )
    route = models.OneToOneField(
        Route, null=True, blank=True, on_delete=models.PROTECT, related_name="item"
    )
    inspection_plan = models.OneToOneField(
        InspectionPlan, null=True, blank=True, on_delete=models.PROTECT, related_name="item"
    )
    spare_for = models.JSONField(
        default=dict, help_text="of a spares item: casing, impeller, pattern, metal"
    )
    revision = models.PositiveSmallIntegerField(default=1)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("order", "number")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "number"], name="item_number_once_an_order"),
            models.CheckConstraint(
                condition=Q(quantity__gte=1, quantity__lte=50), name="item_quantity_is_plausible"
            ),
            models.CheckConstraint(
                condition=Q(kind="pump") | Q(choice=None),
                name="item_of_spares_has_no_hydraulic_choice",
            ),
            models.CheckConstraint(
                condition=~Q(kind="pump") | Q(route=None) | Q(choice__isnull=False),
                name="item_of_pumps_in_work_has_its_choice",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order.number}/{self.number}"


class Delivery(models.Model):
    """Part of an order that ships by itself, with its own ship-by."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="deliveries")
    number = models.PositiveSmallIntegerField()
    ship_by_on = models.DateField()
    units = models.ManyToManyField(Unit, related_name="deliveries", blank=True)
    note = models.CharField(max_length=200, blank=True)
    shipped_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("order", "number")
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["order", "number"], name="delivery_number_once_an_order"
            )
        ]

    def __str__(self) -> str:
        return f"{self.order.number} delivery {self.number}"


class Milestone(models.TextChoices):
    """What a customer is told dates of."""

    APPROVAL = "approval", "documents approved"
    CAST = "cast", "castings accepted"
    MACHINED = "machined", "machining complete"
    PRESSURE_TESTED = "pressure tested", "pressure tested"
    PERFORMANCE_TESTED = "performance tested", "performance tested"
    SHIPPED = "shipped", "shipped from the works"
    ON_SITE = "on site", "on site"


class PublishedDate(models.Model):
    """A date told to the customer: moved by a person, with the reason; each move a new row."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="published_dates")
    milestone = models.CharField(max_length=20, choices=Milestone.choices)
    on = models.DateField()
    reason = models.CharField(max_length=200, help_text="as the customer may read it")
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("item", "milestone", "-id")
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(reason=""), name="published_date_says_why")
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.get_milestone_display()} {self.on}"


class Change(models.Model):
    """A change to an order in work: what it touches is shown before anybody accepts it."""

    class State(models.TextChoices):
        PROPOSED = "proposed", "proposed"
        ACCEPTED = "accepted", "accepted"
        REFUSED = "refused", "refused"

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="changes")
    number = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=300)
    state = models.CharField(max_length=10, choices=State.choices, default=State.PROPOSED)
    choice = models.ForeignKey(Choice, null=True, blank=True, on_delete=models.PROTECT)
    wanted = models.JSONField(default=dict)
    effect = models.JSONField(
        default=dict, help_text="operations, castings, bought-outs, inspections, dates touched"
    )
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()
    decided_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="changes_decided"
    )
    decided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("item", "number")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "number"], name="change_number_once_an_item"),
            models.CheckConstraint(
                condition=Q(state="proposed") | Q(decided_by__isnull=False),
                name="change_decision_names_person",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} change {self.number}"


class CustomerLink(models.Model):
    """A private link to one order's page; only a hash of its secret is kept."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="links")
    contact = models.ForeignKey(Contact, null=True, blank=True, on_delete=models.PROTECT)
    secret_sha256 = models.CharField(max_length=64, unique=True)
    may_answer = models.BooleanField(default=False, help_text="concessions may be answered by it")
    expires_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    made_at = models.DateTimeField()
    revoked_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="links_revoked"
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-id",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("made_at")),
                name="customer_link_expires_after_it_is_made",
            ),
            models.CheckConstraint(
                condition=Q(revoked_at=None, revoked_by=None)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
                name="customer_link_revocation_names_person",
            ),
        ]

    def __str__(self) -> str:
        return f"Link for {self.order.number}"


class StatusReport(models.Model):
    """An issued status report: the read model and the PDF as sent; never changed."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="status_reports")
    number = models.PositiveSmallIntegerField()
    contents = models.JSONField(help_text="what the PDF says, as data")
    paper = models.OneToOneField(Revision, on_delete=models.PROTECT)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-id",)
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["order", "number"], name="status_report_number_once_an_order"
            )
        ]

    def __str__(self) -> str:
        return f"{self.order.number} status report {self.number}"
