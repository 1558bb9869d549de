"""Tables of standards as controlled data, and how sure each value is.

Each CSV file beside this one is a table; `columns.csv` says what its columns hold. A row names
its standard, edition and clause, where its values come from and how sure they are: confirmed,
confirmed-2nd, memory or common practice. `load` reads a table into frozen, checked rows with a
stable key; `matching`, `one`, `band`, `band_below` and `between` ask questions of rows and refuse
what lies beyond them. Computation takes rows as arguments and never reads a file by itself, so
an app can keep the rows in its database, where a responsible engineer checks them against the
bought standard. How to add an edition stands in the folder's README.
"""

from works.standards.certainty import Certainty, least
from works.standards.errors import (
    BadTable,
    NoSuchColumn,
    NoSuchRow,
    NoSuchTable,
    OutsideTable,
    StandardsError,
)
from works.standards.lookup import Interpolated, band, band_below, between, matching, one
from works.standards.rows import Column, Kind, StandardRow, Value
from works.standards.tables import (
    FOLDER,
    columns,
    from_record,
    load,
    load_all,
    read,
    records,
    table_names,
)

__all__ = [
    "FOLDER",
    "BadTable",
    "Certainty",
    "Column",
    "Interpolated",
    "Kind",
    "NoSuchColumn",
    "NoSuchRow",
    "NoSuchTable",
    "OutsideTable",
    "StandardRow",
    "StandardsError",
    "Value",
    "band",
    "band_below",
    "between",
    "columns",
    "from_record",
    "least",
    "load",
    "load_all",
    "matching",
    "one",
    "read",
    "records",
    "table_names",
]
