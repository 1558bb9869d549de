"""The seal leakage test's form."""

from typing import Any

from django import forms

from quality.forms.fields import InstrumentField, NumberField, PastDayField
from quality.models import SealTest
from works.quantity_field import QuantityField
from works.units import Kind

SIDES = {"drive_end": "drive end", "free_end": "free end"}


class SealTestForm(forms.Form):
    tested_on = PastDayField(label="Tested on")
    gauge = InstrumentField(kind="pressure", label="Gauge")
    start = QuantityField(kind=Kind.PRESSURE, minimum=0, label="Pressure at the start")
    end = QuantityField(kind=Kind.PRESSURE, minimum=0, label="Pressure at the end")
    held = QuantityField(kind=Kind.DURATION, unit="min", above=0, label="Held for")
    drive_end = NumberField(
        minimum=0, label="Drops a minute, drive end", help_text="0 when it is dry"
    )
    free_end = NumberField(
        minimum=0, label="Drops a minute, free end", help_text="0 when it is dry"
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea(attrs={"rows": 2}))

    def drops(self) -> dict[str, float]:
        """Drops at each seal, once the form is valid."""
        return {side: self.cleaned_data[field] for field, side in SIDES.items()}


def initial_of(test: SealTest) -> dict[str, Any]:
    """What a correction's form begins with."""
    record = test.inputs["record"]
    return {
        "tested_on": test.tested_on,
        "gauge": test.instruments.first(),
        "start": record["start_pa"],
        "end": record["end_pa"],
        "held": record["held_s"],
        "note": test.inputs.get("note", ""),
        **{
            field: f"{record['drops_per_min'][side]:g}"
            for field, side in SIDES.items()
            if side in record["drops_per_min"]
        },
    }
