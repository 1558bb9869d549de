"""The page itself: frame, title block at the foot, page n of m."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from works.cautions import JUDGEMENT
from works.sheets.faces import BOLD, PLAIN, register

INK, SOFT = HexColor("#16201e"), HexColor("#4a5551")
MARGIN, BINDING = 12 * mm, 20 * mm
BLOCK = 19 * mm  # height of the title block


@dataclass(frozen=True)
class Sheet:
    """What stands in the title block.

    works : the works' name
    title : kind of document, e.g. "Status report"
    number : its own number, e.g. "26-0412 / S3"
    about : whom or what it is about, e.g. the customer and the customer's reference
    revision : letter or number, "" for none
    issued : when and by whom in words, e.g. "2026-03-04 14:05, M. Quiroga"
    warning : stands in the block in bold, e.g. "Draft" or "Demonstration: invented data"
    wide : landscape
    """

    works: str
    title: str
    number: str
    about: str = ""
    revision: str = ""
    issued: str = ""
    warning: str = ""
    wide: bool = False

    @property
    def page_size(self) -> tuple[float, float]:
        """Width and height [pt]."""
        short, long = A4
        return (float(long), float(short)) if self.wide else (float(short), float(long))

    @property
    def text_width(self) -> float:
        """Room for the story between the margins [pt]."""
        return float(self.page_size[0] - BINDING - MARGIN - 8 * mm)


def build(sheet: Sheet, story: Sequence[Flowable]) -> bytes:
    """Set a story on sheets.

    story : consumed; the same sheet and an equal story give equal bytes
    """
    register()
    height = sheet.page_size[1]
    paper = BytesIO()
    document = BaseDocTemplate(
        paper,
        pagesize=sheet.page_size,
        title=f"{sheet.title} {sheet.number}".strip(),
        author=sheet.works,
        subject=sheet.about or None,
        creator="Greensand",
        lang="en-GB",
        invariant=1,
        displayDocTitle=1,
        initialFontName=PLAIN,
    )
    frame = Frame(
        BINDING + 4 * mm,
        MARGIN + BLOCK + 2 * mm,
        sheet.text_width,
        height - 2 * MARGIN - BLOCK - 5 * mm,
        leftPadding=0,
        rightPadding=0,
        topPadding=2 * mm,
        bottomPadding=0,
    )
    document.addPageTemplates([PageTemplate(id="sheet", frames=[frame])])

    class Numbered(_NumberedCanvas):
        block = sheet

    document.build(list(story), canvasmaker=Numbered)
    return paper.getvalue()


class _NumberedCanvas(Canvas):
    """Keeps the pages until the last is known, then writes "page n of m" on each."""

    block: Sheet

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802, reportlab's name
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for number, page in enumerate(self._kept, start=1):
            self.__dict__.update(page)
            _frame_and_block(self, self.block, number, len(self._kept))
            super().showPage()
        super().save()


def _frame_and_block(canvas: Canvas, sheet: Sheet, page: int, pages: int) -> None:
    width, height = sheet.page_size
    left, right, foot = BINDING, width - MARGIN, MARGIN
    canvas.saveState()
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.9)
    canvas.rect(left, foot, right - left, height - 2 * MARGIN)
    top = foot + BLOCK
    canvas.line(left, top, right, top)
    room = right - left
    # works | title and number | revision and page, parted like a drawing's title block
    first, second = left + room * 0.30, left + room * 0.80
    canvas.setLineWidth(0.5)
    canvas.line(first, foot, first, top)
    canvas.line(second, foot, second, top)
    gap = 2 * mm
    _put(canvas, sheet.works, left + gap, top - 5.5 * mm, first - left - 2 * gap, 10, bold=True)
    _lines(
        canvas,
        sheet.warning or JUDGEMENT,
        left + gap,
        top - 9.5 * mm,
        first - left - 2 * gap,
        bold=bool(sheet.warning),
    )
    middle = second - first - 2 * gap
    _put(canvas, sheet.title, first + gap, top - 5.5 * mm, middle * 0.6, 10, bold=True)
    _put_right(canvas, sheet.number, second - gap, top - 5.5 * mm, middle * 0.38, 10)
    _put(canvas, sheet.about, first + gap, top - 10.5 * mm, middle, 8)
    if sheet.issued:
        _put(canvas, f"Issued {sheet.issued}", first + gap, top - 15.5 * mm, middle, 8)
    last = right - second - 2 * gap
    revision = f"Revision {sheet.revision}" if sheet.revision else ""
    _put(canvas, revision, second + gap, top - 5.5 * mm, last, 8, bold=True)
    _put(canvas, f"Page {page} of {pages}", second + gap, top - 15.5 * mm, last, 8)
    canvas.restoreState()
    if sheet.warning:
        canvas.saveState()
        canvas.setFillColor(SOFT)
        canvas.setFont(PLAIN, 6)
        canvas.drawString(left, foot - 3 * mm, JUDGEMENT)
        canvas.restoreState()


def _put(
    canvas: Canvas, text: str, x: float, y: float, room: float, size: float, *, bold: bool = False
) -> None:
    face = BOLD if bold else PLAIN
    canvas.setFillColor(INK)
    canvas.setFont(face, _fitting(text, face, size, room))
    canvas.drawString(x, y, text)


def _put_right(canvas: Canvas, text: str, x: float, y: float, room: float, size: float) -> None:
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, _fitting(text, BOLD, size, room))
    canvas.drawRightString(x, y, text)


def _fitting(text: str, face: str, size: float, room: float) -> float:
    """The size at which a line fits its cell; names in a block are never cut off."""
    wide = stringWidth(text, face, size)
    return size if wide <= room else size * room / wide


def _lines(canvas: Canvas, text: str, x: float, y: float, room: float, *, bold: bool) -> None:
    """Up to three small lines, as many as the cell holds."""
    face, size = (BOLD, 7.5) if bold else (PLAIN, 5.8)
    canvas.setFillColor(INK if bold else SOFT)
    canvas.setFont(face, size)
    written = canvas.beginText(x, y)
    written.setFont(face, size, leading=size * 1.25)
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and stringWidth(longer, face, size) > room:
            written.textLine(line)
            line = word
        else:
            line = longer
    written.textLine(line)
    canvas.drawText(written)
