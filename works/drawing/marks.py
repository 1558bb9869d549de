"""What a picture is made of: marks at places, in pixels, y downward."""

from dataclasses import dataclass, field

from works.drawing.inks import Ink, Marker, Pattern

Place = tuple[float, float]


@dataclass(frozen=True)
class Trace:
    """A line through places; closed and filled, a surface.

    width : of the stroke [px]
    dash : lengths on and off [px]
    faint : filled thinly, for bands
    """

    places: tuple[Place, ...]
    stroke: Ink | None = Ink.INK
    fill: Ink | None = None
    width: float = 1.0
    dash: tuple[float, ...] = ()
    closed: bool = False
    faint: bool = False


@dataclass(frozen=True)
class Disc:
    """A round mark; without stroke and fill it only catches the pointer."""

    at: Place
    radius: float
    stroke: Ink | None = None
    fill: Ink | None = None
    width: float = 1.0


@dataclass(frozen=True)
class Words:
    """A line of text.

    anchor : "start", "middle" or "end" of the text stands at the place
    turned : reads upward
    """

    at: Place
    text: str
    size: float = 12.0
    ink: Ink = Ink.INK
    anchor: str = "start"
    bold: bool = False
    turned: bool = False


Mark = Trace | Disc | Words


@dataclass(frozen=True)
class Hot:
    """Marks that say something when pointed at or focused.

    says : the sentence
    focusable : may be reached with the keyboard
    callout : the sentence is drawn beside the marks at this place; left out, the browser shows it
    """

    marks: tuple[Mark, ...]
    says: str
    focusable: bool = False
    callout: Place | None = None


@dataclass(frozen=True)
class Picture:
    """A finished drawing with the words for those who don't see it."""

    width: float
    height: float
    title: str
    description: str
    marks: tuple[Mark | Hot, ...] = field(default=())


def line(start: Place, end: Place, ink: Ink, width: float = 1.0, *dash: float) -> Trace:
    """A straight line."""
    return Trace((start, end), stroke=ink, width=width, dash=dash)


def box(
    x: float,
    y: float,
    width: float,
    height: float,
    *,
    fill: Ink | None = None,
    stroke: Ink | None = None,
    stroke_width: float = 1.0,
    faint: bool = False,
) -> Trace:
    """A rectangle from its upper left corner."""
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return Trace(corners, stroke, fill, stroke_width, closed=True, faint=faint)


def filled(
    x: float, y: float, width: float, height: float, ink: Ink, pattern: Pattern
) -> tuple[Mark, ...]:
    """A rectangle filled in a pattern, with its outline."""
    if pattern is Pattern.SOLID:
        return (box(x, y, width, height, fill=ink, stroke=ink),)
    outline = box(x, y, width, height, fill=Ink.RAISED, stroke=ink, stroke_width=1.2)
    return (outline, *_strokes(x, y, width, height, ink, pattern))


def _strokes(
    x: float, y: float, width: float, height: float, ink: Ink, pattern: Pattern
) -> tuple[Mark, ...]:
    if pattern is Pattern.UPRIGHT:
        return tuple(line((x + at, y), (x + at, y + height), ink, 2.0) for at in _steps(width, 5.0))
    if pattern is Pattern.LEVEL:
        return tuple(line((x, y + at), (x + width, y + at), ink, 1.2) for at in _steps(height, 4.0))
    if pattern is Pattern.DOTS:
        return tuple(Disc((x + at, y + height / 2), 1.3, fill=ink) for at in _steps(width, 5.0))
    if pattern is Pattern.RISING:
        return tuple(
            line(low, high, ink, 1.6)
            for low, high in (
                _diagonal(x, y, width, height, at) for at in _steps(width + height, 5.0)
            )
        )
    return ()


def _steps(extent: float, step: float) -> tuple[float, ...]:
    count = int(extent / step)
    return tuple(step * (index + 1) for index in range(count) if step * (index + 1) < extent)


def _diagonal(x: float, y: float, width: float, height: float, at: float) -> tuple[Place, Place]:
    """The part inside the rectangle of the line that rises at 45°, `at` from its upper corner."""
    low = (x + at - height, y + height) if at > height else (x, y + at)
    high = (x + at, y) if at < width else (x + width, y + at - width)
    return low, high


def marker(at: Place, shape: Marker, ink: Ink, size: float = 5.0, *, hollow: bool = False) -> Mark:
    """A point's shape around its place."""
    x, y = at
    fill = Ink.RAISED if hollow else ink
    if shape is Marker.DISC:
        return Disc(at, size, stroke=ink, fill=fill, width=1.6)
    if shape is Marker.CROSS:
        arms = (
            (x - size, y - size),
            (x + size, y + size),
            at,
            (x - size, y + size),
            (x + size, y - size),
        )
        return Trace(arms, stroke=ink, width=2.2)
    corners: dict[Marker, tuple[Place, ...]] = {
        Marker.SQUARE: (
            (x - size, y - size),
            (x + size, y - size),
            (x + size, y + size),
            (x - size, y + size),
        ),
        Marker.DIAMOND: (
            (x, y - size - 2),
            (x + size + 2, y),
            (x, y + size + 2),
            (x - size - 2, y),
        ),
        Marker.TRIANGLE: ((x, y - size - 1), (x + size + 1, y + size), (x - size - 1, y + size)),
    }
    return Trace(corners[shape], stroke=ink, fill=fill, width=1.6, closed=True)
