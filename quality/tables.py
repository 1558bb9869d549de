"""A kept record's figures as text, row by row: the same on the page and on the sheet."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from quality.evidence import HYDROSTATIC, SEAL
from quality.queries.records import RecordView
from works import formats

QUANTITY_SHOWN: dict[str, Callable[[float | None], str]] = {
    "flow": formats.flow,
    "head": formats.head,
    "efficiency": lambda value: formats.percent(value, 1),
    "power": formats.power,
}


def judged_rows(quantities: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    """Quantity, guaranteed, measured, deviation, limits, result."""
    rows: list[tuple[str, ...]] = []
    for quantity in quantities:
        show = QUANTITY_SHOWN[quantity["quantity"]]
        decides = "" if quantity["decides"] else " (not needed: the other bar is met)"
        rows.append(
            (
                quantity["quantity"].capitalize(),
                show(quantity["guaranteed"]),
                show(quantity["measured"]),
                formats.percent(quantity["deviation"], 2),
                limits_in_words(quantity),
                f"{quantity['outcome']}{decides}",
            )
        )
    return rows


def limits_in_words(quantity: Mapping[str, Any]) -> str:
    """Both limits of a quantity, as a table says them."""
    low = "" if quantity["minus"] is None else f"{formats.MINUS}{100 * quantity['minus']:g}"
    high = "" if quantity["plus"] is None else f"+{100 * quantity['plus']:g}"
    return f"{' / '.join(part for part in (low, high) if part)} %" if low or high else "none"


CORRECTED_HEADINGS = (
    "Reading",
    "Flow [m³/h]",
    "Head [m]",
    "Power [kW]",
    "Efficiency [%]",
    "Speed over rated",
)


def corrected_rows(points: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    """The points at rated speed under `CORRECTED_HEADINGS`."""
    return [
        (
            str(point["number"]),
            _figure(point["flow_m3s"], 3600.0, 1),
            _figure(point["head_m"], 1.0, 2),
            _figure(point["power_w"], 1e-3, 1),
            _figure(point["efficiency"], 100.0, 1),
            _figure(point["speed_ratio"], 1.0, 4),
        )
        for point in points
    ]


READ_COLUMNS: tuple[tuple[str, str, float, int], ...] = (
    ("flow_m3s", "Flow [m³/h]", 3600.0, 1),
    ("speed_rpm", "Speed [rev/min]", 1.0, 0),
    ("head_m", "Head [m]", 1.0, 2),
    ("suction_pa", "Suction [bar]", 1e-5, 3),
    ("discharge_pa", "Discharge [bar]", 1e-5, 3),
    ("shaft_power_w", "Shaft power [kW]", 1e-3, 1),
    ("torque_nm", "Torque [N m]", 1.0, 1),
    ("electric_power_w", "Electric power [kW]", 1e-3, 1),
)
"""Field of a reading, heading with its unit, factor from SI, decimals."""


def read_table(readings: Sequence[Mapping[str, Any]]) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the readings, without columns that nobody read."""
    used = [
        column
        for column in READ_COLUMNS
        if any(reading.get(column[0]) is not None for reading in readings)
    ]
    rows = [
        [
            str(reading["number"]),
            *(_figure(reading.get(field), factor, digits) for field, _, factor, digits in used),
        ]
        for reading in readings
    ]
    return ["Reading", *(heading for _, heading, _, _ in used)], rows


def _figure(value: float | None, factor: float, digits: int) -> str:
    """A figure under a heading that says its unit."""
    return formats.number(None if value is None else value * factor, digits)


def instruments_as_used(view: RecordView) -> list[Mapping[str, Any]]:
    """The instruments with the calibration that the record was judged by."""
    if view.kind == HYDROSTATIC:
        return [reading["gauge"] for reading in view.inputs["record"]["gauges"]]
    if view.kind == SEAL:
        return [view.inputs["record"]["gauge"]]
    return list(view.inputs["instruments"])
