"""What the start of an operation confirms, and what would be right.

Only what the works knows is asked: a drawing that was issued, a pattern in the register, pieces
with their marks. The right answer is never shown beside the question.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from schedule.models import Operation, Piece, Route
from selection.models import Pattern

PIECES = {"U": Piece.Part.UPPER_HALF, "L": Piece.Part.LOWER_HALF, "I": Piece.Part.IMPELLER}
HALVES = (Piece.Part.UPPER_HALF, Piece.Part.LOWER_HALF)


def part_of(code: str) -> Piece.Part | None:
    """The piece an operation works on, which the second word of its code says: FDY-U-MOULD."""
    words = code.split("-")
    return PIECES.get(words[1]) if len(words) > 2 else None


def same(said: str, right: str) -> bool:
    """Whether two marks mean the same, however they are spaced, written or cased."""
    return _plain(said) == _plain(right)


def _plain(mark: str) -> str:
    words = re.findall(r"[a-z0-9]+", mark.casefold())
    return "".join(word for word in words if word not in {"rev", "revision"})


def expected_confirmations(operations: Iterable[Operation]) -> dict[int, dict[str, str]]:
    """What each operation's start must confirm, in a constant number of queries.

    operations : with their route and unit at hand
    returns : by primary key, the right answer by what is confirmed
    """
    rows = [operation for operation in operations if operation.confirmations]
    if not rows:
        return {}
    patterns = _patterns(rows)
    pieces: dict[int, dict[str, Piece]] = {}
    units = {row.unit_id for row in rows if row.unit_id is not None}
    for piece in Piece.objects.filter(unit_id__in=units, state=Piece.State.TAKEN):
        pieces.setdefault(piece.unit_id or 0, {})[piece.part] = piece
    found: dict[int, dict[str, str]] = {}
    for row in rows:
        its = pieces.get(row.unit_id or 0, {})
        pattern = patterns.get(_pattern_number(row))
        right = {
            "drawing revision": row.drawing and f"{row.drawing} rev {row.drawing_revision}",
            "pattern": f"{pattern.number} rev {pattern.revision}" if pattern else "",
            "core boxes": pattern.number if pattern and pattern.core_boxes else "",
            "drilling template": _template(row),
            "half-pair": _pair(its),
            "rotation": str(row.route.configuration.get("rotation", "")),
            "heat": _heat(row, its),
        }
        asked = {what: right[what] for what in row.confirmations if right.get(what)}
        if asked:
            found[row.pk] = asked
    return found


def _facts(operation: Operation) -> frozenset[str]:
    return frozenset(name for name, _ in operation.grown.get("facts", ()))


def _pattern_number(operation: Operation) -> str:
    """The pattern an operation rests on, by the facts it was grown with."""
    facts = _facts(operation)
    for part in ("casing", "impeller"):
        if facts & {f"{part}_pattern", f"{part}_pattern_work"}:
            return str(operation.route.configuration.get(f"{part}_pattern", ""))
    return ""


def _patterns(rows: Iterable[Operation]) -> dict[str, Pattern]:
    numbers = {_pattern_number(row) for row in rows} - {""}
    return {p.number: p for p in Pattern.objects.filter(number__in=numbers)} if numbers else {}


def _template(operation: Operation) -> str:
    """Both flanges where the operation rests on them, else the casing's own template."""
    configuration = operation.route.configuration
    if not _facts(operation) & {"suction_flange", "discharge_flange"}:
        return str(configuration.get("casing_pattern", ""))
    return flanges_words(configuration)


def drilling_templates() -> tuple[str, ...]:
    """Every template that a route in work may need, so that the right one must be picked out."""
    found = set()
    for configuration in Route.objects.filter(
        state__in=[Route.State.DRAFT, Route.State.RELEASED, Route.State.ON_HOLD]
    ).values_list("configuration", flat=True):
        found |= {flanges_words(configuration), str(configuration.get("casing_pattern", ""))}
    return tuple(sorted(found - {""}))


def flanges_words(configuration: Mapping[str, Any]) -> str:
    """Both flanges as their drilling templates are marked."""
    return " / ".join(
        flange_words(configuration[name])
        for name in ("suction_flange", "discharge_flange")
        if configuration.get(name)
    )


def flange_words(flange: Mapping[str, str]) -> str:
    """A flange as the drilling template is marked: EN 1092-2 PN 16 DN 250."""
    return f"{flange['standard']} {flange['rating']} {flange['nominal']}"


def _pair(pieces: Mapping[str, Piece]) -> str:
    """The pair's mark once both halves carry one, else the marks of both halves."""
    halves = [pieces[part] for part in HALVES if part in pieces]
    if len(halves) < 2:
        return ""
    upper, lower = halves
    if upper.pair and upper.pair == lower.pair:
        return upper.pair
    return f"{upper.mark} / {lower.mark}"


def _heat(operation: Operation, pieces: Mapping[str, Piece]) -> str:
    part = part_of(operation.code)
    piece = pieces.get(part) if part else None
    return piece.heat if piece else ""
