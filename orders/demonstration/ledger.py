"""Past reports and releases, written in bulk so that the demonstration loads while you wait.

The rows are those that the deeds themselves would have written; the database's own guards judge
them all the same.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from quality.facts import Fact as QualityFact
from quality.models import InspectionPoint, MaterialCertificate, Part, Release
from schedule.facts import Fact
from schedule.models import BoughtOut, Gate, Operation, Piece, Progress, Route
from schedule.queries.confirmations import expected_confirmations
from works.models import Event, Person

REPORTED_AFTER = timedelta(minutes=5)


@dataclass
class Ledger:
    """What happened on one route, waiting to be written."""

    route: Route
    quality: Person
    reports: list[Progress] = field(default_factory=list)
    operations: dict[int, Operation] = field(default_factory=dict)
    releases: list[Release] = field(default_factory=list)
    gates: dict[int, Gate] = field(default_factory=dict)
    parts: dict[int, BoughtOut] = field(default_factory=dict)
    pieces: list[Piece] = field(default_factory=list)
    heats: dict[str, tuple[str, datetime]] = field(default_factory=dict)

    def start(self, operation: Operation, at: datetime, by: Person | None) -> None:
        self._report(operation, Progress.Deed.START, at, by)
        operation.state, operation.started_at = Operation.State.STARTED, at

    def finish(self, operation: Operation, at: datetime, by: Person | None) -> None:
        self._report(operation, Progress.Deed.FINISH, at, by)
        operation.state, operation.finished_at = Operation.State.FINISHED, at

    def _report(self, operation: Operation, deed: str, at: datetime, by: Person | None) -> None:
        self.reports.append(
            Progress(
                operation=operation,
                deed=deed,
                stated_at=at,
                reported_at=at + REPORTED_AFTER,
                by=by,
            )
        )
        self.operations[operation.pk] = operation

    def release(self, point: InspectionPoint, at: datetime) -> None:
        """Every holding party lets work go on; the point's gate is cleared."""
        for party, letter in point.parties().items():
            if letter == Part.HOLD:
                signer = str(self.quality) if party == "maker" else f"inspector, {party}"
                self.releases.append(
                    Release(
                        point=point,
                        party=party,
                        signed_by=signer,
                        record="found as required",
                        by=self.quality,
                        at=at,
                    )
                )
        if point.gate is not None:
            point.gate.cleared_by, point.gate.cleared_at = self.quality, at
            self.gates[point.gate.pk] = point.gate

    def buy(self, part: BoughtOut) -> None:
        self.parts[part.pk] = part

    def pour(self, piece: Piece, at: datetime) -> None:
        self.pieces.append(piece)
        self.heats[piece.heat] = (piece.metal, at)

    def flush(self) -> None:
        """Write everything: gates before the operations that they held."""
        Release.objects.bulk_create(self.releases)
        Gate.objects.bulk_update(self.gates.values(), ["cleared_by", "cleared_at"])
        Piece.objects.bulk_create(self.pieces)
        MaterialCertificate.objects.bulk_create(
            [
                MaterialCertificate(
                    heat=heat,
                    metal=metal,
                    received_on=at.date(),
                    accepted_by=self.quality,
                    accepted_on=at.date(),
                )
                for heat, (metal, at) in self.heats.items()
            ],
            ignore_conflicts=True,  # one melt may fill the moulds of two orders
        )
        BoughtOut.objects.bulk_update(
            self.parts.values(), ["supplier", "ordered_on", "promised_on", "arrived_on", "note"]
        )
        right = expected_confirmations(self.operations.values())
        for row in self.reports:
            if row.deed == Progress.Deed.START:
                row.confirmed = right.get(row.operation_id, {})
        Progress.objects.bulk_create(self.reports)
        Operation.objects.bulk_update(
            self.operations.values(), ["state", "started_at", "finished_at"]
        )
        Event.objects.bulk_create([*self._told_reports(), *self._told_releases()])
        for kept in (
            self.reports,
            self.operations,
            self.releases,
            self.gates,
            self.parts,
            self.pieces,
            self.heats,
        ):
            kept.clear()

    def _told_reports(self) -> list[Event]:
        return [
            Event(
                deed=Fact.PROGRESS_REPORTED,
                about_kind="schedule.route",
                about_id=self.route.pk,
                about_label=str(self.route),
                by=row.by,
                by_name=str(row.by or "Greensand"),
                at=row.reported_at,
                after={"route": self.route.pk, "reports": [f"{row.operation.name}: {row.deed}"]},
            )
            for row in self.reports
        ]

    def _told_releases(self) -> list[Event]:
        return [
            Event(
                deed=QualityFact.POINT_RELEASED,
                about_kind="quality.inspectionpoint",
                about_id=row.point.pk,
                about_label=str(row.point)[:200],
                by=row.by,
                by_name=str(row.by),
                at=row.at,
                after={"party": row.party, "signed by": row.signed_by},
            )
            for row in self.releases
        ]
