"""What can be wrong with a question about materials, in words that help.

A choice that does not suit the service is a verdict, not an error; an error means that the
question itself was wrong. Rows of a rule file are refused with `works.standards.BadTable`.
"""

from dataclasses import dataclass, fields
from typing import Any


def _rebuild(kind: type["MaterialsError"], data: dict[str, Any]) -> "MaterialsError":
    return kind(**data)


@dataclass(eq=False, kw_only=True)
class MaterialsError(ValueError):
    """The question was wrong; `str()` is a sentence fit for a page."""

    def __str__(self) -> str:
        return "The question about materials cannot be answered."

    def __reduce__(self) -> Any:
        return _rebuild, (type(self), {f.name: getattr(self, f.name) for f in fields(self)})


@dataclass(eq=False, kw_only=True)
class BadQuantity(MaterialsError):
    """A figure that is not finite, or lies where it cannot be."""

    quantity: str
    value: float
    unit: str
    lowest: float
    highest: float
    hint: str = ""

    def __str__(self) -> str:
        return (
            f"The {self.quantity} is given as {self.value:g} {self.unit}; it lies between "
            f"{self.lowest:g} and {self.highest:g} {self.unit}. {self.hint}"
        ).rstrip()


@dataclass(eq=False, kw_only=True)
class UnknownMetal(MaterialsError):
    """A material code that the list does not hold."""

    code: str
    known: tuple[str, ...]

    def __str__(self) -> str:
        return f"No metal '{self.code}' is listed. There are: {', '.join(self.known)}."


@dataclass(eq=False, kw_only=True)
class WrongPart(MaterialsError):
    """A metal that the list does not hold for that part, a bar steel for a casing, say."""

    code: str
    part: str
    parts: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.code} is not listed for a {self.part}, but for: {', '.join(self.parts)}."


@dataclass(eq=False, kw_only=True)
class NoStrength(MaterialsError):
    """A strength asked beyond the walls it is tabulated for."""

    code: str
    wall_mm: float
    walls: tuple[float, ...]

    def __str__(self) -> str:
        held = f"walls from {self.walls[0]:g} to {self.walls[-1]:g} mm" if self.walls else "no wall"
        return (
            f"No strength in the casting is tabulated for {self.code} at a wall of "
            f"{self.wall_mm:g} mm; the table holds {held}."
        )


@dataclass(eq=False, kw_only=True)
class BadFlange(MaterialsError):
    """A flange that no table describes."""

    flange: str
    found: str
    wanted: str

    def __str__(self) -> str:
        return f"Flange '{self.flange}': {self.found}. Right would be: {self.wanted}."


@dataclass(eq=False, kw_only=True)
class NoRating(MaterialsError):
    """A flange that its table does not rate in this metal or at this temperature."""

    flange: str
    found: str
    wanted: str

    def __str__(self) -> str:
        return f"{self.flange} cannot be rated: {self.found}. {self.wanted}"


@dataclass(eq=False, kw_only=True)
class IncompleteData(MaterialsError):
    """A table that the question needs and the data does not hold."""

    missing: str
    wanted: str

    def __str__(self) -> str:
        return f"The data holds no {self.missing}. Right would be: {self.wanted}."
