"""Sheets: what leaves the works on paper or as PDF, in one dress.

A document builds a story from the pieces here and hands it to `build` with a `Sheet`, which says
what stands in the title block. The same input gives the same bytes: no clock is read, so that an
issued revision can be proved unchanged by its hash. Letters and signs of the trade are in the
embedded faces. The PDF carries no tags; an accessible page shows the same facts beside it.
"""

from works.sheets.pieces import (
    Column,
    caution_box,
    caution_named,
    facts,
    heading,
    new_page,
    note,
    paragraph,
    picture,
    signatures,
    space,
    state_text,
    subheading,
    table,
    together,
)
from works.sheets.sheet import Sheet, build

__all__ = [
    "Column",
    "Sheet",
    "build",
    "caution_box",
    "caution_named",
    "facts",
    "heading",
    "new_page",
    "note",
    "paragraph",
    "picture",
    "signatures",
    "space",
    "state_text",
    "subheading",
    "table",
    "together",
]
