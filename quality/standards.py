"""The tables of standards as this works keeps them, for the engine that judges by them.

A row that somebody compared with the works' own copy says so in every verdict that rests on it.
"""

from django.db.models import Q

from quality.acceptance.standards import Tables
from quality.errors import StandardsMissing
from works.models import StandardValue
from works.standards import from_record

JUDGED_BY = Q(table__startswith="iso9906") | Q(table__startswith="hydrostatic")
"""The tables that tests are judged by; the many others need not be read for a verdict."""


def tables() -> Tables:
    """Rows that tests are judged by, with who checked which of them; one SQL query.

    raises : StandardsMissing while none are loaded
    """
    values = list(StandardValue.objects.filter(JUDGED_BY).select_related("checked_by"))
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
