"""The desk's chart as a drawing: pump curves, system, operating points, NPSH, power, efficiency."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from selection.hydraulics.candidates import Candidate
from selection.hydraulics.chart_data import ChartData
from selection.hydraulics.door import Floats
from selection.hydraulics.duty import Duty
from selection.models import CurveTest
from works.drawing import Axis, Band, Curve, Level, Panel, Spot, XYChart

HOUR = 3600.0


@dataclass(frozen=True)
class TableRow:
    """One flow of the table under the chart."""

    flow_m3s: float
    head_m: float | None
    efficiency: float | None
    power_w: float | None
    npshr_m: float | None
    npsha_m: float | None


def drawing(candidate: Candidate, chart: ChartData, duty: Duty) -> XYChart:
    """Panels over flow: head with the system, then one pump's efficiency, power and NPSH."""
    return XYChart(
        title=f"{candidate.impeller.casing}, {candidate.diameter_mm:.0f} mm, "
        f"{candidate.speed_rpm:.0f} rev/min",
        description=(
            f"Head of 1 to {duty.pumps} pumps running together against the system, with their "
            "meetings; below, efficiency, power and NPSH of one pump at its own flow."
        ),
        x=Axis("Flow", "m³/h"),
        panels=(
            _head(chart, duty),
            _efficiency(chart, candidate),
            _power(chart, candidate),
            _npsh(chart),
        ),
        width=860,
        height=780,
    )


def _head(chart: ChartData, duty: Duty) -> Panel:
    curves = [
        _curve(f"{line.running} running", line.flow_m3s, line.head_m, 0, heavy=line.running == 1)
        for line in chart.pumps
    ]
    curves += [
        _curve(f"{trim.diameter_mm:.0f} mm", trim.flow_m3s, trim.head_m, 3)
        for trim in (chart.trims[0], chart.trims[-1])
    ]
    curves.append(_curve("system", chart.system_flow_m3s, chart.system_head_m, 1))
    bands: tuple[Band, ...] = ()
    if duty.system.has_band:
        bands = (
            Band(
                "levels",
                _figures(chart.system_flow_m3s * HOUR),
                _figures(chart.system_low_m),
                _figures(chart.system_high_m),
                1,
            ),
        )
    spots = [
        Spot(f"{line.running} running", point.flow_m3s * HOUR, point.head_m, named=False)
        for line in chart.pumps
        for point in line.meeting.points
    ]
    spots.append(Spot("duty", chart.duty_flow_m3s * HOUR, chart.duty_head_m, 2))
    spots += [
        Spot("last pump alone", point.flow_m3s * HOUR, point.head_m, 4, hollow=True)
        for point in chart.run_out.points
    ]
    return Panel(Axis("Head", "m"), tuple(curves), bands, tuple(spots), share=2.2)


def _efficiency(chart: ChartData, candidate: Candidate) -> Panel:
    best = Spot(
        "best", candidate.bep_flow_m3s * HOUR, candidate.bep_efficiency * 100.0, 0, hollow=True
    )
    return Panel(
        Axis("Efficiency", "%"),
        (_curve("one pump", chart.flow_m3s, chart.efficiency * 100.0, 0),),
        spots=(best,) if math.isfinite(best.y) else (),
    )


def _power(chart: ChartData, candidate: Candidate) -> Panel:
    levels = (
        (Level(f"motor {candidate.motor_w / 1000:g} kW", candidate.motor_w / 1000.0, limit=True),)
        if math.isfinite(candidate.motor_w)
        else ()
    )
    return Panel(
        Axis("Shaft power", "kW"),
        (_curve("one pump", chart.flow_m3s, chart.power_w / 1000.0, 0),),
        levels=levels,
    )


def _npsh(chart: ChartData) -> Panel:
    return Panel(
        Axis("NPSH", "m"),
        (
            _curve("required", chart.flow_m3s, chart.npshr_m, 0),
            _curve("available", chart.flow_m3s, chart.npsha_m, 1),
        ),
    )


def _curve(
    label: str, flow_m3s: Floats, values: Floats, series: int, *, heavy: bool = False
) -> Curve:
    """A curve without the stretches where nothing is known."""
    known = [
        (float(flow) * HOUR, float(value))
        for flow, value in zip(flow_m3s, values, strict=True)
        if math.isfinite(value)
    ]
    return Curve(label, tuple(x for x, _ in known), tuple(y for _, y in known), series, heavy=heavy)


def _figures(values: Iterable[float]) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def table(chart: ChartData, rows: int = 11) -> tuple[TableRow, ...]:
    """The same numbers as a table, at evenly spread flows."""
    count = len(chart.flow_m3s)
    step = max(1, (count - 1) // (rows - 1))
    return tuple(
        TableRow(
            flow_m3s=float(chart.flow_m3s[at]),
            head_m=_known(chart.head_m[at]),
            efficiency=_known(chart.efficiency[at]),
            power_w=_known(chart.power_w[at]),
            npshr_m=_known(chart.npshr_m[at]),
            npsha_m=_known(chart.npsha_m[at]),
        )
        for at in range(0, count, step)
    )


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def tests_drawing(tests: Iterable[CurveTest]) -> XYChart:
    """Tested points of one impeller: head and efficiency over flow, a curve a test."""
    shown = list(tests)
    heads, efficiencies, spots = [], [], []
    for number, test in enumerate(shown):
        label = f"{test.diameter_mm:.0f} mm, {test.speed_rpm:.0f} rev/min"
        flows = tuple(flow * HOUR for flow in test.flow_m3s)
        heads.append(Curve(label, flows, tuple(test.head_m), number % 5))
        efficiencies.append(
            Curve(label, flows, tuple(share * 100.0 for share in test.efficiency), number % 5)
        )
        spots += [
            Spot(label, flow, head, number % 5, named=False)
            for flow, head in zip(flows, test.head_m, strict=True)
        ]
    return XYChart(
        title="Tested curves",
        description="Head and efficiency over flow as tested, one curve a diameter and speed.",
        x=Axis("Flow", "m³/h"),
        panels=(
            Panel(Axis("Head", "m"), tuple(heads), spots=tuple(spots), share=1.6),
            Panel(Axis("Efficiency", "%"), tuple(efficiencies)),
        ),
        width=820,
        height=520,
    )


def kept_drawing(results: Mapping[str, Any], title: str) -> XYChart:
    """A frozen choice's chart from the numbers it keeps."""
    sketch, curve = results["sketch"], results["curve"]
    flows = curve["flow_m3s"]
    motor = results["candidate"]["motor_w"] / 1000.0
    return XYChart(
        title=title,
        description="One pump's head with the system, efficiency, power and NPSH, as frozen.",
        x=Axis("Flow", "m³/h"),
        panels=(
            Panel(
                Axis("Head", "m"),
                (
                    _kept("pump", flows, curve["head_m"], 0, heavy=True),
                    _kept("system", sketch["system_flow_m3s"], sketch["system_head_m"], 1),
                ),
                spots=(Spot("duty", sketch["duty_flow_m3s"] * HOUR, sketch["duty_head_m"], 2),),
                share=1.8,
            ),
            Panel(Axis("Efficiency", "%"), (_kept("pump", flows, curve["efficiency"], 0, 100.0),)),
            Panel(
                Axis("Shaft power", "kW"),
                (_kept("pump", flows, curve["power_w"], 0, 0.001),),
                levels=(Level(f"motor {motor:g} kW", motor, limit=True),),
            ),
            Panel(
                Axis("NPSH", "m"),
                (
                    _kept("required", flows, curve["npshr_m"], 0),
                    _kept("available", flows, curve["npsha_m"], 1),
                ),
            ),
        ),
        width=820,
        height=720,
    )


def _kept(
    label: str,
    flow_m3s: Sequence[float],
    values: Sequence[float | None],
    series: int,
    factor: float = 1.0,
    *,
    heavy: bool = False,
) -> Curve:
    known = [
        (flow * HOUR, value * factor)
        for flow, value in zip(flow_m3s, values, strict=True)
        if value is not None
    ]
    return Curve(label, tuple(x for x, _ in known), tuple(y for _, y in known), series, heavy=heavy)
