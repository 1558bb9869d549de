"""The tables of standards as this works keeps them, for the engine that judges by them.

A row that somebody compared with the works' own copy says so in every verdict that rests on it.
"""

from quality.acceptance.standards import Tables
from quality.errors import StandardsMissing
from works.models import StandardValue
from works.standards import from_record


def tables() -> Tables:
    """All rows, with who checked which of them; one SQL query.

    raises : StandardsMissing while none are loaded
    """
    values = list(StandardValue.objects.select_related("checked_by"))
    if not values:
        raise StandardsMissing
    rows, checked = [], {}
    for value in values:
        row = from_record(
            {
                "table": value.table,
                "name": value.name,
                "standard": value.standard,
                "edition": value.edition,
                "clause": value.clause,
                "value": value.value,
                "certainty": value.certainty,
                "column_certainty": value.column_certainty,
                "source": value.source,
                "note": value.note,
            }
        )
        rows.append(row)
        if value.checked_on is not None:
            checked[row.key] = f"by {value.checked_by} on {value.checked_on}"
    return Tables(rows=tuple(rows), checked=checked)
