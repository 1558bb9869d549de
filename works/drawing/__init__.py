"""Charts and route bars, drawn once and shown twice.

A caller fills a frozen model (`XYChart`, `RouteBar`, `TimeRuler`) with figures in the units to be
shown. `draw` turns it into a `Picture`: boxes, lines and words at places. `svg` writes the picture
for a page, `works.drawing.pdf.draw` puts the same picture on a sheet, so that the two can't
disagree. Nothing here knows the trade, the database or the clock.

State and series are told by pattern, dash and marker first and by colour after that. A picture
carries its own title and description; the table of the same figures is the caller's.
"""

from works.drawing.chart import Axis, Band, Curve, Level, Panel, Spot, Upright, XYChart
from works.drawing.inks import Ink, Pattern
from works.drawing.marks import Picture
from works.drawing.plot import draw_chart
from works.drawing.route import Flag, RouteBar, Stretch, StretchState, TimeRuler
from works.drawing.route_plot import draw_route, draw_ruler
from works.drawing.scales import Linear, TimeScale, nice_ticks
from works.drawing.svg import svg

__all__ = [
    "Axis",
    "Band",
    "Curve",
    "Flag",
    "Ink",
    "Level",
    "Linear",
    "Panel",
    "Pattern",
    "Picture",
    "RouteBar",
    "Spot",
    "Stretch",
    "StretchState",
    "TimeRuler",
    "TimeScale",
    "Upright",
    "XYChart",
    "draw",
    "nice_ticks",
    "svg",
]


def draw(model: XYChart | RouteBar | TimeRuler) -> Picture:
    """The picture of any of the models."""
    if isinstance(model, XYChart):
        return draw_chart(model)
    if isinstance(model, RouteBar):
        return draw_route(model)
    return draw_ruler(model)
