"""The form of measured values against their limits."""

from typing import Any

from django import forms

from quality.forms.fields import (
    InstrumentsField,
    NumberField,
    PastDayField,
    PieceField,
    name_cells,
)
from quality.judging.measurement import Value
from quality.models import Measurement
from schedule.models import Operation

ROWS = 8
PARTS = ("what", "unit", "lowest", "highest", "measured", "instrument")


class MeasurementForm(forms.Form):
    tested_on = PastDayField(label="Measured on")
    instruments = InstrumentsField(label="Instruments used")
    piece = PieceField(label="Piece measured")
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, operation: Operation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        piece = self.fields["piece"]
        assert isinstance(piece, PieceField)
        piece.offer(operation)
        for row in range(1, ROWS + 1):
            self.fields[f"v{row}_what"] = forms.CharField(
                required=False, max_length=80, label=f"Value {row}: characteristic"
            )
            self.fields[f"v{row}_unit"] = forms.CharField(
                required=False, max_length=12, initial="mm", label=f"Value {row}: unit"
            )
            for part, name in (
                ("lowest", "lowest limit"),
                ("highest", "highest limit"),
                ("measured", "measured"),
            ):
                self.fields[f"v{row}_{part}"] = NumberField(
                    required=False, label=f"Value {row}: {name}"
                )
            self.fields[f"v{row}_instrument"] = forms.CharField(
                required=False, max_length=30, label=f"Value {row}: instrument's tag"
            )

        name_cells(self, [f"v{row}_{part}" for row in range(1, ROWS + 1) for part in PARTS])

    def value_rows(self) -> list[dict[str, Any]]:
        """The values' fields, row by row."""
        return [
            {"number": row, "cells": [self[f"v{row}_{part}"] for part in PARTS]}
            for row in range(1, ROWS + 1)
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        rows = [row for row in range(1, ROWS + 1) if data.get(f"v{row}_what")]
        if not rows and not self.errors:
            self.add_error("v1_what", "Give at least one value.")
        tags = [instrument.tag for instrument in data.get("instruments") or ()]
        for row in rows:
            if data.get(f"v{row}_measured") is None and f"v{row}_measured" not in self.errors:
                self.add_error(f"v{row}_measured", "Give what was measured.")
            if data.get(f"v{row}_lowest") is None and data.get(f"v{row}_highest") is None:
                self.add_error(f"v{row}_highest", "Give at least one limit.")
            said = data.get(f"v{row}_instrument") or (tags[0] if len(tags) == 1 else "")
            data[f"v{row}_instrument"] = said
            if tags and said not in tags:
                self.add_error(
                    f"v{row}_instrument",
                    f"Give the tag of one of the instruments used: {', '.join(tags)}.",
                )
        return data

    def values(self) -> list[Value]:
        """The values, once the form is valid."""
        data = self.cleaned_data
        return [
            Value(**{part: data[f"v{row}_{part}"] for part in PARTS})
            for row in range(1, ROWS + 1)
            if data[f"v{row}_what"]
        ]


def initial_of(record: Measurement) -> dict[str, Any]:
    """What a correction's form begins with."""
    found: dict[str, Any] = {
        "tested_on": record.tested_on,
        "instruments": list(record.instruments.all()),
        "piece": record.piece,
        "note": record.inputs.get("note", ""),
    }
    for row, value in enumerate(record.inputs["values"][:ROWS], 1):
        for part in PARTS:
            said = value[part]
            found[f"v{row}_{part}"] = f"{said:g}" if isinstance(said, float | int) else said
    return found
