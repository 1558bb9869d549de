"""An xy chart as a picture."""

from works.drawing.callouts import beside
from works.drawing.chart import Axis, Band, Curve, Level, Panel, Spot, Upright, XYChart
from works.drawing.inks import DASHES, SERIES, Ink
from works.drawing.marks import Disc, Hot, Mark, Picture, Trace, Words, line, marker
from works.drawing.scales import Linear, bounds, nice_ticks, tick_decimals
from works.formats import number

LEFT, RIGHT, TOP, BOTTOM, GAP = 62.0, 124.0, 14.0, 46.0, 16.0
TEXT, LETTER = 12.0, 0.56  # [px], [letter widths a px of size]
EDGE_ROOM = 24.0  # a curve that ends nearer to the right edge is named there [px]
READINGS = 16  # places along a curve that answer the pointer


class NothingToDraw(ValueError):
    """A chart without a figure has no scale."""

    def __init__(self, axis: Axis) -> None:
        super().__init__(f"There is no figure for the axis “{axis.caption}”.")


def draw_chart(chart: XYChart) -> Picture:
    """The picture of a chart: grid, bands, curves, spots, then what answers the pointer."""
    right = chart.width - RIGHT
    x_ticks = _ticks(chart.x, _x_figures(chart), about=8)
    x = Linear(x_ticks[0], x_ticks[-1], LEFT, right)
    marks: list[Mark | Hot] = []
    hot: list[Hot] = []
    room = chart.height - TOP - BOTTOM - GAP * (len(chart.panels) - 1)
    shares = sum(panel.share for panel in chart.panels)
    top = TOP
    for panel in chart.panels:
        height = room * panel.share / shares
        ticks = _ticks(panel.axis, _y_figures(panel), about=max(3, int(height / 24)))
        y = Linear(ticks[0], ticks[-1], top + height, top)
        marks += _frame(panel, x, y, x_ticks, ticks)
        marks += _surface(panel, x, y, chart.uprights)
        hot += _answers(panel, chart.x, x, y)
        top += height + GAP
    foot = top - GAP
    marks += _x_axis(chart.x, x, x_ticks, foot)
    marks += _upright_names(chart.uprights, x)
    return Picture(chart.width, chart.height, chart.title, chart.description, (*marks, *hot))


def _x_figures(chart: XYChart) -> list[float]:
    figures = [upright.x for upright in chart.uprights]
    for panel in chart.panels:
        for curve in panel.curves:
            figures += curve.x
        for band in panel.bands:
            figures += band.x
        figures += [spot.x + side * spot.error_x for spot in panel.spots for side in (-1, 1)]
    return figures


def _y_figures(panel: Panel) -> list[float]:
    figures = [level.y for level in panel.levels]
    for curve in panel.curves:
        figures += curve.y
    for band in panel.bands:
        figures += (*band.low, *band.high)
    figures += [spot.y + side * spot.error_y for spot in panel.spots for side in (-1, 1)]
    return figures


def _ticks(axis: Axis, figures: list[float], about: int) -> tuple[float, ...]:
    wished = [end for end in (axis.low, axis.high) if end is not None]
    if not figures and len(wished) < 2:
        raise NothingToDraw(axis)
    low, high = bounds([*figures, *wished], from_zero=axis.from_zero)
    return nice_ticks(low, high, about)


def _frame(
    panel: Panel, x: Linear, y: Linear, x_ticks: tuple[float, ...], ticks: tuple[float, ...]
) -> list[Mark]:
    marks: list[Mark] = [line((x(at), y.start), (x(at), y.end), Ink.RULE) for at in x_ticks]
    decimals = tick_decimals(ticks)
    for at in ticks:
        marks.append(line((x.start, y(at)), (x.end, y(at)), Ink.RULE))
        place = (x.start - 7, y(at) + TEXT * 0.35)
        marks.append(Words(place, number(at, decimals), TEXT, Ink.SOFT, "end"))
    marks.append(line((x.start, y.start), (x.end, y.start), Ink.INK, 1.4))
    marks.append(line((x.start, y.start), (x.start, y.end), Ink.INK, 1.4))
    middle = (15.0, (y.start + y.end) / 2)
    marks.append(Words(middle, panel.axis.caption, TEXT, anchor="middle", bold=True, turned=True))
    return marks


def _x_axis(axis: Axis, x: Linear, ticks: tuple[float, ...], foot: float) -> list[Mark]:
    decimals = tick_decimals(ticks)
    marks: list[Mark] = [
        Words((x(at), foot + 17), number(at, decimals), TEXT, Ink.SOFT, "middle") for at in ticks
    ]
    middle = ((x.start + x.end) / 2, foot + 37)
    marks.append(Words(middle, axis.caption, TEXT, anchor="middle", bold=True))
    return marks


def _surface(panel: Panel, x: Linear, y: Linear, uprights: tuple[Upright, ...]) -> list[Mark]:
    marks: list[Mark] = [_band(band, x, y) for band in panel.bands]
    for upright in uprights:
        ink = Ink.BAD if upright.limit else Ink.SOFT
        marks.append(line((x(upright.x), y.start), (x(upright.x), y.end), ink, 1.4, 4, 3))
    marks += [
        line((x.start, y(level.y)), (x.end, y(level.y)), _level_ink(level), 1.4, 4, 3)
        for level in panel.levels
    ]
    for curve in panel.curves:
        places = tuple((x(qx), y(qy)) for qx, qy in zip(curve.x, curve.y, strict=True))
        width = 2.6 if curve.heavy else 1.8
        marks.append(Trace(places, _ink(curve), width=width, dash=_dash(curve)))
    marks += _side_names(panel, x, y)
    for spot in panel.spots:
        marks += _bars(spot, x, y)
        if spot.named:
            marks.append(_spot_name(spot, x, y))
    return marks


def _band(band: Band, x: Linear, y: Linear) -> Trace:
    over = [(x(at), y(value)) for at, value in zip(band.x, band.high, strict=True)]
    under = [(x(at), y(value)) for at, value in zip(band.x, band.low, strict=True)]
    return Trace((*over, *reversed(under)), None, _ink(band), closed=True, faint=True)


def _ink(curve: Curve | Band | Spot) -> Ink:
    return SERIES[curve.series % len(SERIES)]


def _dash(curve: Curve) -> tuple[float, ...]:
    return DASHES[curve.series % len(DASHES)]


def _level_ink(level: Level) -> Ink:
    return Ink.BAD if level.limit else Ink.SOFT


def _side_names(panel: Panel, x: Linear, y: Linear) -> list[Mark]:
    """Names at the right edge for what reaches it, pushed apart where they would meet.

    A curve that ends before has its name at its own end.
    """
    named = [curve for curve in panel.curves if curve.named]
    reaching = [curve for curve in named if x(curve.x[-1]) > x.end - EDGE_ROOM]
    wished = [(y(curve.y[-1]), curve.label, _ink(curve), curve.heavy) for curve in reaching]
    wished += [
        (y((band.low[-1] + band.high[-1]) / 2), band.label, _ink(band), False)
        for band in panel.bands
        if band.label
    ]
    wished += [(y(level.y), level.label, _level_ink(level), False) for level in panel.levels]
    wished.sort(key=lambda name: name[0])
    heights = _apart([name[0] for name in wished], TEXT * 1.15, y.end, y.start)
    names: list[Mark] = [
        Words((x.end + 8, at + TEXT * 0.35), text, TEXT, ink, bold=bold)
        for at, (_, text, ink, bold) in zip(heights, wished, strict=True)
    ]
    for curve in named:
        if curve not in reaching:
            place = (x(curve.x[-1]) + 6, y(curve.y[-1]) + TEXT * 0.35)
            names.append(Words(place, curve.label, TEXT, _ink(curve), bold=curve.heavy))
    return names


def _apart(wished: list[float], least: float, top: float, foot: float) -> list[float]:
    """Places near the wished ones (sorted), at least so far apart, pushed up from the foot."""
    placed: list[float] = []
    for at in wished:
        placed.append(max(at, placed[-1] + least) if placed else max(at, top))
    limit = foot
    for index in range(len(placed) - 1, -1, -1):
        placed[index] = min(placed[index], limit)
        limit = placed[index] - least
    return placed


def _spot_name(spot: Spot, x: Linear, y: Linear) -> Words:
    at = (x(spot.x), y(spot.y))
    wide = len(spot.label) * TEXT * LETTER
    if at[0] + 10 + wide < x.end:
        return Words((at[0] + 10, at[1] - 8), spot.label, TEXT, Ink.INK, bold=True)
    return Words((at[0] - 10, at[1] - 8), spot.label, TEXT, Ink.INK, "end", bold=True)


def _bars(spot: Spot, x: Linear, y: Linear) -> list[Mark]:
    ink, marks = _ink(spot), list[Mark]()
    if spot.error_x:
        ends = (x(spot.x - spot.error_x), x(spot.x + spot.error_x))
        marks.append(line((ends[0], y(spot.y)), (ends[1], y(spot.y)), ink, 2.2))
    if spot.error_y:
        ends = (y(spot.y - spot.error_y), y(spot.y + spot.error_y))
        marks.append(line((x(spot.x), ends[0]), (x(spot.x), ends[1]), ink, 2.2))
    return marks


def _upright_names(uprights: tuple[Upright, ...], x: Linear) -> list[Mark]:
    marks: list[Mark] = []
    for upright in uprights:
        ink = Ink.BAD if upright.limit else Ink.SOFT
        near_end = x(upright.x) > x.end - len(upright.label) * TEXT * LETTER - 6
        place = (x(upright.x) + (-5 if near_end else 5), TOP + TEXT)
        marks.append(Words(place, upright.label, TEXT, ink, "end" if near_end else "start"))
    return marks


def _answers(panel: Panel, x_axis: Axis, x: Linear, y: Linear) -> list[Hot]:
    """What says its figures when pointed at: places along the curves, then the spots."""
    hot: list[Hot] = []
    for curve in (each for each in panel.curves if each.reads):
        for index in _spread(len(curve.x), READINGS):
            at = (x(curve.x[index]), y(curve.y[index]))
            says = _sentence(curve.label, curve.x[index], curve.y[index], x_axis, panel.axis)
            hot.append(Hot((Disc(at, 8.0),), says, callout=beside(at, says, x.end + RIGHT)))
    for spot in panel.spots:
        at = (x(spot.x), y(spot.y))
        says = _sentence(spot.label, spot.x, spot.y, x_axis, panel.axis)
        shape = marker(at, spot.marker, _ink(spot), hollow=spot.hollow)
        catch = Disc(at, 12.0)
        hot.append(
            Hot((catch, shape), says, focusable=True, callout=beside(at, says, x.end + RIGHT))
        )
    return hot


def _spread(count: int, most: int) -> tuple[int, ...]:
    if count <= most:
        return tuple(range(count))
    return tuple(round(index * (count - 1) / (most - 1)) for index in range(most))


def _sentence(label: str, at: float, value: float, x_axis: Axis, axis: Axis) -> str:
    return (
        f"{label}: {axis.name} {number(value)} {axis.unit} at {x_axis.name} {number(at)} "
        f"{x_axis.unit}"
    ).strip()
