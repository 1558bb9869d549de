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


def corrected_rows(points: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    """Reading, flow, head, power, efficiency, speed over rated."""
    return [
        (
            str(point["number"]),
            formats.flow(point["flow_m3s"], 1),
            formats.head(point["head_m"], 2),
            formats.power(point["power_w"], 1),
            formats.percent(point["efficiency"], 1),
            formats.number(point["speed_ratio"], 4),
        )
        for point in points
    ]


READ_COLUMNS: tuple[tuple[str, str, Callable[[float], str]], ...] = (
    ("flow_m3s", "Flow", lambda value: formats.flow(value, 1)),
    ("speed_rpm", "Speed", lambda value: formats.speed(value, 0)),
    ("head_m", "Head", lambda value: formats.head(value, 2)),
    ("suction_pa", "Suction", lambda value: formats.pressure(value, 3)),
    ("discharge_pa", "Discharge", lambda value: formats.pressure(value, 3)),
    ("shaft_power_w", "Shaft power", lambda value: formats.power(value, 1)),
    ("torque_nm", "Torque", lambda value: f"{formats.number(value, 1)} N m"),
    ("electric_power_w", "Electric power", lambda value: formats.power(value, 1)),
)


def read_table(readings: Sequence[Mapping[str, Any]]) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the readings, without columns that nobody read."""
    used = [
        (field, heading, show)
        for field, heading, show in READ_COLUMNS
        if any(reading.get(field) is not None for reading in readings)
    ]
    rows = [
        [
            str(reading["number"]),
            *(
                formats.NOTHING if reading.get(field) is None else show(reading[field])
                for field, _, show in used
            ),
        ]
        for reading in readings
    ]
    return ["Reading", *(heading for _, heading, _ in used)], rows


def instruments_as_used(view: RecordView) -> list[Mapping[str, Any]]:
    """The instruments with the calibration that the record was judged by."""
    if view.kind == HYDROSTATIC:
        return [reading["gauge"] for reading in view.inputs["record"]["gauges"]]
    if view.kind == SEAL:
        return [view.inputs["record"]["gauge"]]
    return list(view.inputs["instruments"])
