"""Inks by role, and the ways a surface is filled.

On a page an ink is a class that follows the theme; on a sheet it is the light theme's colour. A
test holds these colours and `tokens.css` alike.
"""

from enum import StrEnum


class Ink(StrEnum):
    """Roles of colour, named as in `tokens.css`."""

    INK = "ink"
    SOFT = "ink-soft"
    RULE = "rule"
    RULE_STRONG = "rule-strong"
    PAPER = "paper"
    RAISED = "paper-raised"
    SUNK = "paper-sunk"
    ACCENT = "accent"
    GOOD = "good"
    WARN = "warn"
    BAD = "bad"
    HOLD = "hold"
    SERIES_1 = "series-1"
    SERIES_2 = "series-2"
    SERIES_3 = "series-3"
    SERIES_4 = "series-4"
    SERIES_5 = "series-5"


ON_PAPER: dict[Ink, str] = {
    Ink.INK: "#16201e",
    Ink.SOFT: "#4a5551",
    Ink.RULE: "#cbc7b7",
    Ink.RULE_STRONG: "#737972",
    Ink.PAPER: "#f5f3ea",
    Ink.RAISED: "#fcfbf5",
    Ink.SUNK: "#e9e6d9",
    Ink.ACCENT: "#23419b",
    Ink.GOOD: "#005e47",
    Ink.WARN: "#7a4a00",
    Ink.BAD: "#a32a00",
    Ink.HOLD: "#7f1d5c",
    Ink.SERIES_1: "#23419b",
    Ink.SERIES_2: "#a8480a",
    Ink.SERIES_3: "#00705a",
    Ink.SERIES_4: "#8a2a6b",
    Ink.SERIES_5: "#55605c",
}

SERIES: tuple[Ink, ...] = (
    Ink.SERIES_1,
    Ink.SERIES_2,
    Ink.SERIES_3,
    Ink.SERIES_4,
    Ink.SERIES_5,
)
# Each series has its own dash and marker, so that a grey print still tells them apart.
DASHES: tuple[tuple[float, ...], ...] = ((), (9, 4), (9, 3, 2, 3), (2, 3), (5, 3))


class Pattern(StrEnum):
    """How a surface is filled; drawn as strokes, so that screen and sheet show the same."""

    SOLID = "solid"
    EMPTY = "empty"
    RISING = "rising"
    UPRIGHT = "upright"
    LEVEL = "level"
    DOTS = "dots"


class Marker(StrEnum):
    """Shapes of a measured or chosen point."""

    DISC = "disc"
    SQUARE = "square"
    DIAMOND = "diamond"
    TRIANGLE = "triangle"
    CROSS = "cross"


MARKERS: tuple[Marker, ...] = tuple(Marker)
