"""What can be wrong with a table of standards or a question put to it."""


class StandardsError(Exception):
    """Base class; the children carry their data."""


class BadTable(StandardsError):
    """A file or record that is not a table as `columns.csv` describes it."""

    def __init__(self, *, file: str, row: int | None, column: str, found: str, wanted: str) -> None:
        self.file = file
        self.row = row
        self.column = column
        self.found = found
        self.wanted = wanted
        place = file if row is None else f"{file}, row {row}"
        where = f"{place}, column {column}" if column else place
        super().__init__(f"{where}: {found}. Right would be: {wanted}.")


class NoSuchTable(StandardsError):
    """A table that the folder does not hold."""

    def __init__(self, table: str, known: tuple[str, ...]) -> None:
        self.table = table
        self.known = known
        super().__init__(f"No table '{table}' is held. There are: {', '.join(known)}.")


class NoSuchColumn(StandardsError):
    """A column asked of a row that has none, or one left empty, or one of another kind."""

    def __init__(self, *, row: str, column: str, found: str) -> None:
        self.row = row
        self.column = column
        super().__init__(f"Row '{row}': column '{column}' {found}.")


class NoSuchRow(StandardsError):
    """No row, or more than one, answers a question."""

    def __init__(self, *, asked: str, found: int, choices: tuple[str, ...]) -> None:
        self.asked = asked
        self.found = found
        self.choices = choices
        shown = ", ".join(choices) or "nothing"
        super().__init__(f"{found} rows for {asked}, one was wanted. The table holds: {shown}.")


class OutsideTable(StandardsError):
    """A value beyond the ends of a table; nothing is extrapolated."""

    def __init__(self, *, column: str, asked: float, lowest: float, highest: float) -> None:
        self.column = column
        self.asked = asked
        self.lowest = lowest
        self.highest = highest
        super().__init__(
            f"{column} {asked:g} lies outside the table, which runs from {lowest:g} to "
            f"{highest:g}; nothing is extrapolated."
        )
