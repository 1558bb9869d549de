"""The desk's form: a duty and its system, in the customer's own units.

Kept as typed in `Study.inputs`, so that a study opens again exactly as it was left.
"""

from typing import Any, cast

from django import forms
from django.utils.datastructures import MultiValueDict

from selection.hydraulics.pipes import PIPE_MATERIALS
from selection.materials.service import Liquid as LiquidKind
from selection.models import Purpose
from works.quantity_field import QuantityField
from works.units import Kind

CELSIUS_0 = 273.15
RUNS = (1, 2, 3)
MAIN_FITTINGS = (
    "entrance, bellmouth",
    "elbow 90°, standard",
    "elbow 90°, long radius",
    "gate valve",
    "butterfly valve",
    "check valve, swing",
    "tee, straight through",
    "tee, into the branch",
    "exit",
)
NOMINAL_BORES = (50, 65, 80, 100, 125, 150, 200, 250, 300, 350, 400, 450, 500, 600, 700, 800, 900)


class SystemBy:
    """How the piping is told."""

    POINTS = "points"
    PIPES = "pipes"
    CHOICES = ((POINTS, "two known points"), (PIPES, "pipe runs and fittings"))


class Carries:
    """Which flow goes through a pipe run."""

    ALL = "all"
    ONE = "one"
    CHOICES = ((ALL, "the flow of all running"), (ONE, "one pump's flow"))


class DutyForm(forms.Form):
    """Everything the hydraulics need of one duty."""

    flow = QuantityField(kind=Kind.FLOW, above=0.0, label="Flow, each pump")
    head = QuantityField(kind=Kind.HEAD, above=0.0, label="Head at duty")
    pumps = forms.IntegerField(min_value=1, max_value=12, initial=1, label="Pumps running")
    standby = forms.IntegerField(min_value=0, max_value=12, initial=0, label="Standing by")
    purpose = forms.ChoiceField(choices=Purpose.choices, initial=Purpose.WATER)
    frequency = forms.TypedChoiceField(
        choices=((50, "50 Hz"), (60, "60 Hz")), coerce=int, initial=50, label="Mains"
    )
    poles = forms.TypedMultipleChoiceField(
        choices=((2, "2"), (4, "4"), (6, "6"), (8, "8")),
        coerce=int,
        initial=[4, 6],
        widget=forms.CheckboxSelectMultiple,
        label="Motor poles to try",
    )

    liquid = forms.ChoiceField(
        choices=[(kind.value, kind.value) for kind in LiquidKind], initial=LiquidKind.CLEAN_FRESH
    )
    temperature = QuantityField(
        kind=Kind.TEMPERATURE, minimum=CELSIUS_0, maximum=CELSIUS_0 + 180.0, label="Temperature"
    )
    chloride_ppm = forms.FloatField(min_value=0, required=False, label="Chloride [mg/kg]")
    ph = forms.FloatField(min_value=0, max_value=14, required=False, label="pH")
    sand_ppm = forms.FloatField(min_value=0, required=False, label="Sand and silt [mg/kg]")
    free_chlorine_ppm = forms.FloatField(min_value=0, required=False, label="Free chlorine [mg/kg]")
    saturation_index = forms.FloatField(
        min_value=-10, max_value=10, required=False, label="Langelier saturation index"
    )
    hydrogen_sulphide = forms.BooleanField(required=False, label="Hydrogen sulphide present")
    ammonia = forms.BooleanField(required=False, label="Ammonia present")
    stagnant = forms.BooleanField(required=False, label="Stands full for days between runs")
    drinking_water = forms.BooleanField(required=False, label="Drinking water")
    zinc_free = forms.BooleanField(required=False, label="Contract wants zinc-free bronze")

    suction_level = QuantityField(
        kind=Kind.HEAD,
        label="Suction level",
        help_text="above the pump's centre; negative for a lift",
    )
    suction_level_low = QuantityField(kind=Kind.HEAD, required=False, label="Lowest suction level")
    suction_loss = QuantityField(kind=Kind.HEAD, minimum=0.0, label="Suction losses at duty")
    suction_pressure_high = QuantityField(
        kind=Kind.PRESSURE,
        required=False,
        label="Highest suction pressure, gauge",
        help_text="left out, from the level",
    )
    altitude = QuantityField(
        kind=Kind.LENGTH, minimum=-400.0, maximum=6000.0, label="Altitude of the site"
    )

    static_head = QuantityField(kind=Kind.HEAD, label="Static head")
    static_low = QuantityField(kind=Kind.HEAD, required=False, label="Least static head")
    static_high = QuantityField(kind=Kind.HEAD, required=False, label="Greatest static head")
    system_by = forms.ChoiceField(
        choices=SystemBy.CHOICES,
        widget=forms.RadioSelect,
        initial=SystemBy.POINTS,
        label="Losses told by",
    )
    first_flow = QuantityField(
        kind=Kind.FLOW,
        minimum=0.0,
        required=False,
        label="First point, total flow",
        help_text="left out, the static head at no flow",
    )
    first_head = QuantityField(kind=Kind.HEAD, required=False, label="First point, head")
    second_flow = QuantityField(
        kind=Kind.FLOW, above=0.0, required=False, label="Second point, total flow"
    )
    second_head = QuantityField(kind=Kind.HEAD, required=False, label="Second point, head")
    ageing = forms.FloatField(
        min_value=0.5,
        max_value=5,
        initial=1,
        label="Ageing factor",
        help_text="on the losses: 1 for new pipes",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for run in RUNS:
            self.fields[f"length_{run}"] = QuantityField(
                kind=Kind.LENGTH, minimum=0.0, required=False, label="Length"
            )
            self.fields[f"bore_{run}"] = forms.TypedChoiceField(
                choices=[("", "—"), *((dn, f"DN {dn}") for dn in NOMINAL_BORES)],
                coerce=int,
                empty_value=None,
                required=False,
                label="Nominal bore",
            )
            self.fields[f"pipe_{run}"] = forms.ChoiceField(
                choices=[(name, name) for name in PIPE_MATERIALS],
                required=False,
                label="Pipe",
            )
            self.fields[f"carries_{run}"] = forms.ChoiceField(
                choices=Carries.CHOICES,
                initial=Carries.ALL,
                required=False,
                label="Carries",
            )
            for number, name in enumerate(MAIN_FITTINGS):
                self.fields[f"fitting_{run}_{number}"] = forms.IntegerField(
                    min_value=0, max_value=500, required=False, label=name
                )

    @property
    def inputs(self) -> dict[str, list[str]]:
        """What a study keeps: the form's own entries as typed, each quantity's unit beside it."""
        quantities = [name for name, each in self.fields.items() if isinstance(each, QuantityField)]
        names = {*self.fields, *(f"{name}_unit" for name in quantities)}
        data = cast("MultiValueDict[str, str]", self.data)
        return {name: data.getlist(name) for name in data if name in names}

    def name_of(self, field: str) -> str:
        """A field's name outside its own block: a pipe run's says which run."""
        if field not in self.fields:
            return ""
        label = str(self.fields[field].label or field.replace("_", " ").capitalize())
        run = field.split("_")[1] if "_" in field else ""
        if run.isdigit():
            return f"Pipe run {run}, {label[:1].lower()}{label[1:]}"
        return label

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("system_by") == SystemBy.POINTS:
            self._check_points(cleaned)
        elif cleaned.get("system_by") == SystemBy.PIPES:
            self._check_pipes(cleaned)
        low, mean, high = (
            cleaned.get(name) for name in ("static_low", "static_head", "static_high")
        )
        if mean is not None:
            if low is not None and low > mean:
                self.add_error("static_low", "The least static head cannot exceed the static head.")
            if high is not None and high < mean:
                self.add_error(
                    "static_high", "The greatest static head cannot be less than the static head."
                )
        return cleaned

    def _check_points(self, cleaned: dict[str, Any]) -> None:
        """One point beside the static head is enough; both may be given instead."""
        if cleaned.get("second_flow") is None or cleaned.get("second_head") is None:
            missing = "second_flow" if cleaned.get("second_flow") is None else "second_head"
            if missing not in self.errors:
                self.add_error(
                    missing,
                    forms.ValidationError(
                        "Give the flow and the head of at least this point.", code="required"
                    ),
                )
        first = (cleaned.get("first_flow"), cleaned.get("first_head"))
        if (first[0] is None) != (first[1] is None):
            name = "first_flow" if first[0] is None else "first_head"
            self.add_error(name, "A point needs both its flow and its head.")
        second = (cleaned.get("second_flow"), cleaned.get("second_head"))
        static = cleaned.get("static_head")
        if static is None or None in second:
            return
        if second[1] < static:
            self.add_error(
                "second_head",
                f"Pipes lose head as the flow grows: give more than the static head, {static:g} m.",
            )
        elif None not in first:
            self._check_first_point(first, second, static)

    def _check_first_point(self, first: Any, second: Any, static: float) -> None:
        """Two points give a static head themselves; it must be the one that is typed."""
        if first[0] >= second[0]:
            self.add_error("first_flow", "The first point must have less flow than the second.")
            return
        share = (first[0] / second[0]) ** 2
        implied = (first[1] - share * second[1]) / (1.0 - share)
        if abs(implied - static) > max(0.5, 0.02 * abs(static)):
            self.add_error(
                "first_head",
                f"With the second point this gives a static head of {implied:.1f} m, not the "
                f"{static:g} m above. Correct one of them, or leave this point out.",
            )

    def _check_pipes(self, cleaned: dict[str, Any]) -> None:
        if cleaned.get("length_1") is None and "length_1" not in self.errors:
            self.add_error(
                "length_1",
                forms.ValidationError(
                    "Give at least one pipe run: its length and bore.", code="required"
                ),
            )
        for run in RUNS:
            if cleaned.get(f"length_{run}") is not None and cleaned.get(f"bore_{run}") is None:
                self.add_error(
                    f"bore_{run}",
                    forms.ValidationError("A pipe run needs its nominal bore.", code="required"),
                )
