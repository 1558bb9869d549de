"""The slip of paper with a figure that shows beside a pointed-at mark."""

from works.drawing.inks import Ink
from works.drawing.marks import Mark, Place, Words, box

TEXT, LETTER, HEIGHT = 12.0, 0.56, 24.0


def beside(at: Place, says: str, width: float) -> Place:
    """Where a callout fits inside a picture of this width: its upper left corner [px]."""
    wide = _width(says)
    left = max(min(at[0] - wide / 2, width - 2 - wide), 2.0)
    above = at[1] - HEIGHT - 14
    return left, above if above > 0 else at[1] + 14


def callout(says: str, at: Place) -> tuple[Mark, ...]:
    """The paper and words of a callout from its upper left corner."""
    paper = box(*at, _width(says), HEIGHT, fill=Ink.RAISED, stroke=Ink.INK)
    return paper, Words((at[0] + 8, at[1] + 16), says, TEXT)


def _width(says: str) -> float:
    return len(says) * TEXT * LETTER + 16
