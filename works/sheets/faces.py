"""The faces that sheets are set in, embedded in each PDF."""

from functools import cache
from pathlib import Path

from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FOLDER = Path(__file__).with_name("ttf")
PLAIN, BOLD, SLANTED = "SheetPlain", "SheetBold", "SheetSlanted"
FILES = {
    PLAIN: "DejaVuSansCondensed.ttf",
    BOLD: "DejaVuSansCondensed-Bold.ttf",
    SLANTED: "DejaVuSansCondensed-Oblique.ttf",
}


@cache
def register() -> None:
    """Make the faces known to reportlab, once a process."""
    for name, file in FILES.items():
        pdfmetrics.registerFont(TTFont(name, FOLDER / file))
    for bold, slanted, name in ((0, 0, PLAIN), (1, 0, BOLD), (0, 1, SLANTED), (1, 1, BOLD)):
        addMapping(PLAIN, bold, slanted, name)
        addMapping(name, bold, slanted, name)


def has_glyph(character: str) -> bool:
    """Whether the plain face has a character."""
    register()
    return ord(character) in pdfmetrics.getFont(PLAIN).face.charToGlyph
