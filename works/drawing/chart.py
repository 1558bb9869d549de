"""The model of an xy chart: panels above each other over one axis, as pump curves are drawn.

All figures are in the unit that the axis names; callers convert. Nothing is extrapolated: a curve
is drawn between its own ends only.
"""

from dataclasses import dataclass, field

from works.drawing.inks import Marker

Figures = tuple[float, ...]


@dataclass(frozen=True)
class Axis:
    """What an axis measures.

    low, high : wished ends in the axis's unit; left out, from the figures
    from_zero : the axis includes zero
    """

    name: str
    unit: str
    low: float | None = None
    high: float | None = None
    from_zero: bool = True

    @property
    def caption(self) -> str:
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True)
class Curve:
    """A line through figures, labelled at its right end.

    series : 0…4, gives ink and dash
    heavy : the curve that the page is about
    named : its label stands at its end
    reads : places along it say their figures when pointed at
    """

    label: str
    x: Figures
    y: Figures
    series: int = 0
    heavy: bool = False
    named: bool = True
    reads: bool = True


@dataclass(frozen=True)
class Band:
    """A surface between two lines: a tolerance, a spread."""

    label: str
    x: Figures
    low: Figures
    high: Figures
    series: int = 0


@dataclass(frozen=True)
class Spot:
    """A point with a name: a duty, a reading, a best efficiency.

    error_x, error_y : half widths of its bars in the axis's unit
    named : the label stands beside it, else only when pointed at
    """

    label: str
    x: float
    y: float
    series: int = 0
    marker: Marker = Marker.DISC
    hollow: bool = False
    error_x: float = 0.0
    error_y: float = 0.0
    named: bool = True


@dataclass(frozen=True)
class Level:
    """A named line across one panel: a motor's rating, a limit."""

    label: str
    y: float
    limit: bool = False


@dataclass(frozen=True)
class Upright:
    """A named line through all panels: a duty flow, the end of the allowed range."""

    label: str
    x: float
    limit: bool = False


@dataclass(frozen=True)
class Panel:
    """One set of axes.

    share : height beside the other panels' shares
    """

    axis: Axis
    curves: tuple[Curve, ...] = ()
    bands: tuple[Band, ...] = ()
    spots: tuple[Spot, ...] = ()
    levels: tuple[Level, ...] = ()
    share: float = 1.0


@dataclass(frozen=True)
class XYChart:
    """Panels over a common axis.

    width, height : [px]
    """

    title: str
    description: str
    x: Axis
    panels: tuple[Panel, ...]
    uprights: tuple[Upright, ...] = field(default=())
    width: float = 760.0
    height: float = 460.0
