"""The same picture on a sheet: drawn on a reportlab canvas with the light theme's inks."""

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

from works.drawing.inks import ON_PAPER, Ink
from works.drawing.marks import Disc, Hot, Mark, Picture, Trace, Words

FAINT = 0.18
WHITE_ON_SHEETS = {Ink.PAPER, Ink.RAISED}


def draw(
    picture: Picture, canvas: Canvas, x: float, y: float, width: float, *, face: str, bold: str
) -> None:
    """Put a picture on a sheet.

    x, y : lower left corner [pt]
    width : on the sheet; the height follows [pt]
    face, bold : registered fonts
    """
    canvas.saveState()
    canvas.translate(x, y)
    scale = width / picture.width
    canvas.scale(scale, scale)
    for item in picture.marks:
        for mark in item.marks if isinstance(item, Hot) else (item,):
            _put(mark, canvas, picture.height, face, bold)
    canvas.restoreState()


def _put(mark: Mark, canvas: Canvas, height: float, face: str, bold: str) -> None:
    if isinstance(mark, Trace):
        _trace(mark, canvas, height)
    elif isinstance(mark, Disc):
        if mark.stroke or mark.fill:
            _paint(mark, canvas)
            at = (mark.at[0], height - mark.at[1])
            canvas.circle(
                *at,
                mark.radius,
                stroke=int(mark.stroke is not None),
                fill=int(mark.fill is not None),
            )
    else:
        _words(mark, canvas, height, bold if mark.bold else face)


def _trace(mark: Trace, canvas: Canvas, height: float) -> None:
    canvas.saveState()
    _paint(mark, canvas)
    if mark.dash:
        canvas.setDash(list(mark.dash))
    if mark.faint:
        canvas.setFillAlpha(FAINT)
    path = canvas.beginPath()
    (first_x, first_y), *others = mark.places
    path.moveTo(first_x, height - first_y)
    for at_x, at_y in others:
        path.lineTo(at_x, height - at_y)
    if mark.closed:
        path.close()
    canvas.drawPath(path, stroke=int(mark.stroke is not None), fill=int(mark.fill is not None))
    canvas.restoreState()


def _words(mark: Words, canvas: Canvas, height: float, face: str) -> None:
    canvas.saveState()
    canvas.setFillColor(_colour(mark.ink))
    canvas.setFont(face, mark.size)
    canvas.translate(mark.at[0], height - mark.at[1])
    if mark.turned:
        canvas.rotate(90)
    write = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[mark.anchor]
    write(0, 0, mark.text)
    canvas.restoreState()


def _paint(mark: Trace | Disc, canvas: Canvas) -> None:
    if mark.stroke:
        canvas.setStrokeColor(_colour(mark.stroke))
        canvas.setLineWidth(mark.width)
    if mark.fill:
        canvas.setFillColor(_colour(mark.fill))


def _colour(ink: Ink) -> Color:
    return HexColor("#ffffff" if ink in WHITE_ON_SHEETS else ON_PAPER[ink])
