"""Material certificates by heat, and heats in work that have none."""

from dataclasses import dataclass

from quality.models import MaterialCertificate
from schedule.models import Piece, Route


@dataclass(frozen=True, kw_only=True)
class MissingCertificate:
    """A heat poured for a route in work whose certificate is not accepted.

    received : it has come and is to be read
    """

    heat: str
    metal: str
    pieces: tuple[str, ...]
    routes: tuple[str, ...]
    received: bool


def certificates_missing() -> list[MissingCertificate]:
    """Heats in use without an accepted certificate; two SQL queries."""
    pieces = (
        Piece.objects.filter(
            state=Piece.State.TAKEN,
            unit__route__state__in=[Route.State.RELEASED, Route.State.ON_HOLD],
        )
        .exclude(heat="")
        .select_related("unit__route")
        .order_by("heat", "mark")
    )
    by_heat: dict[str, list[Piece]] = {}
    for piece in pieces:
        by_heat.setdefault(piece.heat, []).append(piece)
    kept = {c.heat: c for c in MaterialCertificate.objects.filter(heat__in=by_heat)}
    return [
        MissingCertificate(
            heat=heat,
            metal=its[0].metal,
            pieces=tuple(piece.mark for piece in its),
            routes=tuple(dict.fromkeys(str(piece.unit.route) for piece in its if piece.unit)),
            received=heat in kept,
        )
        for heat, its in by_heat.items()
        if heat not in kept or kept[heat].accepted_on is None
    ]
