"""The curve of a performance test with its tolerance cross, for the page and the sheet alike."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from quality.acceptance.curves import Pieces, curve_through
from works.drawing import Axis, Curve, Panel, Spot, XYChart

M3H = 3600.0
SAMPLES = 81

Figures = tuple[float, ...]


def performance_chart(
    *, title: str, guarantee: Mapping[str, Any], result: Mapping[str, Any]
) -> XYChart:
    """Measured points at rated speed, the curves judged by, and the cross at the guarantee.

    guarantee, result : as the record keeps them, SI
    """
    points = result["points"]
    pieces = Pieces(result["pieces"])
    panels = [_head_panel(points, guarantee, result, pieces)]
    measured = [point for point in points if point["power_w"] is not None]
    if len({point["flow_m3s"] for point in measured}) >= 2:
        panels.append(_efficiency_panel(measured, guarantee, pieces))
        panels.append(_power_panel(measured, guarantee, pieces))
    return XYChart(
        title=title,
        description=(
            "Measured points brought to rated speed with the curve they are judged by, and the "
            "tolerance cross at the guarantee point. The table beside it has the same figures."
        ),
        x=Axis(name="Flow", unit="m³/h"),
        panels=tuple(panels),
        height=250.0 + 115.0 * (len(panels) - 1),
    )


def _head_panel(
    points: Sequence[Mapping[str, Any]],
    guarantee: Mapping[str, Any],
    result: Mapping[str, Any],
    pieces: Pieces,
) -> Panel:
    flow, head = guarantee["flow_m3s"], guarantee["head_m"]
    across, upright = result["flow_limits"], result["head_limits"]
    low_q, high_q = flow * (1 - (across["minus"] or 0)), flow * (1 + (across["plus"] or 0))
    low_h, high_h = head * (1 - (upright["minus"] or 0)), head * (1 + (upright["plus"] or 0))
    cross = (
        Curve("tolerance on flow", (low_q * M3H, high_q * M3H), (head, head), series=1),
        Curve("tolerance on head", (flow * M3H, flow * M3H), (low_h, high_h), series=1),
    )
    return Panel(
        axis=Axis(name="Head", unit="m"),
        curves=(_smooth("head", points, "head_m", 1.0, pieces), *cross),
        spots=(
            *_spots(points, "head_m", 1.0),
            Spot("guarantee", flow * M3H, head, series=1, hollow=True, named=False),
        ),
        share=2.0,
    )


def _efficiency_panel(
    points: Sequence[Mapping[str, Any]], guarantee: Mapping[str, Any], pieces: Pieces
) -> Panel:
    spots = _spots(points, "efficiency", 100.0)
    if guarantee.get("efficiency"):
        spots += (
            Spot(
                "guarantee",
                guarantee["flow_m3s"] * M3H,
                100 * guarantee["efficiency"],
                series=1,
                hollow=True,
            ),
        )
    return Panel(
        axis=Axis(name="Efficiency", unit="%"),
        curves=(_smooth("efficiency", points, "efficiency", 100.0, pieces),),
        spots=spots,
    )


def _power_panel(
    points: Sequence[Mapping[str, Any]], guarantee: Mapping[str, Any], pieces: Pieces
) -> Panel:
    spots = _spots(points, "power_w", 1e-3)
    if guarantee.get("power_w"):
        spots += (
            Spot(
                "guarantee",
                guarantee["flow_m3s"] * M3H,
                1e-3 * guarantee["power_w"],
                series=1,
                hollow=True,
            ),
        )
    return Panel(
        axis=Axis(name="Shaft power", unit="kW"),
        curves=(_smooth("power", points, "power_w", 1e-3, pieces),),
        spots=spots,
    )


def _smooth(
    name: str, points: Sequence[Mapping[str, Any]], field: str, factor: float, pieces: Pieces
) -> Curve:
    """The curve judged by, sampled within the measured range."""
    flow = np.array([point["flow_m3s"] for point in points], dtype=float)
    value = np.array([point[field] for point in points], dtype=float)
    curve = curve_through(name, flow, value, pieces)
    along = np.linspace(curve.lowest, curve.highest, SAMPLES)
    return Curve(
        name,
        _figures(along * M3H),
        _figures(factor * np.array([curve.at(float(q)) for q in along])),
        heavy=True,
    )


def _spots(points: Sequence[Mapping[str, Any]], field: str, factor: float) -> tuple[Spot, ...]:
    return tuple(
        Spot(
            f"reading {point['number']}",
            point["flow_m3s"] * M3H,
            point[field] * factor,
            named=False,
        )
        for point in points
    )


def _figures(values: Any) -> Figures:
    return tuple(float(value) for value in values)
