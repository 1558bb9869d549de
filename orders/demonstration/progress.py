"""Bringing a route to where it stands today: every report and release a person would have made.

Work follows the forecast made on the day the order was taken, some days behind it where the row
says so.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from orders.demonstration import records
from orders.demonstration.ledger import Ledger
from quality.models import InspectionPoint
from schedule.models import BoughtOut, Gate, Link, Operation, Piece, Route
from selection.models import Pattern
from works.models import Person
from works.people import Area

STEADY_DAYS = 12  # work runs to plan at first; the lag shows after that
POURS = {"FDY-U-POUR": "upper half", "FDY-L-POUR": "lower half", "FDY-I-POUR": "impeller"}
SUPPLIERS = {
    "BUY-MOTOR": "Volterra Motores",
    "BUY-MOTOR-DRAWING": "Volterra Motores",
    "BUY-COUPLING": "Acoplamentos Douro Norte",
    "BUY-SEAL": "Selaris Mecânica",
    "BUY-PACKING": "Selaris Mecânica",
    "BUY-BEARINGS": "Rolamentos Sabor",
    "BUY-HOUSINGS": "Fundição Irmãos Lage",
    "BUY-BAR": "Aços Cávado",
}
SUPERVISOR = {
    Area.PATTERN_SHOP: "foundry",
    Area.FOUNDRY: "foundry",
    Area.MACHINE_SHOP: "machining",
    Area.ASSEMBLY: "machining",
    Area.DISPATCH: "machining",
    Area.TEST_BED: "testbed",
    Area.BUYING: "buyer",
}


@dataclass
class Advance:
    """One route being brought forward.

    until : nothing is reported after this
    lag : days that work runs behind
    withheld : codes of points that nobody releases
    leak : the first unit's pressure test shows water through the casing's body
    """

    route: Route
    people: Mapping[str, Person]
    taken_at: datetime
    until: datetime
    lag: int = 0
    withheld: frozenset[str] = frozenset()
    leak: bool = False

    def run(self) -> None:
        """Walk the operations in the order of their forecast."""
        self.ledger = Ledger(self.route, self.people["quality"])
        self.patterns = Pattern.objects.in_bulk(field_name="number")
        self.parts = {
            part.operation_id: part
            for part in BoughtOut.objects.filter(operation__route=self.route)
        }
        self.before: dict[int, list[int]] = defaultdict(list)
        links = Link.objects.filter(after__route=self.route)
        for source, target in links.values_list("before_id", "after_id"):
            self.before[target].append(source)
        self.points: dict[int, list[InspectionPoint]] = defaultdict(list)
        points = InspectionPoint.objects.filter(plan__route=self.route, withdrawn_at=None)
        for point in points.select_related("gate", "operation"):
            self.points[point.operation_id].append(point)
        operations = (
            self.route.operations.live()
            .select_related("unit", "route", "work_centre")
            .order_by("earliest_start_at", "position")
        )
        self.finished: set[int] = set()
        for operation in operations:
            if set(self.before[operation.pk]) <= self.finished and self._one(operation):
                self.finished.add(operation.pk)
        self.ledger.flush()

    def _one(self, operation: Operation) -> bool:
        """Report one operation as far as time and holds allow; True when it is finished."""
        start, finish = self._when(operation)
        if start > self.until:
            return False
        self._release(operation, Gate.Timing.BEFORE, start - timedelta(minutes=20))
        if self._held(operation):
            return False
        who = self.people[SUPERVISOR.get(Area(operation.area), "planner")]
        self.ledger.start(operation, start, who)
        if operation.kind == Operation.Kind.BOUGHT_OUT:
            self._buy(operation, start, finish)
        if finish > self.until:
            return False
        if operation.code in records.TESTED:
            self.ledger.flush()  # a record is kept of an operation that has started
            leaks = self.leak and operation.unit is not None and operation.unit.number == 1
            if not records.record(operation, self.people, start, finish, leak=leaks):
                return False
        self._release(operation, Gate.Timing.DURING, finish - timedelta(minutes=10))
        if self._holds(operation.pk, Gate.Timing.DURING):
            return False
        self.ledger.finish(operation, finish, who)
        if operation.code in POURS:
            self._pour(operation, finish)
        self._release(operation, Gate.Timing.AFTER, finish + timedelta(minutes=10))
        return True

    def _when(self, operation: Operation) -> tuple[datetime, datetime]:
        start, finish = operation.earliest_start_at, operation.earliest_finish_at
        assert start is not None and finish is not None
        steady = self.taken_at + timedelta(days=STEADY_DAYS)
        behind = timedelta(days=self.lag)
        return (
            start + behind if start > steady else start,
            finish + behind if finish > steady else finish,
        )

    def _release(self, operation: Operation, timing: str, at: datetime) -> None:
        for point in self.points[operation.pk]:
            if point.timing == timing and point.code not in self.withheld:
                self.ledger.release(point, at)

    def _held(self, operation: Operation) -> bool:
        return self._holds(operation.pk, Gate.Timing.BEFORE) or any(
            self._holds(source, Gate.Timing.AFTER) for source in self.before[operation.pk]
        )

    def _holds(self, operation_id: int, timing: str) -> bool:
        return any(
            point.gate is not None and point.gate.is_open
            for point in self.points[operation_id]
            if point.timing == timing
        )

    def _buy(self, operation: Operation, start: datetime, finish: datetime) -> None:
        part = self.parts[operation.pk]
        part.supplier = SUPPLIERS.get(operation.code, "Armazém do Ave")
        part.ordered_on, part.promised_on = start.date(), finish.date()
        if finish <= self.until:
            part.arrived_on = finish.date()
        elif self.lag > 8:
            part.promised_on = (finish + timedelta(days=9)).date()
            part.note = "supplier's works is behind"
        self.ledger.buy(part)

    def _pour(self, operation: Operation, at: datetime) -> None:
        """Register what was poured; halves poured for one unit stay a pair."""
        unit, part = operation.unit, POURS[operation.code]
        assert unit is not None
        impeller = part == "impeller"
        pump = self.route.configuration
        pattern = self.patterns[pump["impeller_pattern" if impeller else "casing_pattern"]]
        letter = {"upper half": "U", "lower half": "L", "impeller": "I"}[part]
        piece = Piece(
            mark=f"{unit.serial}-{letter}",
            part=part,
            pattern=pattern,
            pattern_revision=pattern.revision,
            metal=pump["impeller_metal" if impeller else "casing_metal"],
            heat=f"H{at:%y%j}{'B' if impeller else 'A'}{self.route.pk}",
            pair="" if impeller else f"{unit.serial}-P",
            rotation=pump.get("rotation", ""),
            poured_on=at.date(),
            state=Piece.State.TAKEN,
            unit=unit,
        )
        self.ledger.pour(piece, at)
