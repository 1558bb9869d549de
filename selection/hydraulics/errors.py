"""What can be wrong with a question put to the hydraulics, in words that help.

Every error says what is wrong, where, and what would be right, and carries its figures as
attributes. An answer that a user will not like (no intersection, suction too short) is a result,
not an error.
"""

from dataclasses import dataclass, fields
from typing import Any


def _rebuild(kind: type["HydraulicsError"], data: dict[str, Any]) -> "HydraulicsError":
    return kind(**data)


@dataclass(eq=False, kw_only=True)
class HydraulicsError(ValueError):
    """The question was wrong; `str()` is a sentence fit for a page."""

    def __str__(self) -> str:
        return "The hydraulic question cannot be answered."

    def __reduce__(self) -> Any:
        data = {field.name: getattr(self, field.name) for field in fields(self)}
        return _rebuild, (type(self), data)


def _figure(value: float) -> str:
    return f"{value:.6g}"


def _shown(unit: str) -> str:
    """A unit as a reader knows it."""
    return unit.replace("m3", "m³").replace("m2", "m²")


@dataclass(eq=False, kw_only=True)
class NotFinite(HydraulicsError):
    """A number is missing, infinite or not a number."""

    quantity: str
    index: int | None = None

    def __str__(self) -> str:
        at = "" if self.index is None else f" at point {self.index + 1}"
        return f"The {self.quantity}{at} is not a finite number. Give a plain number."


@dataclass(eq=False, kw_only=True)
class OutOfBounds(HydraulicsError):
    """A number lies where it cannot be, or is so large that a unit was probably mistaken."""

    quantity: str
    value: float
    unit: str
    low: float
    high: float
    index: int | None = None
    hint: str = ""

    def __str__(self) -> str:
        at = "" if self.index is None else f" at point {self.index + 1}"
        unit = "" if self.unit == "-" else f" {_shown(self.unit)}"
        above = 0.0 < self.low < 1e-300  # `door.positive` shuts nought out by the least number
        right = f"between {_figure(self.low)} and {_figure(self.high)}{unit}"
        if above:
            right = (
                "above 0"
                if self.high == float("inf")
                else (f"above 0 and at most {_figure(self.high)}{unit}")
            )
        elif self.high == float("inf"):
            right = f"at least {_figure(self.low)}{unit}"
        elif self.low == float("-inf"):
            right = f"at most {_figure(self.high)}{unit}"
        hint = f" {self.hint}" if self.hint else ""
        return f"The {self.quantity}{at} is {_figure(self.value)}{unit}; it must be {right}.{hint}"


@dataclass(eq=False, kw_only=True)
class CurveTooShort(HydraulicsError):
    """Too few points to draw a curve through."""

    points: int
    least: int

    def __str__(self) -> str:
        return f"The curve has {self.points} points; give at least {self.least}."


@dataclass(eq=False, kw_only=True)
class CurveUneven(HydraulicsError):
    """Columns of a curve differ in length."""

    column: str
    length: int
    expected: int

    def __str__(self) -> str:
        return (
            f"The column {self.column} has {self.length} values and the flow column "
            f"{self.expected}; give one value for each flow."
        )


@dataclass(eq=False, kw_only=True)
class CurveUnsorted(HydraulicsError):
    """Flows do not rise from point to point."""

    index: int
    flow_m3s: float
    before_m3s: float

    def __str__(self) -> str:
        return (
            f"The flow at point {self.index + 1} ({_figure(self.flow_m3s)} m³/s) is not above "
            f"the one before it ({_figure(self.before_m3s)} m³/s); sort the points by flow and "
            "give each flow once."
        )


@dataclass(eq=False, kw_only=True)
class CurveColumnsSwapped(HydraulicsError):
    """The columns look exchanged: head rises where efficiency should."""

    first: str
    second: str

    def __str__(self) -> str:
        return (
            f"The columns {self.first} and {self.second} look exchanged: head should fall as "
            "flow grows and efficiency stay between 0 and 1. Check the order of the columns."
        )


@dataclass(eq=False, kw_only=True)
class OutsideCurve(HydraulicsError):
    """A flow outside the tested range was asked for; curves are not extended silently."""

    quantity: str
    flow_m3s: float
    low_m3s: float
    high_m3s: float

    def __str__(self) -> str:
        return (
            f"The {self.quantity} at {_figure(self.flow_m3s)} m³/s was asked for, but the curve "
            f"is known from {_figure(self.low_m3s)} to {_figure(self.high_m3s)} m³/s only."
        )


@dataclass(eq=False, kw_only=True)
class OutsideMethod(HydraulicsError):
    """A method was asked to answer outside the range its source gives."""

    method: str
    quantity: str
    value: float
    unit: str
    low: float
    high: float
    source: str

    def __str__(self) -> str:
        unit = "" if self.unit == "-" else f" {self.unit}"
        return (
            f"{self.method} does not hold here: {self.quantity} is {_figure(self.value)}{unit}, "
            f"outside {_figure(self.low)} to {_figure(self.high)}{unit} ({self.source})."
        )


@dataclass(eq=False, kw_only=True)
class HeadFallsWithFlow(HydraulicsError):
    """Two points of a system curve whose head falls as flow rises."""

    first_flow_m3s: float
    first_head_m: float
    second_flow_m3s: float
    second_head_m: float

    def __str__(self) -> str:
        return (
            f"The system's head falls from {_figure(self.first_head_m)} m at "
            f"{_figure(self.first_flow_m3s)} m³/s to {_figure(self.second_head_m)} m at "
            f"{_figure(self.second_flow_m3s)} m³/s; a pipe's loss grows with flow, so the "
            "second head must be the higher."
        )


@dataclass(eq=False, kw_only=True)
class SamePoint(HydraulicsError):
    """Two points that must differ in flow are one."""

    flow_m3s: float

    def __str__(self) -> str:
        return (
            f"Both points of the system curve are at {_figure(self.flow_m3s)} m³/s; "
            "give two different flows."
        )


@dataclass(eq=False, kw_only=True)
class UnknownName(HydraulicsError):
    """A name that no table holds."""

    kind: str
    name: str
    known: tuple[str, ...]

    def __str__(self) -> str:
        return f"No {self.kind} is called '{self.name}'. Known are: {', '.join(self.known)}."


@dataclass(eq=False, kw_only=True)
class NothingGiven(HydraulicsError):
    """A list that must hold something is empty."""

    what: str

    def __str__(self) -> str:
        return f"No {self.what} given; give at least one."


@dataclass(eq=False, kw_only=True)
class MotorBeyondTable(HydraulicsError):
    """No standard motor is large enough."""

    power_w: float
    largest_w: float

    def __str__(self) -> str:
        return (
            f"A motor of at least {self.power_w / 1000:.0f} kW is needed; the largest standard "
            f"rating in the table is {self.largest_w / 1000:.0f} kW. Ask for a special motor."
        )


@dataclass(eq=False, kw_only=True)
class DisagreeingTests(HydraulicsError):
    """Tests that should belong to one impeller cannot be joined."""

    reason: str

    def __str__(self) -> str:
        return f"The tests of one impeller cannot be joined: {self.reason}."
