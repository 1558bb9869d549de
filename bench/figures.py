"""What a figure is: a name, a unit, a goal, and the function that measures it."""

import operator
import re
from collections.abc import Callable
from dataclasses import dataclass

Measure = Callable[[], float]

_SIGNS: dict[str, Callable[[float, float], bool]] = {
    "≥": operator.ge,
    "≤": operator.le,
    "<": operator.lt,
    ">": operator.gt,
    "=": operator.eq,
}


@dataclass(frozen=True)
class Goal:
    """A sign and a number, such as `≥ 200`."""

    sign: str
    limit: float

    @classmethod
    def read(cls, text: str) -> "Goal":
        """The goal written like that.

        raises : ValueError when it is not a sign and a number
        """
        found = re.fullmatch(r"([≥≤<>=])\s*([-+]?[\d,]*\.?\d+(?:e[-+]?\d+)?)", text.strip())
        if not found:
            raise ValueError(f"A goal is a sign ({' '.join(_SIGNS)}) and a number, not {text!r}.")
        return cls(found[1], float(found[2].replace(",", "")))

    def holds(self, value: float) -> bool:
        """True when the value reaches the goal; never for a value that is no number."""
        return _SIGNS[self.sign](value, self.limit)


@dataclass(frozen=True)
class Figure:
    """One line of the report."""

    name: str
    unit: str
    goal: str
    long: bool
    measure: Measure

    def line(self, value: float) -> str:
        """Name, value, unit, goal, and whether it holds."""
        shown = f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"
        return _line(self.name, shown, self.unit, self.goal, self.verdict(value))

    def failed_line(self, error: Exception) -> str:
        """The line of a measurement that broke off."""
        return _line(self.name, "-", self.unit, self.goal, f"failed: {error!r}")

    def verdict(self, value: float) -> str:
        """`holds`, `short`, or `stated` where there is no goal."""
        if not self.goal:
            return "stated"
        return "holds" if Goal.read(self.goal).holds(value) else "short"


FIGURES: dict[str, Figure] = {}


def figure(
    name: str, *, goal: str = "", unit: str = "", long: bool = False
) -> Callable[[Measure], Measure]:
    """Make a function of no arguments a figure of the report.

    name : lower-case words joined by hyphens, as typed after ONLY=
    goal : such as "≥ 200"; empty when the number is only stated
    long : measured under FULL=1 alone, or when asked for by name
    raises : ValueError for a goal or a name that is not like that, or a name taken already
    """
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name):
        raise ValueError(f"A figure's name is lower-case words joined by hyphens, not {name!r}.")
    if goal:
        Goal.read(goal)

    def register(measure: Measure) -> Measure:
        if name in FIGURES:
            raise ValueError(f"Two figures are called {name!r}.")
        FIGURES[name] = Figure(name=name, unit=unit, goal=goal, long=long, measure=measure)
        return measure

    return register


def _line(name: str, value: str, unit: str, goal: str, verdict: str) -> str:
    return f"{name:<52} {value:>12} {unit:<10} {goal:<14} {verdict}"
