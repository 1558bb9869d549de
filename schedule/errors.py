"""What the schedule refuses; each says what is wrong, where, and what would be right."""

from collections.abc import Sequence

from works.errors import Refusal


class ScheduleRefusal(Refusal):
    """Base of every refusal by this app."""


class NoSuchThing(ScheduleRefusal):
    """The thing that the deed is about is not there."""

    status = 404

    def __init__(self, *, what: str, key: object) -> None:
        self.what, self.key = what, key
        super().__init__(f"There is no {what} {key}.")


class BadFigure(ScheduleRefusal):
    """A number or date that cannot be."""

    status = 422

    def __init__(self, *, field: str, value: object, right: str) -> None:
        self.field, self.value, self.right = field, value, right
        super().__init__(f"{field} is {value}; it must be {right}.")


class RouteCannotGrow(ScheduleRefusal):
    """Template, configuration and terms do not make a route."""

    status = 422

    def __init__(self, *, label: str, why: str) -> None:
        self.label, self.why = label, why
        super().__init__(f"The route of {label} cannot be grown. {why}")


class RouteNotInWork(ScheduleRefusal):
    """The route's state does not allow the deed."""

    def __init__(self, *, route: str, state: str, deed: str) -> None:
        self.route, self.state, self.deed = route, state, deed
        super().__init__(
            f"{route} is {state}, so nobody may {deed}. Ask the planner to change that first."
        )


class GateOpen(ScheduleRefusal):
    """A hold stands before what was to be done."""

    def __init__(self, *, operation: str, deed: str, gates: Sequence[str]) -> None:
        self.operation, self.deed, self.gates = operation, deed, tuple(gates)
        super().__init__(
            f"{operation} may not {deed}: held by {'; '.join(gates)}. It needs that release, or a "
            "works manager or quality engineer who lets it go on at risk."
        )


class GateNotOpen(ScheduleRefusal):
    """The gate was cleared, passed or withdrawn before."""

    def __init__(self, *, gate: str, since: str) -> None:
        self.gate, self.since = gate, since
        super().__init__(f"The hold “{gate}” was {since} already.")


class NeverAtRisk(ScheduleRefusal):
    """The pressure test and dispatch are never passed at risk."""

    def __init__(self, *, gate: str) -> None:
        self.gate = gate
        super().__init__(
            f"The hold “{gate}” guards the pressure test or dispatch: nobody may pass it at risk. "
            "It needs its release."
        )


class GateTooLate(ScheduleRefusal):
    """A gate would stand where work has gone by already."""

    def __init__(self, *, operation: str, timing: str, state: str) -> None:
        self.operation, self.timing, self.state = operation, timing, state
        super().__init__(
            f"{operation} is {state}, so a hold {timing} it would hold nothing. "
            "Put it on an operation still to come."
        )


class NotStarted(ScheduleRefusal):
    """A finish, stop or part report without a stated start."""

    def __init__(self, *, operation: str, deed: str) -> None:
        self.operation, self.deed = operation, deed
        super().__init__(
            f"{operation} has no stated start, so it cannot {deed}: state when it began."
        )


class AlreadyReported(ScheduleRefusal):
    """The operation is already where the report would bring it."""

    def __init__(self, *, operation: str, state: str, right: str) -> None:
        self.operation, self.state, self.right = operation, state, right
        super().__init__(f"{operation} is {state} already. {right}")


class ReportContradicts(ScheduleRefusal):
    """A report that cannot be true beside those there are."""

    status = 422

    def __init__(self, *, operation: str, why: str) -> None:
        self.operation, self.why = operation, why
        super().__init__(f"The report on {operation} cannot be right: {why}")


class ConfirmationMissing(ScheduleRefusal):
    """A start without what it must confirm."""

    status = 422

    def __init__(self, *, operation: str, missing: Sequence[str]) -> None:
        self.operation, self.missing = operation, tuple(missing)
        super().__init__(
            f"To start {operation}, confirm what is in your hands: {', '.join(missing)}."
        )


class Mismatch(ScheduleRefusal):
    """What is on the floor is not what the order needs: nothing is started."""

    def __init__(self, *, operation: str, wrong: Sequence[tuple[str, str, str]]) -> None:
        self.operation, self.wrong = operation, tuple(wrong)
        said = "; ".join(f"{what} is {said}, ordered is {right}" for what, said, right in wrong)
        super().__init__(
            f"{operation} was not started: {said}. Set the wrong one apart and fetch the right one."
        )


class PieceNotFit(ScheduleRefusal):
    """A piece that cannot be taken for a unit."""

    def __init__(self, *, piece: str, why: str) -> None:
        self.piece, self.why = piece, why
        super().__init__(f"Piece {piece} cannot be used so: {why}")


class TableTrouble(ScheduleRefusal):
    """A route template or a freight lane that planning cannot use."""

    status = 422

    def __init__(self, *, why: str) -> None:
        self.why = why
        super().__init__(why)


class CalendarTrouble(ScheduleRefusal):
    """A calendar that planning cannot use."""

    status = 422

    def __init__(self, *, why: str) -> None:
        self.why = why
        super().__init__(why)


class NotReadyToShip(ScheduleRefusal):
    """A unit with work or holds still open."""

    def __init__(self, *, what: str, lacks: Sequence[str]) -> None:
        self.what, self.lacks = what, tuple(lacks)
        more = f" and {len(lacks) - 5} more" if len(lacks) > 5 else ""
        super().__init__(f"{what} may not ship: {'; '.join(lacks[:5])}{more}.")


class SerialTaken(ScheduleRefusal):
    """A serial number that stands on another unit."""

    def __init__(self, *, serial: str, by: str) -> None:
        self.serial, self.by = serial, by
        super().__init__(f"Serial number {serial} is that of {by} already: give each its own.")


class BookedElsewhere(ScheduleRefusal):
    """A purchase, which the buyer books by its days."""

    def __init__(self, *, operation: str) -> None:
        self.operation = operation
        super().__init__(
            f"{operation} is bought: book its order and its arrival on the buying list."
        )
