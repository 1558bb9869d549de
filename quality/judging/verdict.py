"""What judging comes to, in the form that a record keeps."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from quality.acceptance.evidence import Outcome, Row, least_certain


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A verdict with what a page and a sheet say about it.

    outcome : of the record
    result : JSON, with `reasons` and `rows` whatever the kind
    """

    outcome: Outcome
    result: Mapping[str, Any]


def judged(outcome: Outcome, *, reasons: Iterable[str], rows: Iterable[Row], **more: Any) -> Judged:
    """A verdict whose rows of standards say how sure they are."""
    used = tuple(rows)
    return Judged(
        outcome=outcome,
        result={
            "outcome": str(outcome),
            "reasons": list(reasons),
            "rows": [row_as_kept(row) for row in used],
            "certainty": str(least_certain(used)),
            "unchecked": sum(row.needs_checking for row in used),
            **more,
        },
    )


def row_as_kept(row: Row) -> dict[str, Any]:
    """A row of a standard as a verdict names it."""
    return {
        "title": row.title,
        "name": row.name,
        "sentence": row.sentence,
        "certainty": str(row.certainty),
        "needs_checking": row.needs_checking,
    }
