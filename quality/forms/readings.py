"""The table of readings: typed row by row or pasted, kept as typed, read with comma or point."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from quality.acceptance.errors import AcceptanceError
from quality.acceptance.pasted import read_pasted
from quality.acceptance.readings import Reading
from works import units
from works.units import Kind, QuantityRefused

ROWS = 18
"""Readings that one sheet has room for."""


@dataclass(frozen=True, kw_only=True)
class ColumnOfReadings:
    """One column: its name in the form, its heading, and the kind of its figures."""

    name: str
    heading: str
    kind: Kind


COLUMNS = (
    ColumnOfReadings(name="flow", heading="Flow", kind=Kind.FLOW),
    ColumnOfReadings(name="speed", heading="Speed", kind=Kind.SPEED),
    ColumnOfReadings(name="head", heading="Total head", kind=Kind.HEAD),
    ColumnOfReadings(name="suction", heading="Suction gauge", kind=Kind.PRESSURE),
    ColumnOfReadings(name="discharge", heading="Discharge gauge", kind=Kind.PRESSURE),
    ColumnOfReadings(name="power", heading="Power or torque", kind=Kind.POWER),
)
NAMES = tuple(column.name for column in COLUMNS)

HEAD_SHOWN, FROM_GAUGES = "head", "gauges"
SHAFT, TORQUE, ELECTRIC, NO_POWER = "shaft", "torque", "electric", "none"
POWER_FIELD = {SHAFT: "shaft_power_w", TORQUE: "torque_nm", ELECTRIC: "electric_power_w"}


def cell_name(row: int, column: str) -> str:
    return f"r{row}_{column}"


def add_cells(form: forms.Form) -> None:
    """Give a form the table's cells."""
    for row in range(1, ROWS + 1):
        for column in COLUMNS:
            form.fields[cell_name(row, column.name)] = forms.CharField(
                required=False,
                max_length=20,
                label=f"{column.heading}, reading {row}",
                widget=forms.TextInput(
                    attrs={
                        "inputmode": "decimal",
                        "autocomplete": "off",
                        "aria-label": f"{column.heading}, reading {row}",
                    }
                ),
            )


def wanted_columns(head_by: str, power_by: str) -> tuple[str, ...]:
    """Columns that every reading must fill, by how head and power are measured."""
    head = ("head",) if head_by == HEAD_SHOWN else ("suction", "discharge")
    power = () if power_by == NO_POWER else ("power",)
    return ("flow", "speed", *head, *power)


class PastedTableRefused(ValueError):
    """A pasted table that cannot be read; the sentence says which line and what would be right."""


def read_paste(
    text: str, *, head_by: str, power_by: str, unit_keys: Mapping[str, str]
) -> list[Reading]:
    """Readings from a pasted table, whose decimal mark is found from the table as a whole.

    unit_keys : key of the unit of each column
    raises : PastedTableRefused
    """
    wanted = wanted_columns(head_by, power_by)
    try:
        table = read_pasted(text)
    except AcceptanceError as error:
        raise PastedTableRefused(error.sentence) from error
    if len(table.rows) > ROWS:
        raise PastedTableRefused(
            f"{len(table.rows)} readings were pasted, and a sheet has room for {ROWS}: paste a "
            "part of them."
        )
    readings = []
    for number, (row, line) in enumerate(zip(table.rows, table.lines, strict=True), 1):
        if len(row) != len(wanted) or None in row:
            raise PastedTableRefused(
                f"Line {line} has {sum(value is not None for value in row)} figures; "
                f"{len(wanted)} are wanted: {', '.join(wanted)}. Part them by tabs or semicolons."
            )
        values = {
            name: _to_si(name, float(value or 0.0), power_by, unit_keys)
            for name, value in zip(wanted, row, strict=True)
        }
        readings.append(_reading(number, values, power_by))
    return readings


@dataclass(frozen=True, kw_only=True)
class CellTrouble:
    """One cell that cannot be read."""

    field: str
    sentence: str


def read_cells(
    typed: Mapping[str, str], *, head_by: str, power_by: str, unit_keys: Mapping[str, str]
) -> tuple[list[Reading], list[CellTrouble]]:
    """Readings from the cells, and every cell that cannot be read.

    typed : text by the cell's name
    unit_keys : key of the unit of each column
    """
    wanted = wanted_columns(head_by, power_by)
    readings, troubles = [], []
    for row in range(1, ROWS + 1):
        texts = {name: typed.get(cell_name(row, name), "").strip() for name in wanted}
        if not any(texts.values()):
            continue
        values: dict[str, float] = {}
        for name, text in texts.items():
            try:
                values[name] = _value(name, text, row, power_by, unit_keys)
            except QuantityRefused as refusal:
                troubles.append(CellTrouble(field=cell_name(row, name), sentence=str(refusal)))
        if len(values) == len(wanted):
            readings.append(_reading(row, values, power_by))
    return readings, troubles


def _value(name: str, text: str, row: int, power_by: str, unit_keys: Mapping[str, str]) -> float:
    column = next(column for column in COLUMNS if column.name == name)
    if not text:
        raise QuantityRefused(f"Reading {row} has no {column.heading.lower()}: give it.")
    try:
        if name == "power" and power_by == TORQUE:
            return float(units.parse_number(text))
        return units.parse(text, column.kind, unit_keys[name])
    except QuantityRefused as refusal:
        raise QuantityRefused(f"Reading {row}, {column.heading.lower()}: {refusal}") from refusal


def _to_si(name: str, value: float, power_by: str, unit_keys: Mapping[str, str]) -> float:
    if name == "power" and power_by == TORQUE:
        return value
    column = next(column for column in COLUMNS if column.name == name)
    return units.to_si(value, column.kind, unit_keys[name])


def _reading(row: int, values: Mapping[str, float], power_by: str) -> Reading:
    more: dict[str, Any] = {
        field: values[name]
        for name, field in (
            ("head", "head_m"),
            ("suction", "suction_pa"),
            ("discharge", "discharge_pa"),
        )
        if name in values
    }
    if power_by != NO_POWER:
        more[POWER_FIELD[power_by]] = values["power"]
    return Reading(number=row, flow_m3s=values["flow"], speed_rpm=values["speed"], **more)
