"""Forms of the registers: instruments and material certificates."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from quality.forms.fields import DayField, NumberField, PastDayField
from works.units import QuantityRefused, parse_number

INSTRUMENT_KINDS = (
    "pressure",
    "flow",
    "speed",
    "torque",
    "power",
    "temperature",
    "barometer",
    "length",
    "run-out",
    "thickness",
    "hardness",
    "unbalance",
    "vibration",
    "sound",
    "chemistry",
    "force",
)


class CalibrationForm(forms.Form):
    calibrated_on = PastDayField(label="Calibrated on")
    due_on = DayField(label="Due again on", help_text="the last day on which it may be used")
    certificate = forms.CharField(max_length=60, required=False, label="Certificate")
    uncertainty_percent = NumberField(
        minimum=0, label="Uncertainty", help_text="systematic, of reading, 95 % [%]"
    )


class AgainForm(CalibrationForm):
    within_limits = forms.BooleanField(
        required=False,
        initial=True,
        label="Found within its limits, before any adjustment",
        help_text="If not, every record since the last good calibration is in doubt.",
    )


class InstrumentForm(CalibrationForm):
    tag = forms.CharField(max_length=30, label="Tag")
    kind = forms.ChoiceField(choices=[(kind, kind) for kind in INSTRUMENT_KINDS], label="Measures")
    unit = forms.CharField(
        max_length=20, label="Unit", help_text="of range and resolution; bar for pressure gauges"
    )
    range_low = NumberField(required=False, label="Range from")
    range_high = NumberField(required=False, label="Range to")
    resolution = NumberField(required=False, minimum=0, label="Smallest step shown")

    field_order = (
        "tag",
        "kind",
        "unit",
        "range_low",
        "range_high",
        "resolution",
        "calibrated_on",
        "due_on",
        "certificate",
        "uncertainty_percent",
    )


class WithdrawForm(forms.Form):
    why = forms.CharField(max_length=200, label="Why it is taken out of use")


class ElementsField(forms.CharField):
    """Figures by name, one a line: `C 3.35`."""

    widget = forms.Textarea(attrs={"rows": 4})

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        found: dict[str, float] = {}
        for number, line in enumerate(text.splitlines(), 1):
            if not line.strip():
                continue
            name, _, figure = line.strip().rpartition(" ")
            try:
                found[name.strip()] = float(parse_number(figure))
            except QuantityRefused as refusal:
                raise ValidationError(f"Line {number}: {refusal}") from refusal
            if not name.strip():
                raise ValidationError(f"Line {number}: name the figure, such as C {figure}.")
        return found


class CertificateForm(forms.Form):
    heat = forms.CharField(max_length=40, label="Heat number")
    metal = forms.CharField(max_length=30, label="Metal")
    type = forms.ChoiceField(
        choices=[("2.1", "2.1"), ("2.2", "2.2"), ("3.1", "3.1"), ("3.2", "3.2")],
        initial="3.1",
        label="Inspection document",
        help_text="EN 10204",
    )
    received_on = PastDayField(label="Received on")
    chemistry = ElementsField(
        required=False, label="Chemistry", help_text="per cent, one a line: C 3.35"
    )
    mechanicals = ElementsField(
        required=False, label="Mechanical figures", help_text="one a line: tensile MPa 262"
    )
