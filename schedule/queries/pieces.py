"""Pieces: candidates to replace a lost one, and what was poured to an old pattern."""

from dataclasses import dataclass

from django.db.models import F, Q, QuerySet

from schedule.models import Operation, Piece, Route


@dataclass(frozen=True)
class Candidate:
    """A piece that could take a lost one's place, and who would pay for it.

    from_route, from_unit : None from the shelf
    days_in_hand : of the route that would give it [d]
    machined : work after the foundry has begun on its unit
    """

    piece_id: int
    mark: str
    heat: str
    pattern_revision: str
    old_pattern: bool
    from_route: str | None
    from_unit: int | None
    days_in_hand: float | None
    weight: int | None
    machined: bool


def candidates(piece: Piece) -> tuple[Candidate, ...]:
    """Pieces of the same part, pattern and metal: the shelf's first, then the least painful.

    The program proposes; a named person decides.
    """
    rows = (
        Piece.objects.select_related("pattern", "unit__route")
        .filter(part=piece.part, pattern=piece.pattern, metal=piece.metal)
        .filter(
            Q(state=Piece.State.SHELF)
            | Q(state=Piece.State.TAKEN, unit__shipped_on=None)
            & ~Q(unit__route__state=Route.State.SHIPPED)
        )
        .exclude(pk=piece.pk)
    )
    if piece.unit_id is not None:
        rows = rows.exclude(unit_id=piece.unit_id)
    if piece.rotation:
        rows = rows.filter(rotation__in=["", piece.rotation])
    pieces = list(rows)
    machined = set(
        Operation.objects.live()
        .filter(unit_id__in=[p.unit_id for p in pieces if p.unit_id], started_at__isnull=False)
        .filter(area__in=["machine shop", "assembly", "test bed", "dispatch"])
        .values_list("unit_id", flat=True)
    )
    found = [
        Candidate(
            piece_id=row.pk,
            mark=row.mark,
            heat=row.heat,
            pattern_revision=row.pattern_revision,
            old_pattern=row.pattern_revision != row.pattern.revision,
            from_route=str(row.unit.route) if row.unit else None,
            from_unit=row.unit.number if row.unit else None,
            days_in_hand=row.unit.route.days_in_hand if row.unit else None,
            weight=row.unit.route.weight if row.unit else None,
            machined=row.unit_id in machined,
        )
        for row in pieces
    ]
    return tuple(
        sorted(
            found,
            key=lambda c: (
                c.from_route is not None,
                c.machined,
                -(c.days_in_hand if c.days_in_hand is not None else 0.0),
                c.mark,
            ),
        )
    )


def poured_to_an_old_pattern() -> QuerySet[Piece]:
    """Pieces, neither scrapped nor shipped, poured to an older revision than their pattern's."""
    return (
        Piece.objects.select_related("pattern", "unit__route")
        .exclude(state=Piece.State.SCRAPPED)
        .exclude(unit__shipped_on__isnull=False)
        .exclude(pattern_revision=F("pattern__revision"))
        .order_by("pattern__number", "mark")
    )


def on_the_shelf() -> QuerySet[Piece]:
    """Pieces that no unit has taken."""
    return (
        Piece.objects.select_related("pattern")
        .filter(state=Piece.State.SHELF)
        .order_by("part", "pattern__number", "mark")
    )
