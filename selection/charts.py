"""The desk's chart as a drawing: pumps and system, then what each pump does at that flow.

All panels share the total flow. Under the heads stand efficiency, power and NPSH of each pump,
for one running alone and for all, so that a plumb line at any meeting reads what a pump does there.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from selection.hydraulics.candidates import Candidate
from selection.hydraulics.chart_data import ChartData
from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.duty import Duty
from selection.models import CurveTest
from selection.queries.catalogue import points_of
from works import formats
from works.drawing import Axis, Band, Curve, Level, Panel, Spot, XYChart
from works.drawing.inks import Marker

HOUR = 3600.0
WIDTH, HEIGHT = 860.0, 760.0
PUMP, SYSTEM, DUTY, TRIM, ALONE = range(5)  # series: an ink, a dash and a marker each

Figures = tuple[float, ...]


@dataclass(frozen=True)
class Trim:
    """Head of one pump at another diameter."""

    label: str
    flow_m3s: Figures
    head_m: Figures


@dataclass(frozen=True)
class Lines:
    """Everything the chart shows, of a candidate just computed or of a frozen choice.

    pumps : running at the duty; most : the standby among them
    flow_m3s … npsha_m : (n,) of one pump, NaN where not known
    system_flow_m3s … system_high_m : (s,) total flow; low and high empty without a range
    points : total flow and head where 1, 2 … running meet the system, None where they don't
    alone : flow and head of the last pump alone where the system asks least; None where the same
        as one running
    """

    pumps: int
    most: int
    flow_m3s: Figures
    head_m: Figures
    efficiency: Figures
    power_w: Figures
    npshr_m: Figures
    npsha_m: Figures
    system_flow_m3s: Figures
    system_head_m: Figures
    system_low_m: Figures
    system_high_m: Figures
    duty_flow_m3s: float
    duty_head_m: float
    motor_w: float
    points: tuple[tuple[float, float] | None, ...]
    alone: tuple[float, float] | None
    trims: tuple[Trim, ...]


@dataclass(frozen=True)
class TableRow:
    """One flow of the table under the chart, of one pump."""

    flow_m3s: float
    head_m: float
    efficiency: float
    power_w: float
    npshr_m: float
    npsha_m: float


def lines_of(candidate: Candidate, chart: ChartData, duty: Duty) -> Lines:
    """What is shown of a candidate just computed."""
    banded = duty.system.has_band
    run_out = chart.run_out.point
    return Lines(
        pumps=duty.pumps,
        most=len(chart.pumps),
        flow_m3s=_figures(chart.flow_m3s),
        head_m=_figures(chart.head_m),
        efficiency=_figures(chart.efficiency),
        power_w=_figures(chart.power_w),
        npshr_m=_figures(chart.npshr_m),
        npsha_m=_figures(chart.npsha_m),
        system_flow_m3s=_figures(chart.system_flow_m3s),
        system_head_m=_figures(chart.system_head_m),
        system_low_m=_figures(chart.system_low_m) if banded else (),
        system_high_m=_figures(chart.system_high_m) if banded else (),
        duty_flow_m3s=chart.duty_flow_m3s,
        duty_head_m=chart.duty_head_m,
        motor_w=candidate.motor_w,
        points=tuple(
            (point.flow_m3s, point.head_m) if (point := line.meeting.point) else None
            for line in chart.pumps
        ),
        alone=(run_out.flow_m3s, run_out.head_m) if run_out and banded else None,
        trims=tuple(
            Trim(f"{trim.diameter_mm:.0f} mm", _figures(trim.flow_m3s), _figures(trim.head_m))
            for trim in chart.trims
            if abs(trim.diameter_mm - candidate.diameter_mm) > 0.5
        ),
    )


COLUMNS = ("flow_m3s", "head_m", "efficiency", "npshr_m", "npsha_m", "power_w")


def kept(lines: Lines) -> dict[str, Any]:
    """The lines as plain values, to be kept as JSON with NaN as None.

    returns : `curve`, one pump's columns, and `chart`, all the rest
    """
    rest: dict[str, Any] = {}
    for name, value in vars(lines).items():
        if name == "trims":
            rest[name] = [vars(trim) for trim in lines.trims]
        elif name not in COLUMNS:
            rest[name] = [_plain(each) for each in value] if isinstance(value, tuple) else value
    curve = {name: [_plain(each) for each in getattr(lines, name)] for name in COLUMNS}
    return {"curve": curve, "chart": {name: _plain(value) for name, value in rest.items()}}


def from_kept(results: Mapping[str, Any]) -> Lines:
    """Read back what `kept` wrote."""
    rest: dict[str, Any] = dict(results["chart"])
    for name in ("system_flow_m3s", "system_head_m", "system_low_m", "system_high_m"):
        rest[name] = tuple(rest[name])
    rest["points"] = tuple(tuple(point) if point else None for point in rest["points"])
    rest["alone"] = tuple(rest["alone"]) if rest["alone"] else None
    rest["trims"] = tuple(
        Trim(trim["label"], tuple(trim["flow_m3s"]), tuple(trim["head_m"]))
        for trim in rest["trims"]
    )
    rest |= {name: _with_gaps(results["curve"][name]) for name in COLUMNS}
    return Lines(**rest)


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return list(value)
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _with_gaps(values: Iterable[float | None]) -> Figures:
    return tuple(math.nan if value is None else value for value in values)


def title_of(name: str, candidate: Candidate) -> str:
    """Name, trim and speed."""
    return f"{name}, {candidate.diameter_mm:.0f} mm, {formats.speed(candidate.speed_rpm)}"


def drawing(lines: Lines, title: str) -> XYChart:
    """Heads with the system, then efficiency, power and NPSH of each pump."""
    running = f"1 to {lines.most} pumps" if lines.most > 1 else "the pump"
    each = "of each pump, one alone and all running" if lines.pumps > 1 else "of the pump"
    return XYChart(
        title=title,
        description=(
            f"Head of {running} against the system, with their meetings and the duty; "
            f"below, efficiency, shaft power and NPSH {each}."
        ),
        x=Axis("Flow" if lines.most == 1 else "Total flow", "m³/h"),
        panels=(
            _head(lines),
            _each(lines, Axis("Efficiency", "%"), lines.efficiency, 100.0),
            _power(lines),
            _npsh(lines),
        ),
        width=WIDTH,
        height=HEIGHT,
    )


def _head(lines: Lines) -> Panel:
    curves = [
        Curve(
            _running(lines, count),
            *_known(_times(lines.flow_m3s, count), lines.head_m),
            PUMP,
            heavy=count == lines.pumps,
            reads=count == lines.pumps,
        )
        for count in range(1, lines.most + 1)
    ]
    curves += [
        Curve(trim.label, *_known(trim.flow_m3s, trim.head_m), TRIM, reads=False)
        for trim in lines.trims
    ]
    curves.append(Curve("system", *_known(lines.system_flow_m3s, lines.system_head_m), SYSTEM))
    bands: tuple[Band, ...] = ()
    if lines.system_low_m:
        bands = (
            Band(
                "levels",
                tuple(flow * HOUR for flow in lines.system_flow_m3s),
                lines.system_low_m,
                lines.system_high_m,
                SYSTEM,
            ),
        )
    spots = [
        Spot(_running(lines, count), flow * HOUR, head, PUMP, named=False)
        for count, (flow, head) in _met(lines)
    ]
    if lines.alone:
        flow, head = lines.alone
        spots.append(
            Spot("last alone", flow * HOUR, head, ALONE, Marker.SQUARE, hollow=True, named=False)
        )
    duty = Spot("duty", lines.duty_flow_m3s * HOUR, lines.duty_head_m, DUTY, Marker.DIAMOND, True)
    return Panel(Axis("Head", "m"), tuple(curves), bands, (*spots, duty), share=2.4)


def _each(
    lines: Lines,
    axis: Axis,
    values: Figures,
    factor: float = 1.0,
    levels: tuple[Level, ...] = (),
) -> Panel:
    """What one pump does, over the total flow of one running and of all."""
    shown = tuple(value * factor for value in values)
    return Panel(
        axis,
        tuple(_each_curves(lines, shown, "", PUMP)),
        spots=tuple(
            Spot(_running(lines, count), flow * HOUR, reading, PUMP, named=False)
            for count, (flow, _) in _met(lines)
            if count in (1, lines.pumps)
            and math.isfinite(reading := _reading(lines, shown, flow / count))
        ),
        levels=levels,
    )


def _power(lines: Lines) -> Panel:
    levels: tuple[Level, ...] = ()
    if math.isfinite(lines.motor_w):
        motor = lines.motor_w / 1000.0
        levels = (Level(f"motor {motor:g} kW", motor, limit=True),)
    return _each(lines, Axis("Shaft power", "kW"), lines.power_w, 0.001, levels)


def _npsh(lines: Lines) -> Panel:
    return Panel(
        Axis("NPSH", "m"),
        (
            *_each_curves(lines, lines.npshr_m, "required", PUMP),
            *_each_curves(lines, lines.npsha_m, "available", SYSTEM),
        ),
    )


def _each_curves(lines: Lines, values: Figures, what: str, series: int) -> Iterator[Curve]:
    for count in sorted({1, lines.pumps}):
        x, y = _known(_times(lines.flow_m3s, count), values)
        if not x:
            continue
        running = "" if lines.pumps == 1 else _running(lines, count)
        yield Curve(
            ", ".join(filter(None, (what, running))) or "one pump",
            x,
            y,
            series,
            heavy=count == lines.pumps,
            named=count == lines.pumps or not what,
            reads=count == lines.pumps,
        )


def _running(lines: Lines, count: int) -> str:
    return "pump" if lines.most == 1 else f"{count} running"


def _met(lines: Lines) -> Iterator[tuple[int, tuple[float, float]]]:
    for count, point in enumerate(lines.points, start=1):
        if point:
            yield count, point


def _reading(lines: Lines, values: Figures, flow_m3s: float) -> float:
    """A line's value between its samples."""
    return float(np.interp(flow_m3s, lines.flow_m3s, values))


def _times(flows: Figures, count: int) -> Figures:
    return tuple(flow * count for flow in flows)


def _known(flow_m3s: Sequence[float], values: Sequence[float]) -> tuple[Figures, Figures]:
    """Flow in m³/h and value, without the stretches where nothing is known."""
    pairs = [
        (flow * HOUR, value)
        for flow, value in zip(flow_m3s, values, strict=True)
        if math.isfinite(value)
    ]
    return tuple(flow for flow, _ in pairs), tuple(value for _, value in pairs)


def _figures(values: Iterable[float]) -> Figures:
    return tuple(float(value) for value in values)


def table(lines: Lines, rows: int = 11) -> tuple[TableRow, ...]:
    """The same numbers as a table, at evenly spread flows of one pump."""
    step = max(1, (len(lines.flow_m3s) - 1) // (rows - 1))
    columns = (
        lines.flow_m3s,
        lines.head_m,
        lines.efficiency,
        lines.power_w,
        lines.npshr_m,
        lines.npsha_m,
    )
    return tuple(TableRow(*figures) for figures in list(zip(*columns, strict=True))[:: step or 1])


def tests_drawing(tests: Iterable[CurveTest]) -> XYChart:
    """Tested points of one impeller with the curves through them, within their own range."""
    heads, efficiencies, spots, dots = [], [], [], []
    for number, test in enumerate(tests):
        label, series = f"{test.diameter_mm:.0f} mm", number % 5
        named = f"{label}, {test.speed_rpm:.0f} rev/min"
        curve = PumpCurve.through(points_of(test))
        across = np.linspace(curve.flow_low_m3s, curve.flow_high_m3s, 41)
        flows = _figures(across * HOUR)
        head, efficiency = curve.head(across), curve.efficiency(across) * 100.0
        heads.append(Curve(label, flows, _figures(head), series, reads=False))
        efficiencies.append(Curve(label, flows, _figures(efficiency), series, reads=False))
        for flow, metres, share in zip(test.flow_m3s, test.head_m, test.efficiency, strict=True):
            spots.append(Spot(named, flow * HOUR, metres, series, named=False))
            dots.append(Spot(named, flow * HOUR, share * 100.0, series, named=False))
    return XYChart(
        title="Tested curves",
        description="Head and efficiency over flow: points as tested, and the curve through them.",
        x=Axis("Flow", "m³/h"),
        panels=(
            Panel(Axis("Head", "m"), tuple(heads), spots=tuple(spots), share=1.6),
            Panel(Axis("Efficiency", "%"), tuple(efficiencies), spots=tuple(dots)),
        ),
        width=WIDTH,
        height=520.0,
    )
