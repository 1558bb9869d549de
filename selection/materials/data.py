"""Everything an assessment reads, in one frozen bundle.

The app fills it from its own rows; `shipped` reads the repository's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from selection.materials.castings import CRACK_TEST_HEAD_M
from selection.materials.errors import IncompleteData
from selection.materials.flange_tables import FlangeTables, load_flange_tables
from selection.materials.language import Rule
from selection.materials.metals import (
    Metal,
    Metals,
    Part,
    load_metals,
    parts_in,
)
from selection.materials.rules import load_rules
from selection.materials.sealing import SealSettings
from selection.materials.walls import WallStrength, load_wall_strengths
from works.standards import BadTable, StandardRow, load, records

FOLDER = Path(__file__).parent
PREFERENCES_FILE = "preferences.csv"
_PREFERENCE_HEAD = ("part", "code", "why")


@dataclass(frozen=True, kw_only=True)
class Preference:
    """One metal the works offers for a part; rows stand cheapest and readiest first."""

    part: Part
    code: str
    why: str


@dataclass(frozen=True, kw_only=True)
class MaterialData:
    """Metals, rules, tables and the works' settings.

    crack_test_head_m : head from which impellers are crack-tested [m]
    """

    metals: Metals
    rules: tuple[Rule, ...]
    flanges: FlangeTables
    wall_strengths: tuple[WallStrength, ...]
    contraction: tuple[StandardRow, ...]
    seal_plans: tuple[StandardRow, ...]
    preferences: tuple[Preference, ...]
    seal_settings: SealSettings = field(default_factory=SealSettings)
    crack_test_head_m: float = CRACK_TEST_HEAD_M

    def __post_init__(self) -> None:
        for name, held, wanted in (
            ("metals", self.metals, "rows of the metals' list"),
            ("rules", self.rules, "rows of the rule files"),
            ("flange ratings", self.flanges.forms, "rows of the flange standards"),
            ("flush plans", self.seal_plans, "rows of API 682"),
        ):
            if not held:
                raise IncompleteData(missing=name, wanted=wanted)

    def offered_for(self, part: Part) -> tuple[Metal, ...]:
        """Metals the works offers for a part, cheapest and readiest first."""
        return tuple(self.metals[p.code] for p in self.preferences if p.part == part)


@cache
def shipped() -> MaterialData:
    """The repository's own rows."""
    metals = load_metals()
    return MaterialData(
        metals=metals,
        rules=load_rules(metals),
        flanges=load_flange_tables(),
        wall_strengths=load_wall_strengths(),
        contraction=load("pattern_contraction"),
        seal_plans=load("api682_plans"),
        preferences=read_preferences(
            (FOLDER / PREFERENCES_FILE).read_text(encoding="utf-8-sig"), PREFERENCES_FILE, metals
        ),
    )


def read_preferences(text: str, file: str, metals: Mapping[str, Metal]) -> tuple[Preference, ...]:
    """Read which metals the works offers, part by part, cheapest and readiest first.

    text : CSV
    file : its name, for errors
    metals : by code
    raises : BadTable
    """
    found = []
    for row, cells in records(text, file, _PREFERENCE_HEAD):
        parts = parts_in(cells["part"], file=file, row=row, column="part")
        code = cells["code"]
        if len(parts) != 1 or code not in metals or parts[0] not in metals[code].parts:
            raise BadTable(
                file=file,
                row=row,
                column="code",
                found=f"'{code}' for '{cells['part']}'",
                wanted="one part, and a code that the metals' list holds for it",
            )
        found.append(Preference(part=parts[0], code=code, why=cells["why"]))
    return tuple(found)
