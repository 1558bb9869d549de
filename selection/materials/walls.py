"""Strength of an iron in the wall of the casting, below that of its separately cast bar."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from selection.materials.errors import NoStrength
from works.standards import Certainty, records
from works.standards.cells import certainty_in, number_of

FOLDER = Path(__file__).parent
WALLS_FILE = "strength_in_casting.csv"


@dataclass(frozen=True, kw_only=True)
class WallStrength:
    """Tensile strength to expect in a casting of one wall.

    wall_mm : [mm]
    tensile_mpa : anticipated, not guaranteed [MPa]
    """

    code: str
    wall_mm: float
    tensile_mpa: float
    source: str
    certainty: Certainty


_WALL_HEAD = ("code", "wall_mm", "tensile_mpa", "source", "certainty")


def load_wall_strengths(folder: Path = FOLDER) -> tuple[WallStrength, ...]:
    """Read the shipped table of strengths in the casting."""
    text = (folder / WALLS_FILE).read_text(encoding="utf-8-sig")
    return tuple(
        WallStrength(
            code=cells["code"],
            wall_mm=number_of(cells["wall_mm"], file=WALLS_FILE, row=row, column="wall_mm"),
            tensile_mpa=number_of(
                cells["tensile_mpa"], file=WALLS_FILE, row=row, column="tensile_mpa"
            ),
            source=cells["source"],
            certainty=certainty_in(
                cells["certainty"], file=WALLS_FILE, row=row, column="certainty"
            ),
        )
        for row, cells in records(text, WALLS_FILE, _WALL_HEAD)
    )


def strength_in_casting(
    code: str, wall_mm: float, strengths: Iterable[WallStrength]
) -> tuple[float, Certainty, str]:
    """Tensile strength to expect in a wall, linear between tabulated walls.

    code : of the metal
    wall_mm : of the casting [mm]
    strengths : table
    returns : strength [MPa], its certainty, its source
    raises : NoStrength beyond the tabulated walls: nothing is extrapolated
    """
    held = sorted((s for s in strengths if s.code == code), key=lambda s: s.wall_mm)
    walls = tuple(s.wall_mm for s in held)
    for thin, thick in pairwise(held):
        if thin.wall_mm <= wall_mm <= thick.wall_mm:
            share = (wall_mm - thin.wall_mm) / (thick.wall_mm - thin.wall_mm)
            strength = thin.tensile_mpa + share * (thick.tensile_mpa - thin.tensile_mpa)
            return strength, max(thin.certainty, thick.certainty, key=lambda c: c.rank), thin.source
    raise NoStrength(code=code, wall_mm=wall_mm, walls=walls)
