"""The pressure test's form: two gauges, the time, leaks by place and kind."""

from typing import Any

from django import forms

from quality.acceptance.hydrostatic import Leak, LeakKind, Place
from quality.actions.pressure_tests import Gauge
from quality.forms.fields import (
    InstrumentField,
    NumberField,
    PastDayField,
    PieceField,
    name_cells,
)
from quality.models import PressureTest
from schedule.models import Operation
from works.quantity_field import QuantityField
from works.units import Kind

LEAKS = 4
"""Leaks that one sheet has room for; more go into the note."""

PLACES = [("", "no leak"), *((place.value, place.value) for place in Place)]


class PressureTestForm(forms.Form):
    tested_on = PastDayField(label="Tested on")
    gauge_1 = InstrumentField(kind="pressure", label="First gauge of the register")
    gauge_1_start = QuantityField(kind=Kind.PRESSURE, minimum=0, label="First gauge at the start")
    gauge_1_end = QuantityField(kind=Kind.PRESSURE, minimum=0, label="First gauge at the end")
    gauge_2 = InstrumentField(kind="pressure", label="Second gauge of the register")
    gauge_2_start = QuantityField(kind=Kind.PRESSURE, minimum=0, label="Second gauge at the start")
    gauge_2_end = QuantityField(kind=Kind.PRESSURE, minimum=0, label="Second gauge at the end")
    held = QuantityField(
        kind=Kind.DURATION, unit="min", above=0, label="Held under test pressure for"
    )
    water_temperature = QuantityField(
        kind=Kind.TEMPERATURE, required=False, label="Water temperature"
    )
    chloride = NumberField(
        required=False,
        minimum=0,
        label="Chloride in the water",
        help_text="in mg/kg; asked for austenitic steel",
    )
    deformed = forms.BooleanField(required=False, label="The casing is permanently deformed")
    piece = PieceField(
        label="Half that leaked",
        help_text="only with a leak through the body: the casting that is tagged and set apart",
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, operation: Operation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        piece = self.fields["piece"]
        assert isinstance(piece, PieceField)
        piece.offer(operation)
        for number in range(1, LEAKS + 1):
            self.fields[f"leak_{number}_place"] = forms.ChoiceField(
                choices=PLACES, required=False, label=f"Leak {number}: place"
            )
            self.fields[f"leak_{number}_kind"] = forms.ChoiceField(
                choices=[(kind.value, kind.value) for kind in LeakKind],
                initial=LeakKind.DROPS.value,
                required=False,
                label=f"Leak {number}: how much",
            )
            self.fields[f"leak_{number}_where"] = forms.CharField(
                max_length=80, required=False, label=f"Leak {number}: where on the casing"
            )
            self.fields[f"leak_{number}_remade"] = forms.BooleanField(
                required=False, label=f"Leak {number}: remade before"
            )

        name_cells(self, [name for name in self.fields if name.startswith("leak_")])

    def leak_rows(self) -> list[dict[str, Any]]:
        """The leaks' fields, row by row, for the template's table."""
        return [
            {
                "number": number,
                "place": self[f"leak_{number}_place"],
                "kind": self[f"leak_{number}_kind"],
                "where": self[f"leak_{number}_where"],
                "remade": self[f"leak_{number}_remade"],
            }
            for number in range(1, LEAKS + 1)
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("gauge_1") and data.get("gauge_1") == data.get("gauge_2"):
            self.add_error(
                "gauge_2",
                "The same gauge stands twice: read a second one, so that one stuck is noticed.",
            )
        for number in range(1, LEAKS + 1):
            place = data.get(f"leak_{number}_place")
            where = data.get(f"leak_{number}_where")
            if place and not where:
                self.add_error(
                    f"leak_{number}_where", "Say where it is, so that it can be found again."
                )
            if where and not place:
                self.add_error(f"leak_{number}_place", "Choose what leaked: the body or what else.")
        return data

    def gauges(self) -> list[Gauge]:
        """What the gauges showed, once the form is valid."""
        data = self.cleaned_data
        return [
            Gauge(
                instrument_id=data[f"gauge_{n}"].pk,
                start_pa=data[f"gauge_{n}_start"],
                end_pa=data[f"gauge_{n}_end"],
            )
            for n in (1, 2)
        ]

    def leaks(self) -> list[Leak]:
        """Leaks as seen, once the form is valid."""
        data = self.cleaned_data
        return [
            Leak(
                place=Place(data[f"leak_{n}_place"]),
                where=data[f"leak_{n}_where"],
                kind=LeakKind(data[f"leak_{n}_kind"] or LeakKind.DROPS.value),
                remade=data[f"leak_{n}_remade"],
            )
            for n in range(1, LEAKS + 1)
            if data[f"leak_{n}_place"]
        ]


def initial_of(test: PressureTest) -> dict[str, Any]:
    """What a correction's form begins with: the record as it stands."""
    record = test.inputs["record"]
    by_tag = {instrument.tag: instrument for instrument in test.instruments.all()}
    found: dict[str, Any] = {
        "tested_on": test.tested_on,
        "held": record["held_s"],
        "water_temperature": record["water_temperature_k"],
        "chloride": record["chloride_mg_kg"],
        "deformed": record["deformed"],
        "note": test.inputs.get("note", ""),
    }
    for n, reading in enumerate(record["gauges"][:2], 1):
        found[f"gauge_{n}"] = by_tag.get(reading["gauge"]["tag"])
        found[f"gauge_{n}_start"] = reading["start_pa"]
        found[f"gauge_{n}_end"] = reading["end_pa"]
    for n, leak in enumerate(record["leaks"][:LEAKS], 1):
        found |= {f"leak_{n}_{name}": leak[name] for name in ("place", "kind", "where", "remade")}
    return found
