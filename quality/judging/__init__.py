"""From kept inputs to a verdict, for each kind of record.

A record keeps its inputs as JSON and the verdict that came of them. Each module here says what the
inputs of one kind are (a frozen dataclass around the engine's own), and has one function that
judges them by the works' tables of standards: the same function when a record is entered and when
somebody computes the verdict again years later. Nothing here reads or writes the database, and
nothing knows a form.
"""

ENGINE_VERSION = "acceptance 1"
"""Written into each record; grows when the engine's rules change a verdict."""
