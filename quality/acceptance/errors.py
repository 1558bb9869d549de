"""What makes a question about acceptance wrong.

A failed test is a result with its reasons; an exception here means that the question itself could
not be answered as it was put. Each says what is wrong, where, and what would be right, and keeps
the values it speaks of in `data`.
"""

from typing import Any, ClassVar


class AcceptanceError(Exception):
    """The base: a sentence filled in from the data given."""

    says: ClassVar[str] = "{what}"

    def __init__(self, **data: Any) -> None:
        self.data = data
        self.sentence = self.says.format(**data)
        super().__init__(self.sentence)

    def __reduce__(self) -> tuple[Any, ...]:
        # An exception with keyword data does not pickle by itself, and Celery pickles them.
        return (_again, (type(self), self.data))


def _again(kind: type[AcceptanceError], data: dict[str, Any]) -> AcceptanceError:
    return kind(**data)


class BadSetUp(AcceptanceError):
    """A measurement of the test's set-up cannot be: a bore of nothing, an efficiency above one."""

    says = "{what} is {value:g} {unit}, and must be {right}."


class NoReadings(AcceptanceError):
    """There is nothing to judge."""

    says = "No readings were given; a test needs at least {needed}."


class UnusableReadings(AcceptanceError):
    """Readings that cannot be used as they stand; every reason is listed."""

    says = "{count} of the readings cannot be used as they stand: {reasons}"


class MissingQuantity(AcceptanceError):
    """A reading says too little to have a head, or a speed."""

    says = "Reading {reading} has no {quantity}: give {right}."


class NonPositiveSpeed(AcceptanceError):
    """A speed of zero or below cannot be brought to rated speed."""

    says = "Reading {reading} has a speed of {speed:g} rev/min; a speed must be above zero."


class SpeedOutsidePermittedRange(AcceptanceError):
    """Too far from rated speed for the affinity laws to be used at all."""

    says = (
        "Reading {reading} was taken at {speed:.0f} rev/min, {percent:.1f} % of the rated "
        "{rated:.0f} rev/min; {rule} permits {lowest:.0f} to {highest:.0f} % "
        "({low_rpm:.0f} to {high_rpm:.0f} rev/min)."
    )


class BadGuarantee(AcceptanceError):
    """A guarantee that no pump could be held to."""

    says = "The guaranteed {quantity} is {value:g} {unit}; it must be {right}."


class BadTolerance(AcceptanceError):
    """A tolerance that contradicts itself."""

    says = "The tolerance on {quantity} is {value}; it must be {right}."


class UnknownGrade(AcceptanceError):
    """No row of the tables has this grade of this edition."""

    says = "There is no grade {grade} in {standard}:{edition}; known are {known}."


class CurveTooShort(AcceptanceError):
    """Too few different flows to draw a curve through."""

    says = "A curve needs {needed} points at different flows; there are {count}."


class OutsideMeasuredRange(AcceptanceError):
    """A curve is asked for a value where nothing was measured."""

    says = (
        "{what} was asked for at {flow:.6g} m³/s, and readings reach only from {lowest:.6g} to "
        "{highest:.6g} m³/s: take readings on both sides of it."
    )


class NotANumber(AcceptanceError):
    """A value that is not finite, or not positive where it must be."""

    says = "{what} is {value}; it must be {right}."


class InstrumentOverdue(AcceptanceError):
    """An instrument past its calibration date proves nothing."""

    says = (
        "Instrument {tag} was due for calibration on {due}; a reading taken on {on} proves "
        "nothing. Use one in date, or calibrate it and repeat the measurement."
    )


class InstrumentUnfit(AcceptanceError):
    """An instrument that cannot measure this: wrong range or no calibration at all."""

    says = "Instrument {tag} cannot be used here: {reason}."


class TestNotAllowed(AcceptanceError):
    """A test that must not be done on this pump, or not yet."""

    says = "{test} cannot be recorded: {reason}."
    __test__ = False  # the name begins with Test, and pytest would collect it


class BadTestRecord(AcceptanceError):
    """A test record that contradicts itself."""

    says = "{what}: {reason}."


class NoSuchRow(AcceptanceError):
    """A table of a standard has no row for the value asked."""

    says = "{table} has no row for {what}; it covers {covers}."


class UnknownCondition(AcceptanceError):
    """A rule of an inspection plan names a condition nobody has defined."""

    says = "Row {row} of {plan} has the condition {condition!r}; known are {known}."


class BadPlanRule(AcceptanceError):
    """A rule of an inspection plan that cannot be read."""

    says = "Row {row} of {plan}: {what} is {value!r}; it must be {right}."


class MixedDecimalMarks(AcceptanceError):
    """A pasted number that can be read in two ways, or a table that mixes its marks."""

    says = "Line {line}, column {column}: {text!r} {reason}."


class TooFewMeasurements(AcceptanceError):
    """Not enough values to say anything about their spread."""

    says = "{what} needs at least {needed} values; there are {count}."
