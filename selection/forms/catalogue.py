"""Forms of the catalogue: patterns, casings, impellers, curves typed or pasted as rows."""

from dataclasses import dataclass
from typing import Any

from django import forms

from selection.materials.metals import Family
from selection.models import Pattern, PatternState, PumpSize, Purpose, Volute
from works import units
from works.quantity_field import QuantityField
from works.units import Kind

FAMILIES = [(family.value, family.value) for family in Family]


class PatternForm(forms.Form):
    number = forms.CharField(max_length=30)
    part = forms.ChoiceField(choices=Pattern.Part.choices)
    description = forms.CharField(max_length=200, required=False)
    revision = forms.CharField(max_length=10, initial="A")
    core_boxes = forms.IntegerField(min_value=0, max_value=60)
    store = forms.CharField(max_length=60, required=False, help_text="where it stands")
    state = forms.ChoiceField(choices=PatternState.choices, initial=PatternState.FIT)
    contraction_percent = forms.FloatField(
        min_value=0, max_value=4.99, label="Contraction built in [%]"
    )
    made_for = forms.ChoiceField(choices=[("", "—"), *FAMILIES], required=False, label="Made for")
    wall_mm = forms.FloatField(min_value=3, max_value=500, required=False, label="Wall [mm]")
    drilled_for = forms.CharField(
        max_length=60,
        required=False,
        label="Usually drilled for",
        help_text="of a casing: standard and rating, such as EN 1092-2 PN 16",
    )
    blanks_for = forms.CharField(
        max_length=300,
        required=False,
        label="Blank also carries",
        help_text="further flanges, separated by commas",
    )
    rating_max = QuantityField(
        kind=Kind.PRESSURE, required=False, above=0.0, label="Nozzles can be thickened to"
    )
    next_check_on = forms.DateField(
        required=False, widget=forms.DateInput(attrs={"type": "date"}), label="Next check"
    )

    def fields_of_model(self) -> dict[str, Any]:
        said = dict(self.cleaned_data)
        said["rating_max_pa"] = said.pop("rating_max")
        said["blanks_for"] = [
            part.strip() for part in said["blanks_for"].split(",") if part.strip()
        ]
        return said


class SizeForm(forms.Form):
    name = forms.CharField(max_length=40)
    pattern = forms.ModelChoiceField(Pattern.objects.filter(part=Pattern.Part.CASING, size=None))
    suction_dn = forms.IntegerField(min_value=25, max_value=1200, label="Suction flange DN")
    discharge_dn = forms.IntegerField(min_value=25, max_value=1200, label="Discharge flange DN")
    volute = forms.ChoiceField(choices=Volute.choices)
    family = forms.ChoiceField(choices=FAMILIES, label="Rated in")
    rating = QuantityField(kind=Kind.PRESSURE, above=0.0, label="Cold rating in that metal")
    casing_mass_kg = forms.FloatField(min_value=0.1, label="Casing mass, both halves [kg]")
    pump_mass_kg = forms.FloatField(min_value=0.1, label="Pump mass [kg]")
    rotor_mass_kg = forms.FloatField(min_value=0.1, label="Rotor mass [kg]")
    inertia_kg_m2 = forms.FloatField(min_value=0.0001, label="Rotor inertia [kg m²]")
    shaft_diameter_mm = forms.FloatField(min_value=5, label="Shaft diameter [mm]")
    bearing_span_mm = forms.FloatField(min_value=50, label="Bearing span [mm]")
    sleeve_to_bearing_mm = forms.FloatField(min_value=1, label="Box face to bearing [mm]")
    bearing_designation = forms.CharField(max_length=30, required=False)
    bearing_dynamic_rating_n = forms.FloatField(min_value=1, label="Bearing dynamic rating [N]")
    box_bore_mm = forms.FloatField(min_value=5, label="Box bore [mm]")
    speed_max_rpm = forms.FloatField(min_value=100, max_value=10_000, label="Highest speed")
    seal_static_limit = QuantityField(
        kind=Kind.PRESSURE, above=0.0, label="Static limit of the mechanical seal"
    )

    def fields_of_model(self) -> dict[str, Any]:
        said = dict(self.cleaned_data)
        rating = said.pop("rating")
        said["ratings"] = {said.pop("family"): rating}
        said["allowable_pressure_pa"] = rating
        said["seal_static_limit_pa"] = said.pop("seal_static_limit")
        return said


class ImpellerForm(forms.Form):
    size = forms.ModelChoiceField(PumpSize.objects.filter(withdrawn=False), label="Casing")
    name = forms.CharField(max_length=40)
    pattern = forms.ModelChoiceField(
        Pattern.objects.filter(part=Pattern.Part.IMPELLER, impeller=None)
    )
    purpose = forms.ChoiceField(choices=Purpose.choices)
    vanes = forms.IntegerField(min_value=1, max_value=12)
    outlet_width_mm = forms.FloatField(min_value=1, label="Outlet width [mm]")
    outlet_angle_deg = forms.FloatField(min_value=5, max_value=90, label="Outlet vane angle [°]")
    eye_diameter_mm = forms.FloatField(min_value=5, label="Eye diameter [mm]")
    full_diameter_mm = forms.FloatField(min_value=20, max_value=3000, label="Full diameter [mm]")
    least_diameter_mm = forms.FloatField(min_value=20, max_value=3000, label="Least diameter [mm]")
    mass_kg = forms.FloatField(min_value=0.1, label="Mass [kg]")

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        least, full = said.get("least_diameter_mm"), said.get("full_diameter_mm")
        if least is not None and full is not None and least > full:
            self.add_error(
                "least_diameter_mm", f"It must not be more than the full diameter, {full:g} mm."
            )
        return said


@dataclass(frozen=True)
class Rows:
    """A curve's columns in SI."""

    flow_m3s: list[float]
    head_m: list[float]
    efficiency: list[float]
    npshr_m: list[float | None]


class CurveForm(forms.Form):
    """Tested points: a row a flow, its columns separated by tabs, semicolons or spaces."""

    diameter_mm = forms.FloatField(min_value=20, max_value=3000, label="Diameter [mm]")
    speed_rpm = forms.FloatField(min_value=50, max_value=10_000, label="Speed [rev/min]")
    tested_on = forms.DateField(required=False, widget=forms.DateInput(attrs={"type": "date"}))
    source = forms.CharField(max_length=200, required=False)
    points = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 10, "class": "mono"}),
        help_text=(
            "a row a flow: flow [m³/h]; head [m]; efficiency [%]; NPSH required [m] or empty; "
            "flows rising, four rows or more"
        ),
    )
    rows: Rows

    def clean_points(self) -> str:
        text: str = self.cleaned_data["points"]
        rows = Rows([], [], [], [])
        for number, line in enumerate(filter(str.strip, text.splitlines()), start=1):
            self._row(number, line, rows)
        self.rows = rows
        return text

    def _row(self, number: int, line: str, rows: Rows) -> None:
        separator = ";" if ";" in line else "\t" if "\t" in line else None
        cells = [cell.strip() for cell in line.split(separator)]
        if len(cells) not in (3, 4):
            raise forms.ValidationError(
                f"Row {number} has {len(cells)} columns; it needs flow, head, efficiency and, "
                "where known, NPSH required."
            )
        try:
            figures = [float(units.parse_number(cell)) if cell else None for cell in cells]
        except units.QuantityRefused as refusal:
            raise forms.ValidationError(f"Row {number}: {refusal}") from refusal
        flow, head, efficiency, *npshr = figures
        if flow is None or head is None or efficiency is None:
            raise forms.ValidationError(f"Row {number}: flow, head and efficiency are all needed.")
        if not 0.0 <= efficiency <= 100.0:
            raise forms.ValidationError(
                f"Row {number}: efficiency is {efficiency:g} %; it lies from 0 to 100. Are the "
                "columns swapped?"
            )
        rows.flow_m3s.append(flow / 3600.0)
        rows.head_m.append(head)
        rows.efficiency.append(efficiency / 100.0)
        rows.npshr_m.append(npshr[0] if npshr else None)


def initial_of(pattern: Pattern) -> dict[str, Any]:
    """What the form shows of a pattern that is there."""
    shown = {
        name: getattr(pattern, name)
        for name in PatternForm.base_fields
        if name not in {"blanks_for", "rating_max"}
    }
    return shown | {
        "blanks_for": ", ".join(pattern.blanks_for),
        "rating_max": pattern.rating_max_pa,
    }
