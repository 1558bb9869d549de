"""What pump: casings, patterns, impellers, tested curves, studies and frozen choices.

SI columns carry their unit in the name; dimensions a standard gives in millimetres stay so.
"""

from typing import ClassVar

from django.contrib.postgres.fields import ArrayField
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Func, Q
from django.db.models.functions import Now
from django.urls import reverse

from selection.configuration import Configuration
from works.models import Person


class Volute(models.TextChoices):
    SINGLE = "single", "single"
    DOUBLE = "double", "double"


class PatternState(models.TextChoices):
    FIT = "fit for use", "fit for use"
    NEEDS_REPAIR = "needs repair", "needs repair"
    WITHDRAWN = "withdrawn", "withdrawn"


class Pattern(models.Model):
    """One pattern with its core boxes in the register."""

    class Part(models.TextChoices):
        CASING = "casing", "casing, both halves"
        IMPELLER = "impeller", "impeller"
        RING = "ring", "ring"
        BEARING_HOUSING = "bearing housing", "bearing housing"

    number = models.CharField(max_length=30, unique=True)
    part = models.CharField(max_length=20, choices=Part.choices)
    description = models.CharField(max_length=200, blank=True)
    revision = models.CharField(max_length=10, default="A")
    core_boxes = models.PositiveSmallIntegerField(default=0)
    store = models.CharField(max_length=60, blank=True)
    state = models.CharField(max_length=20, choices=PatternState.choices, default=PatternState.FIT)
    contraction_percent = models.FloatField(validators=[MinValueValidator(0.0)])
    made_for = models.CharField(
        max_length=30, blank=True, help_text="family of metals whose contraction it has"
    )
    wall_mm = models.FloatField(null=True, blank=True, help_text="governing wall of a casing")
    drilled_for = models.CharField(
        max_length=60, blank=True, help_text="flange it is usually drilled for: 'EN 1092-2 PN 16'"
    )
    blanks_for = ArrayField(
        models.CharField(max_length=60),
        default=list,
        blank=True,
        help_text="further flanges its blank is wide and thick enough for",
    )
    rating_max_pa = models.FloatField(
        null=True, blank=True, help_text="highest rating its nozzles can be thickened to, gauge"
    )
    next_check_on = models.DateField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("number",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(contraction_percent__gte=0, contraction_percent__lt=5),
                name="pattern_contraction_is_plausible",
            )
        ]

    def __str__(self) -> str:
        return f"{self.number} rev {self.revision}"

    def get_absolute_url(self) -> str:
        return reverse("selection:pattern", args=[self.pk])


class PumpSize(models.Model):
    """A casing of the catalogue."""

    name = models.CharField(max_length=40, unique=True)
    pattern = models.OneToOneField(Pattern, on_delete=models.PROTECT, related_name="size")
    suction_dn = models.PositiveSmallIntegerField(help_text="nominal size of the suction flange")
    discharge_dn = models.PositiveSmallIntegerField()
    volute = models.CharField(max_length=10, choices=Volute.choices, default=Volute.DOUBLE)
    allowable_pressure_pa = models.FloatField(
        help_text="highest of the casing in any metal it was made in, gauge"
    )
    ratings = models.JSONField(
        default=dict, help_text="cold rating by family of metals it was made in, gauge [Pa]"
    )
    casing_mass_kg = models.FloatField()
    pump_mass_kg = models.FloatField()
    shaft_diameter_mm = models.FloatField()
    bearing_span_mm = models.FloatField()
    bearing_designation = models.CharField(max_length=30, blank=True)
    bearing_dynamic_rating_n = models.FloatField()
    bearing_exponent = models.FloatField(default=3.0, help_text="3 for balls, 10/3 for rollers")
    sleeve_to_bearing_mm = models.FloatField(help_text="from the box's face to the bearing centre")
    rotor_mass_kg = models.FloatField()
    inertia_kg_m2 = models.FloatField(help_text="of the pump's rotor")
    shaft_proof_pa = models.FloatField(default=350e6, help_text="0.2 % proof stress of the shaft")
    speed_max_rpm = models.FloatField()
    allowable_low = models.FloatField(
        default=0.5, help_text="allowable region begins, as a share of best-efficiency flow"
    )
    allowable_high = models.FloatField(default=1.25)
    box_bore_mm = models.FloatField()
    seal_static_limit_pa = models.FloatField(default=2_500_000.0)
    withdrawn = models.BooleanField(default=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("name",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(allowable_pressure_pa__gt=0)
                & Q(casing_mass_kg__gt=0)
                & Q(pump_mass_kg__gt=0)
                & Q(shaft_diameter_mm__gt=0)
                & Q(bearing_span_mm__gt=0)
                & Q(bearing_dynamic_rating_n__gt=0)
                & Q(sleeve_to_bearing_mm__gt=0)
                & Q(rotor_mass_kg__gt=0)
                & Q(inertia_kg_m2__gt=0)
                & Q(speed_max_rpm__gt=0),
                name="pump_size_figures_are_positive",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("selection:size", args=[self.pk])


class Purpose(models.TextChoices):
    """What an impeller pattern was made for, and what a pump is wanted for."""

    CONTINUOUS = "continuous", "continuous process duty"
    WATER = "water supply", "water supply and irrigation"
    FIRE = "fire", "fire duty"

    @property
    def suits(self) -> frozenset[str]:
        """Duties that a pattern made for this purpose may serve (common practice)."""
        serves = {
            Purpose.CONTINUOUS: {Purpose.CONTINUOUS, Purpose.WATER},
            Purpose.WATER: {Purpose.WATER},
            Purpose.FIRE: {Purpose.FIRE},
        }
        return frozenset(str(purpose) for purpose in serves[self])


class Impeller(models.Model):
    """An impeller pattern that fits a casing."""

    size = models.ForeignKey(PumpSize, on_delete=models.PROTECT, related_name="impellers")
    name = models.CharField(max_length=40)
    pattern = models.OneToOneField(Pattern, on_delete=models.PROTECT, related_name="impeller")
    purpose = models.CharField(max_length=30, choices=Purpose.choices, default=Purpose.WATER)
    vanes = models.PositiveSmallIntegerField()
    outlet_width_mm = models.FloatField()
    outlet_angle_deg = models.FloatField()
    eye_diameter_mm = models.FloatField()
    full_diameter_mm = models.FloatField()
    least_diameter_mm = models.FloatField()
    mass_kg = models.FloatField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("size__name", "name")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["size", "name"], name="impeller_name_once_a_size"),
            models.CheckConstraint(
                condition=Q(least_diameter_mm__gt=0)
                & Q(full_diameter_mm__gte=F("least_diameter_mm")),
                name="impeller_full_diameter_is_not_below_least",
            ),
            models.CheckConstraint(
                condition=Q(vanes__gte=1, vanes__lte=12), name="impeller_has_some_vanes"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.size.name} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("selection:impeller", args=[self.pk])


class Cardinality(Func):
    function = "CARDINALITY"
    output_field = models.IntegerField()


class CurveTest(models.Model):
    """Tested points of one impeller at one diameter and speed."""

    class Origin(models.TextChoices):
        CATALOGUE = "catalogue", "catalogue"
        AS_TESTED = "as tested", "as tested"

    impeller = models.ForeignKey(Impeller, on_delete=models.PROTECT, related_name="tests")
    origin = models.CharField(max_length=12, choices=Origin.choices, default=Origin.CATALOGUE)
    diameter_mm = models.FloatField()
    speed_rpm = models.FloatField()
    tested_on = models.DateField(null=True, blank=True)
    serial_number = models.CharField(max_length=40, blank=True)
    source = models.CharField(max_length=200, blank=True)
    flow_m3s = ArrayField(models.FloatField())
    head_m = ArrayField(models.FloatField())
    efficiency = ArrayField(models.FloatField())
    npshr_m = ArrayField(
        models.FloatField(null=True, blank=True),
        default=list,
        blank=True,
        help_text="empty where not measured",
    )
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ("impeller", "-diameter_mm", "speed_rpm")
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(diameter_mm__gt=0, speed_rpm__gt=0),
                name="curve_test_diameter_and_speed_are_positive",
            ),
            models.CheckConstraint(
                condition=Q(flow_m3s__len__gte=4)
                & Q(head_m__len=Cardinality(F("flow_m3s")))
                & Q(efficiency__len=Cardinality(F("flow_m3s"))),
                name="curve_test_columns_have_one_length",
            ),
            models.CheckConstraint(
                condition=Q(origin="catalogue") | ~Q(serial_number=""),
                name="curve_test_as_tested_names_its_serial_number",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.impeller}, {self.diameter_mm:.0f} mm at {self.speed_rpm:.0f} rev/min"


class Study(models.Model):
    """A duty being worked on at the selection desk: inputs as typed, until a choice is frozen."""

    title = models.CharField(max_length=120)
    inputs = models.JSONField(
        default=dict, blank=True, help_text="the desk's form as typed, with its units"
    )
    pumps = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    origin_label = models.CharField(
        max_length=120, blank=True, help_text="what asked for it, in words, e.g. an order's item"
    )
    origin_path = models.CharField(max_length=200, blank=True, help_text="address of that page")
    copied_from = models.ForeignKey("self", null=True, blank=True, on_delete=models.SET_NULL)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField(db_default=Now())
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("-id",)
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(pumps__gte=1, pumps__lte=12), name="study_has_one_to_twelve_pumps"
            )
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("selection:study", args=[self.pk])


class Choice(models.Model):
    """A selection as frozen: inputs, results and the engine that made it; never changed."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="choices")
    number = models.PositiveSmallIntegerField()
    size = models.ForeignKey(PumpSize, on_delete=models.PROTECT)
    impeller = models.ForeignKey(Impeller, on_delete=models.PROTECT)
    inputs = models.JSONField()
    configuration = models.JSONField(help_text="fields of selection.configuration.Configuration")
    results = models.JSONField(help_text="curves, operating points, findings as they stood")
    warnings = models.JSONField(default=list, help_text="each warning with who accepted it and why")
    engine_version = models.CharField(max_length=40)
    replaces = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-id",)
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["study", "number"], name="choice_number_once_a_study")
        ]

    def __str__(self) -> str:
        return f"{self.study.title}, choice {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("selection:choice", args=[self.pk])

    def as_configuration(self) -> Configuration:
        """The pump's configuration as frozen."""
        return Configuration.from_data(self.configuration)
