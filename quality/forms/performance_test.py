"""The performance test's form: guarantee, set-up of the bed, readings."""

from typing import Any

from django import forms

from quality.acceptance.grades import Guarantee
from quality.acceptance.readings import MotorCurve, Reading, SetUp, Tapping
from quality.forms import readings as table
from quality.forms.fields import InstrumentsField, NumberField, PastDayField
from quality.judging.performance import bed_water
from quality.models import PerformanceTest
from selection.configuration import Configuration
from works import units
from works.quantity_field import QuantityField
from works.units import Kind

TWENTY_DEGREES_K = 293.15


def unit_choices(kind: Kind) -> list[tuple[str, str]]:
    return [(unit.key, unit.label) for unit in units.units(kind)]


class PerformanceTestForm(forms.Form):
    tested_on = PastDayField(label="Tested on")
    instruments = InstrumentsField(label="Instruments read")
    # What is guaranteed, as the choice was sold; the contract may say otherwise.
    flow = QuantityField(kind=Kind.FLOW, above=0, label="Guaranteed flow")
    head = QuantityField(kind=Kind.HEAD, above=0, label="Guaranteed head")
    speed = QuantityField(kind=Kind.SPEED, above=0, label="Rated speed")
    efficiency = NumberField(
        required=False,
        above=0,
        label="Guaranteed efficiency",
        help_text="in %; empty when it is not guaranteed",
    )
    power = QuantityField(
        kind=Kind.POWER,
        above=0,
        required=False,
        label="Guaranteed shaft power",
        help_text="empty when it is not guaranteed",
    )
    density = QuantityField(kind=Kind.DENSITY, above=0, label="Density of the liquid contracted")
    # The bed.
    water_temperature = QuantityField(kind=Kind.TEMPERATURE, label="Water temperature on the bed")
    head_by = forms.ChoiceField(
        choices=[
            (table.FROM_GAUGES, "from the two gauges"),
            (table.HEAD_SHOWN, "shown as total head"),
        ],
        initial=table.FROM_GAUGES,
        widget=forms.RadioSelect,
        label="Head is measured",
    )
    suction_bore = QuantityField(
        kind=Kind.DIAMETER, above=0, required=False, label="Bore at the suction tapping"
    )
    suction_height = QuantityField(
        kind=Kind.LENGTH, required=False, label="Suction gauge above the shaft's centre line"
    )
    discharge_bore = QuantityField(
        kind=Kind.DIAMETER, above=0, required=False, label="Bore at the discharge tapping"
    )
    discharge_height = QuantityField(
        kind=Kind.LENGTH, required=False, label="Discharge gauge above the shaft's centre line"
    )
    power_by = forms.ChoiceField(
        choices=[
            (table.SHAFT, "shaft power"),
            (table.TORQUE, "torque, in N m"),
            (table.ELECTRIC, "electric power into the motor"),
            (table.NO_POWER, "not measured"),
        ],
        initial=table.SHAFT,
        widget=forms.RadioSelect,
        label="Power is measured as",
    )
    motor_efficiency = NumberField(
        required=False,
        above=0,
        label="Motor efficiency",
        help_text="in %; only with electric power",
    )
    flow_unit = forms.ChoiceField(choices=unit_choices(Kind.FLOW), label="Flow in")
    head_unit = forms.ChoiceField(choices=unit_choices(Kind.HEAD), label="Head in")
    pressure_unit = forms.ChoiceField(choices=unit_choices(Kind.PRESSURE), label="Gauges in")
    power_unit = forms.ChoiceField(choices=unit_choices(Kind.POWER), label="Power in")
    pasted = forms.CharField(
        required=False,
        label="Or paste the readings",
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"}),
        help_text="a line a reading: flow, speed, head (or suction and discharge), power; columns "
        "parted by tabs or semicolons",
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        table.add_cells(self)
        self._readings: list[Reading] = []

    def reading_rows(self) -> list[dict[str, Any]]:
        """The table's cells, row by row."""
        return [
            {
                "number": row,
                "cells": [self[table.cell_name(row, name)] for name in table.NAMES],
            }
            for row in range(1, table.ROWS + 1)
        ]

    def columns(self) -> tuple[table.ColumnOfReadings, ...]:
        return table.COLUMNS

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "head_by" not in data or "power_by" not in data:
            return data
        self._check_set_up(data)
        cells = {name: data.get(name) or "" for name in self._cell_names()}
        measured: dict[str, Any] = {
            "head_by": data["head_by"],
            "power_by": data["power_by"],
            "unit_keys": {
                "flow": data.get("flow_unit", ""),
                "speed": "rpm",
                "head": data.get("head_unit", ""),
                "suction": data.get("pressure_unit", ""),
                "discharge": data.get("pressure_unit", ""),
                "power": data.get("power_unit", ""),
            },
        }
        if any(f"{name}_unit" in self.errors for name in ("flow", "head", "pressure", "power")):
            return data
        if data.get("pasted"):
            self._read_paste(data["pasted"], cells, measured)
        else:
            self._read_cells(cells, measured)
        return data

    def _read_cells(self, cells: dict[str, str], measured: dict[str, Any]) -> None:
        self._readings, troubles = table.read_cells(cells, **measured)
        for trouble in troubles:
            self.add_error(trouble.field, trouble.sentence)
        if not self._readings and not troubles and not self.errors:
            self.add_error(None, "No reading was given: fill the table, or paste the readings.")

    def _read_paste(self, text: str, cells: dict[str, str], measured: dict[str, Any]) -> None:
        if any(cells.values()):
            self.add_error(
                "pasted", "Readings stand in the table and are pasted as well: empty one of them."
            )
            return
        try:
            self._readings = table.read_paste(text, **measured)
        except table.PastedTableRefused as refusal:
            self.add_error("pasted", str(refusal))

    def _check_set_up(self, data: dict[str, Any]) -> None:
        if data["head_by"] == table.FROM_GAUGES:
            for name in ("suction_bore", "suction_height", "discharge_bore", "discharge_height"):
                if data.get(name) is None and name not in self.errors:
                    self.add_error(name, "Heads from gauges need it: give it.")
        if data["power_by"] == table.ELECTRIC and not data.get("motor_efficiency"):
            self.add_error("motor_efficiency", "Electric power needs the motor's efficiency.")
        for name in ("efficiency", "motor_efficiency"):
            if (data.get(name) or 0) >= 100:
                self.add_error(name, "It is a percentage below 100.")

    def _cell_names(self) -> list[str]:
        return [
            table.cell_name(row, name) for row in range(1, table.ROWS + 1) for name in table.NAMES
        ]

    # Once the form is valid:

    def readings(self) -> list[Reading]:
        return self._readings

    def guarantee(self) -> Guarantee:
        data = self.cleaned_data
        return Guarantee(
            flow_m3s=data["flow"],
            head_m=data["head"],
            speed_rpm=data["speed"],
            density_kg_m3=data["density"],
            efficiency=data["efficiency"] / 100 if data["efficiency"] else None,
            power_w=data["power"],
        )

    def set_up(self) -> SetUp:
        """The bed as rigged.

        raises : AcceptanceError
        """
        data = self.cleaned_data
        gauges = data["head_by"] == table.FROM_GAUGES
        return SetUp(
            density_kg_m3=bed_water().density(data["water_temperature"]),
            suction=_tapping(data, "suction") if gauges else None,
            discharge=_tapping(data, "discharge") if gauges else None,
            motor=(
                MotorCurve(inputs_w=(1.0,), efficiencies=(data["motor_efficiency"] / 100,))
                if data["power_by"] == table.ELECTRIC
                else None
            ),
        )

    def typed_in(self) -> dict[str, str]:
        """Key of the unit each quantity was typed in, by field of a reading."""
        data = self.cleaned_data
        return {
            "flow_m3s": data["flow_unit"],
            "head_m": data["head_unit"],
            "suction_pa": data["pressure_unit"],
            "discharge_pa": data["pressure_unit"],
            "shaft_power_w": data["power_unit"],
            "electric_power_w": data["power_unit"],
        }

    def typed(self) -> dict[str, Any]:
        """The sheet as it was typed, so that a correction begins with the same words."""
        names = [
            "head_by",
            "power_by",
            "motor_efficiency",
            "flow_unit",
            "head_unit",
            "pressure_unit",
            "power_unit",
            "pasted",
            *self._cell_names(),
        ]
        found = {name: self.data.get(self.add_prefix(name), "") for name in names}
        found["water_temperature"] = self.cleaned_data["water_temperature"]
        return {name: value for name, value in found.items() if value != ""}


def _tapping(data: dict[str, Any], side: str) -> Tapping:
    return Tapping(height_m=data[f"{side}_height"], bore_m=data[f"{side}_bore"] / 1000)


def initial_for(configuration: Configuration) -> dict[str, Any]:
    """What a new sheet begins with: the choice's guarantee point and water at 20 °C."""
    return {
        "flow": configuration.duty_flow_m3s,
        "head": configuration.duty_head_m,
        "speed": configuration.speed_rpm,
        "efficiency": f"{100 * configuration.efficiency:.4g}",
        "density": bed_water().density(TWENTY_DEGREES_K),
        "water_temperature": TWENTY_DEGREES_K,
        "head_by": table.FROM_GAUGES,
        "power_by": table.SHAFT,
    }


def initial_of(test: PerformanceTest) -> dict[str, Any]:
    """What a correction's sheet begins with: the record as it was typed."""
    inputs = test.inputs
    guarantee, bed = inputs["guarantee"], inputs["set_up"]
    found: dict[str, Any] = {
        "tested_on": test.tested_on,
        "instruments": list(test.instruments.all()),
        "flow": guarantee["flow_m3s"],
        "head": guarantee["head_m"],
        "speed": guarantee["speed_rpm"],
        "power": guarantee["power_w"],
        "density": guarantee["density_kg_m3"],
        "water_temperature": TWENTY_DEGREES_K,
        "note": inputs.get("note", ""),
        **inputs.get("typed", {}),
    }
    if guarantee["efficiency"]:
        found["efficiency"] = f"{100 * guarantee['efficiency']:.4g}"
    for side in ("suction", "discharge"):
        if bed[side]:
            found[f"{side}_height"] = bed[side]["height_m"]
            found[f"{side}_bore"] = 1000 * bed[side]["bore_m"]
    return found
