"""Forms of the catalogue: patterns, casings, impellers, curves typed or pasted as rows."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.db.models import Q

from selection.materials.metals import Family
from selection.models import Impeller, Pattern, PatternState, PumpSize, Purpose, Volute
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

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("part") == Pattern.Part.CASING and not said.get("drilled_for"):
            self.add_error("drilled_for", "A casing's pattern needs it: such as EN 1092-2 PN 16.")
        return said

    def fields_of_model(self) -> dict[str, Any]:
        said = dict(self.cleaned_data)
        said["rating_max_pa"] = said.pop("rating_max")
        said["blanks_for"] = [
            part.strip() for part in said["blanks_for"].split(",") if part.strip()
        ]
        return said


class SizeForm(forms.Form):
    """A casing; `of` is the one being changed."""

    name = forms.CharField(max_length=40)
    pattern = forms.ModelChoiceField(Pattern.objects.none())
    suction_dn = forms.IntegerField(min_value=25, max_value=1200, label="Suction flange DN")
    discharge_dn = forms.IntegerField(min_value=25, max_value=1200, label="Discharge flange DN")
    volute = forms.ChoiceField(choices=Volute.choices, initial=Volute.DOUBLE)
    casing_mass_kg = forms.FloatField(min_value=0.1, label="Casing mass, both halves [kg]")
    pump_mass_kg = forms.FloatField(min_value=0.1, label="Pump mass [kg]")
    rotor_mass_kg = forms.FloatField(min_value=0.1, label="Rotor mass [kg]")
    inertia_kg_m2 = forms.FloatField(min_value=0.0001, label="Rotor inertia [kg m²]")
    shaft_diameter_mm = forms.FloatField(min_value=5, label="Shaft diameter [mm]")
    bearing_span_mm = forms.FloatField(min_value=50, label="Bearing span [mm]")
    sleeve_to_bearing_mm = forms.FloatField(min_value=1, label="Box face to bearing [mm]")
    bearing_designation = forms.CharField(max_length=30, required=False, label="Bearing")
    bearing_dynamic_rating_n = forms.FloatField(min_value=1, label="Bearing dynamic rating [N]")
    box_bore_mm = forms.FloatField(min_value=5, label="Box bore [mm]")
    speed_max_rpm = forms.FloatField(
        min_value=100, max_value=10_000, label="Highest speed [rev/min]"
    )
    seal_static_limit = QuantityField(
        kind=Kind.PRESSURE, above=0.0, label="Static limit of the seal"
    )
    withdrawn = forms.BooleanField(required=False, label="Withdrawn: not offered any more")

    def __init__(self, *args: Any, of: PumpSize | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["pattern"]
        assert isinstance(field, forms.ModelChoiceField)
        free = Q(size=None) if of is None else Q(size=None) | Q(size=of)
        field.queryset = Pattern.objects.filter(free, part=Pattern.Part.CASING)
        for family in Family:
            self.fields[rating_name(family)] = QuantityField(
                kind=Kind.PRESSURE, required=False, above=0.0, label=f"Rated in {family}, cold"
            )
        if of is None:
            del self.fields["withdrawn"]
        else:
            self.initial = size_initial(of)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not any(said.get(rating_name(family)) for family in Family) and not any(
            rating_name(family) in self.errors for family in Family
        ):
            self.add_error(
                rating_name(Family.GREY_IRON),
                "Give the cold rating in at least one metal that the casing was made in.",
            )
        return said

    def fields_of_model(self) -> dict[str, Any]:
        said = dict(self.cleaned_data)
        said["ratings"] = {
            str(family): rating
            for family in Family
            if (rating := said.pop(rating_name(family))) is not None
        }
        said["allowable_pressure_pa"] = max(said["ratings"].values())
        said["seal_static_limit_pa"] = said.pop("seal_static_limit")
        return said


def rating_name(family: Family) -> str:
    return f"rating_{family.name.lower()}"


def size_initial(size: PumpSize) -> dict[str, Any]:
    """What the form shows of a casing that is there."""
    shown = {name: getattr(size, name) for name in SizeForm.base_fields if hasattr(size, name)}
    ratings = {rating_name(Family(name)): rating for name, rating in size.ratings.items()}
    return shown | ratings | {"seal_static_limit": size.seal_static_limit_pa}


class ImpellerForm(forms.Form):
    """An impeller; `of` is the one being changed."""

    size = forms.ModelChoiceField(PumpSize.objects.filter(withdrawn=False), label="Casing")
    name = forms.CharField(max_length=40)
    pattern = forms.ModelChoiceField(Pattern.objects.none())
    purpose = forms.ChoiceField(choices=Purpose.choices)
    vanes = forms.IntegerField(min_value=1, max_value=12)
    outlet_width_mm = forms.FloatField(min_value=1, label="Outlet width [mm]")
    outlet_angle_deg = forms.FloatField(min_value=5, max_value=90, label="Outlet vane angle [°]")
    eye_diameter_mm = forms.FloatField(min_value=5, label="Eye diameter [mm]")
    full_diameter_mm = forms.FloatField(min_value=20, max_value=3000, label="Full diameter [mm]")
    least_diameter_mm = forms.FloatField(min_value=20, max_value=3000, label="Least diameter [mm]")
    mass_kg = forms.FloatField(min_value=0.1, label="Mass [kg]")

    def __init__(self, *args: Any, of: Impeller | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["pattern"]
        assert isinstance(field, forms.ModelChoiceField)
        free = Q(impeller=None) if of is None else Q(impeller=None) | Q(impeller=of)
        field.queryset = Pattern.objects.filter(free, part=Pattern.Part.IMPELLER)
        if of is not None:
            self.initial = {name: getattr(of, name) for name in self.fields}

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
    tested_on = forms.DateField(
        required=False, widget=forms.DateInput(attrs={"type": "date"}), label="Tested on"
    )
    source = forms.CharField(max_length=200, required=False)
    flow_unit = forms.ChoiceField(
        choices=[(unit.key, unit.label) for unit in units.units(Kind.FLOW)], label="Flow in"
    )
    head_unit = forms.ChoiceField(
        choices=[(unit.key, unit.label) for unit in units.units(Kind.HEAD)],
        label="Head and NPSH in",
    )
    points = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 10, "class": "mono"}),
        help_text=(
            "a row a flow: flow; head; efficiency [%]; NPSH required or empty. Columns parted by "
            "tabs, semicolons or spaces; flows rising, four rows or more; one row of names on top "
            "does no harm"
        ),
    )
    rows: Rows

    def clean_points(self) -> str:
        text: str = self.cleaned_data["points"]
        rows = Rows([], [], [], [])
        if not {"flow_unit", "head_unit"} <= set(self.cleaned_data):
            return text  # without its units no row can be read; those fields say so themselves
        lines = [line for line in text.splitlines() if line.strip()]
        if lines and not any(letter.isdigit() for letter in lines[0]):
            lines = lines[1:]  # names of the columns
        for number, line in enumerate(lines, start=1):
            self._row(number, line, rows)
        self.rows = rows
        return text

    def _row(self, number: int, line: str, rows: Rows) -> None:
        separator = ";" if ";" in line else "\t" if "\t" in line else None
        cells = [cell.strip() for cell in line.split(separator)]
        if len(cells) not in (3, 4):
            raise forms.ValidationError(
                f"Row {number} has {len(cells)} {'column' if len(cells) == 1 else 'columns'}; it "
                "needs flow, head, efficiency and, where known, NPSH required, parted by tabs, "
                "semicolons or spaces."
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
        flow_unit, head_unit = self.cleaned_data["flow_unit"], self.cleaned_data["head_unit"]
        measured = npshr[0] if npshr else None
        rows.flow_m3s.append(units.to_si(flow, Kind.FLOW, flow_unit))
        rows.head_m.append(units.to_si(head, Kind.HEAD, head_unit))
        rows.efficiency.append(efficiency / 100.0)
        rows.npshr_m.append(
            None if measured is None else units.to_si(measured, Kind.HEAD, head_unit)
        )


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
