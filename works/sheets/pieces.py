"""Pieces of a story: headings, pairs, tables, cautions, pictures, places to sign.

Every text given here is plain: signs such as & and < are written as they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from works.cautions import CAUTIONS, Caution
from works.drawing.marks import Picture
from works.drawing.pdf import draw as draw_on_canvas
from works.sheets.faces import BOLD, PLAIN, register
from works.states import GLYPHS, look

INK, SOFT, RULE = HexColor("#16201e"), HexColor("#4a5551"), HexColor("#cbc7b7")
ROOM_UNDER_HEADING = 30 * mm
WARN, WARN_WASH = HexColor("#7a4a00"), HexColor("#f7e8c6")

register()
BODY = ParagraphStyle("body", fontName=PLAIN, fontSize=9, leading=12, textColor=INK, spaceAfter=4)
NOTE = ParagraphStyle("note", BODY, fontSize=7.5, leading=10, textColor=SOFT)
HEADING = ParagraphStyle(
    "heading", BODY, fontName=BOLD, fontSize=13, leading=16, spaceBefore=8, spaceAfter=4
)
SUBHEADING = ParagraphStyle(
    "subheading", BODY, fontName=BOLD, fontSize=10, leading=13, spaceBefore=6, spaceAfter=3
)
CELL = ParagraphStyle("cell", BODY, fontSize=8, leading=10, spaceAfter=0)
CELL_RIGHT = ParagraphStyle("cell-right", CELL, alignment=TA_RIGHT)
HEAD = ParagraphStyle("head", CELL, fontName=BOLD)
HEAD_RIGHT = ParagraphStyle("head-right", HEAD, alignment=TA_RIGHT)
NAME = ParagraphStyle("name", CELL, textColor=SOFT)
STRONG = ParagraphStyle("strong", CELL, fontName=BOLD)


@dataclass(frozen=True)
class Column:
    """A table's column.

    width : share of the table's width beside the other columns' shares
    numeric : figures, set to the right
    """

    label: str
    width: float = 1.0
    numeric: bool = False


class _Heading(Paragraph):
    """A heading that goes to the next page when hardly anything would fit under it.

    Keeping it with what follows would move a long table as a whole.
    """

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        width, height = super().wrap(available_width, available_height)
        if height <= available_height < height + ROOM_UNDER_HEADING:
            return width, available_height + 1
        return width, height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        return []


def heading(text: str) -> Flowable:
    """A section's heading, never alone at the foot of a page."""
    return _Heading(escape(text), HEADING)


def subheading(text: str) -> Flowable:
    """A heading below a heading, never alone at the foot of a page."""
    return _Heading(escape(text), SUBHEADING)


def paragraph(text: str) -> Flowable:
    """Running text."""
    return Paragraph(escape(text), BODY)


def note(text: str) -> Flowable:
    """Small print: a source, an assumption."""
    return Paragraph(escape(text), NOTE)


def space(millimetres: float = 3.0) -> Flowable:
    """Room between pieces."""
    return Spacer(1, millimetres * mm)


def new_page() -> Flowable:
    """What follows begins on a new page."""
    return PageBreak()


def together(*pieces: Flowable) -> Flowable:
    """Pieces that stay on one page when one can hold them."""
    return KeepTogether(list(pieces))


def facts(pairs: Sequence[tuple[str, str]], *, width: float, abreast: int = 1) -> Flowable:
    """Names and their values.

    width : of the whole, see `Sheet.text_width` [pt]
    abreast : pairs beside each other
    """
    if not pairs:
        return Spacer(0, 0)
    rows: list[list[Flowable | str]] = []
    for begin in range(0, len(pairs), abreast):
        row: list[Flowable | str] = []
        for name, value in pairs[begin : begin + abreast]:
            row += [Paragraph(escape(name), NAME), Paragraph(escape(value), STRONG)]
        rows.append(row + [""] * (2 * abreast - len(row)))
    each = width / abreast
    made = Table(rows, colWidths=[each * 0.38, each * 0.62] * abreast, hAlign="LEFT")
    made.setStyle(TableStyle([*_ROWS, ("LINEABOVE", (0, 0), (-1, 0), 0.9, INK)]))
    return made


def table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    *,
    width: float,
    marked: Sequence[int] = (),
    nothing: str = "Nothing to list.",
) -> Flowable:
    """A table whose heads stand again on every page.

    width : of the whole, see `Sheet.text_width` [pt]
    marked : indices of rows set in bold
    nothing : sentence that stands for an empty table
    """
    if not rows:
        return paragraph(nothing)
    head = [Paragraph(escape(each.label), HEAD_RIGHT if each.numeric else HEAD) for each in columns]
    body = [
        [
            Paragraph(
                f"<b>{escape(text)}</b>" if index in marked else escape(text),
                CELL_RIGHT if column.numeric else CELL,
            )
            for column, text in zip(columns, row, strict=True)
        ]
        for index, row in enumerate(rows)
    ]
    shares = sum(column.width for column in columns)
    widths = [width * column.width / shares for column in columns]
    made = Table([head, *body], colWidths=widths, repeatRows=1, hAlign="LEFT")
    lines = [
        ("LINEABOVE", (0, 0), (-1, 0), 1.2, INK),
        ("LINEBELOW", (0, 0), (-1, 0), 0.6, INK),
        ("LINEBELOW", (0, -1), (-1, -1), 0.6, INK),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ]
    made.setStyle(TableStyle([*_ROWS, *lines]))
    return made


_ROWS = [
    ("FONT", (0, 0), (-1, -1), PLAIN, 8),
    ("LINEBELOW", (0, 0), (-1, -1), 0.3, RULE),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ("LEFTPADDING", (0, 0), (-1, -1), 2),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
]


def caution_box(caution: Caution, *, width: float) -> Flowable:
    """A caution in its box, never parted over two pages."""
    text = [Paragraph(f"⚠ {escape(caution.title)}", STRONG)]
    bullet = "• " if len(caution.sentences) > 1 else ""
    text += [Paragraph(bullet + escape(sentence), CELL) for sentence in caution.sentences]
    bar = 2.2 * mm
    made = Table([["", text]], colWidths=[bar, width - bar], hAlign="LEFT")
    made.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 0.8, WARN),
                ("BACKGROUND", (0, 0), (0, -1), WARN),
                ("BACKGROUND", (1, 0), (1, -1), WARN_WASH),
                ("FONT", (0, 0), (-1, -1), PLAIN, 8),
                ("TOPPADDING", (0, 0), (-1, -1), 4),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
            ]
        )
    )
    return KeepTogether([made, Spacer(1, 2 * mm)])


def caution_named(key: str, *, width: float) -> Flowable:
    """One of the works' own cautions, see `works.cautions`."""
    return caution_box(CAUTIONS[key], width=width)


def state_text(key: str, word: str = "") -> str:
    """A state as glyph and word, for a cell."""
    shown = look(key)
    return f"{GLYPHS[shown.shape]} {word or shown.word}"


def signatures(roles: Sequence[str], *, width: float) -> Flowable:
    """Places to sign: role, name, date, signature."""
    heads = ["For", "Name in capitals", "Date", "Signature"]
    rows = [[Paragraph(escape(text), HEAD) for text in heads]]
    rows += [[Paragraph(escape(role), CELL), "", "", ""] for role in roles]
    shares = (0.25, 0.3, 0.15, 0.3)
    made = Table(
        rows,
        colWidths=[width * share for share in shares],
        rowHeights=[6 * mm, *[11 * mm] * len(roles)],
        hAlign="LEFT",
    )
    made.setStyle(
        TableStyle(
            [
                ("GRID", (0, 0), (-1, -1), 0.5, INK),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                ("FONT", (0, 0), (-1, -1), PLAIN, 8),
            ]
        )
    )
    return KeepTogether([made])


class _PictureFlowable(Flowable):
    """A picture in the flow of a story."""

    def __init__(self, shown: Picture, width: float) -> None:
        super().__init__()
        self.shown = shown
        self.width = width
        self.height = width * shown.height / shown.width

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        draw_on_canvas(self.shown, self.canv, 0, 0, self.width, face=PLAIN, bold=BOLD)


def picture(shown: Picture, *, width: float) -> Flowable:
    """A chart or route bar, the same as on screen.

    width : on the sheet; the height follows [pt]
    """
    return _PictureFlowable(shown, width)
