"""The route card that goes with a unit through the works."""

from dataclasses import dataclass
from datetime import date

from schedule.models import Gate, Operation, Piece, Unit
from schedule.queries.confirmations import flange_words
from works.cautions import CAUTIONS
from works.formats import pressure as bar_words
from works.models import Site


@dataclass(frozen=True)
class CardRow:
    """One operation on the card; dates are days, since times on paper grow old."""

    code: str
    name: str
    area: str
    work_centre: str
    duration: str
    drawing: str
    start_by: date | None
    done_on: date | None
    confirms: tuple[str, ...]
    holds: tuple[str, ...]
    shared: bool


@dataclass(frozen=True)
class RouteCard:
    """Everything printed on a unit's card.

    cautions : keys of the works' cautions that its operations carry
    """

    works: str
    is_demonstration: bool
    route: str
    revision: int
    unit: int
    of: int
    serial: str
    ship_by: date
    facts: tuple[tuple[str, str], ...]
    pieces: tuple[tuple[str, ...], ...]
    rows: tuple[CardRow, ...]
    cautions: tuple[str, ...]


def route_card(unit: Unit) -> RouteCard:
    """A unit's card, in a constant number of queries; its route must be at hand."""
    route, site = unit.route, Site.current()
    zone = site.zone
    operations = [
        operation
        for operation in Operation.objects.live()
        .select_related("work_centre")
        .filter(route=route)
        .order_by("position", "repeat", "pk")
        if operation.unit_id in {None, unit.pk}
    ]
    holds: dict[int, list[str]] = {}
    for gate in Gate.objects.filter(operation__in=operations, withdrawn_at=None).order_by("pk"):
        word = "released" if gate.cleared_at else "at risk" if gate.at_risk_at else "HOLD"
        holds.setdefault(gate.operation_id, []).append(f"{word} {gate.timing}: {gate.reason}")

    def day(operation: Operation) -> date | None:
        at = operation.planned_start_at or operation.latest_start_at
        return None if at is None else at.astimezone(zone).date()

    rows = tuple(
        CardRow(
            code=operation.code,
            name=operation.name,
            area=operation.area,
            work_centre=operation.work_centre.name if operation.work_centre else "",
            duration=(
                f"{operation.minutes / 60:g} h"
                if operation.kind == Operation.Kind.WORKING
                else f"{operation.minutes / 1440:g} d"
            ),
            drawing=(
                f"{operation.drawing} rev {operation.drawing_revision}" if operation.drawing else ""
            ),
            start_by=day(operation),
            done_on=operation.finished_at and operation.finished_at.astimezone(zone).date(),
            confirms=tuple(operation.confirmations),
            holds=tuple(holds.get(operation.pk, ())),
            shared=operation.unit_id is None,
        )
        for operation in operations
    )
    used = {operation.caution for operation in operations} | {
        operation.work_centre.caution for operation in operations if operation.work_centre
    }
    return RouteCard(
        works=site.name,
        is_demonstration=site.is_demonstration,
        route=route.label,
        revision=route.revision,
        unit=unit.number,
        of=route.quantity,
        serial=unit.serial or "",
        ship_by=unit.due_on or route.due_on,
        facts=_facts(route.configuration),
        pieces=tuple(
            (p.part, p.mark, f"{p.pattern.number} rev {p.pattern_revision}", p.heat, p.pair)
            for p in Piece.objects.select_related("pattern")
            .filter(unit=unit, state=Piece.State.TAKEN)
            .order_by("part")
        ),
        rows=rows,
        cautions=("release", *(key for key in CAUTIONS if key in used - {"release"})),
    )


def _facts(configuration: dict[str, object]) -> tuple[tuple[str, str], ...]:
    """What the floor must know of the pump, in its own words."""
    found = []
    for name, label in (
        ("size", "Casing"),
        ("casing_pattern", "Casing pattern"),
        ("impeller_pattern", "Impeller pattern"),
        ("casing_metal", "Casing metal"),
        ("impeller_metal", "Impeller metal"),
        ("rotation", "Rotation, from the drive end"),
        ("sealing", "Shaft sealing"),
    ):
        if value := configuration.get(name):
            found.append((label, str(value)))
    if diameter := configuration.get("impeller_diameter_mm"):
        found.append(("Impeller diameter", f"{diameter:g} mm"))
    for name, label in (("suction_flange", "Suction"), ("discharge_flange", "Discharge")):
        flange = configuration.get(name)
        if isinstance(flange, dict):
            found.append((label, flange_words(flange)))
    if pressure := configuration.get("test_pressure_pa"):
        found.append(("Hydrostatic test pressure", _bar(pressure)))
    if mass := configuration.get("pump_mass_kg"):
        found.append(("Mass without driver", f"{mass:g} kg"))
    return tuple(found)


def _bar(pressure_pa: object) -> str:
    return bar_words(float(str(pressure_pa)))
