"""Metals that castings, rings, shafts and sleeves are made of, read from `metals.csv`.

The list is data: a works adds its own grades as rows. What a rule needs and a metal does not
state is None, and the rule then says that it could not judge.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from selection.materials.errors import UnknownMetal
from works.standards import BadTable, Certainty, records
from works.standards.cells import certainty_in, flag_of, number_of

FOLDER = Path(__file__).parent
METALS_FILE = "metals.csv"


class Family(StrEnum):
    """Families that behave alike in a liquid and at a running fit."""

    GREY_IRON = "grey iron"
    DUCTILE_IRON = "ductile iron"
    AUSTENITIC_IRON = "austenitic iron"
    CARBON_STEEL = "carbon steel"
    TIN_BRONZE = "tin bronze"
    LEADED_GUNMETAL = "leaded gunmetal"
    BRASS = "brass"
    ALUMINIUM_BRONZE = "aluminium bronze"
    MARTENSITIC = "martensitic stainless"
    AUSTENITIC = "austenitic stainless"
    DUPLEX = "duplex stainless"
    SUPER_DUPLEX = "super duplex stainless"
    OVERLAID = "overlaid stainless"


GROUPS: Mapping[str, frozenset[Family]] = {
    "iron": frozenset({Family.GREY_IRON, Family.DUCTILE_IRON}),
    "copper alloy": frozenset(
        {Family.TIN_BRONZE, Family.LEADED_GUNMETAL, Family.BRASS, Family.ALUMINIUM_BRONZE}
    ),
    "bronze": frozenset({Family.TIN_BRONZE, Family.LEADED_GUNMETAL, Family.ALUMINIUM_BRONZE}),
    "stainless": frozenset(
        {Family.MARTENSITIC, Family.AUSTENITIC, Family.DUPLEX, Family.SUPER_DUPLEX}
    ),
}


class Part(StrEnum):
    """Parts whose metal is chosen, and the impeller's side of the running fit."""

    CASING = "casing"
    IMPELLER = "impeller"
    RING = "ring"
    NECK = "impeller neck"
    SHAFT = "shaft"
    SLEEVE = "sleeve"


@dataclass(frozen=True, kw_only=True)
class Metal:
    """One metal. None: not stated in a source that could be trusted.

    tensile_mpa, proof_mpa, elongation_pct : minimum of the specification [MPa], [MPa], [%]
    hardness_low_hb, hardness_high_hb : Brinell; both the same where only a typical one is known
    density_kg_m3 : [kg/m3]
    tip_speed_m_s : highest of an impeller in clean water, screening [m/s]
    pren_low, pren_high : Cr + 3.3 Mo + 16 N [-]
    zinc_pct : highest of the specification [%]
    potential_mv : in flowing sea water against saturated calomel, passive if it can be [mV]
    heat_treatment : what the metal calls for after casting or forming, or empty
    ferromagnetic : magnetic particle testing works on it
    flange_table : material of the flange rating table that applies to it, or empty
    parts : parts the works makes of it
    """

    code: str
    name: str
    spec: str
    family: Family
    parts: tuple[Part, ...]
    castable: bool
    tensile_mpa: float | None
    proof_mpa: float | None
    elongation_pct: float | None
    hardness_low_hb: float | None
    hardness_high_hb: float | None
    density_kg_m3: float | None
    tip_speed_m_s: float | None
    pren_low: float | None
    pren_high: float | None
    zinc_pct: float | None
    potential_mv: float | None
    heat_treatment: str
    ferromagnetic: bool
    flange_table: str
    certainty: Certainty
    better: tuple[tuple[str, Certainty], ...]
    source: str
    note: str

    def certainty_of(self, *columns: str) -> Certainty:
        """How sure the named columns are; the row's own certainty is its least."""
        surer = dict(self.better)
        return max((surer.get(c, self.certainty) for c in columns), key=lambda c: c.rank)

    def as_cells(self) -> dict[str, str]:
        """The metal as its row has it, for a database or a form; `metal_in` reads it back."""
        cells = {column: _cell(getattr(self, column)) for column in METAL_HEAD[:-4]}
        return cells | {
            "parts": " | ".join(self.parts),
            "certainty": str(self.certainty),
            "column_certainty": "; ".join(f"{column}={c}" for column, c in self.better),
            "source": self.source,
            "note": self.note,
        }

    def is_one_of(self, names: Sequence[str]) -> bool:
        """Whether a rule's list of codes, families and groups takes this metal in."""
        return any(
            name in (self.code, self.family) or self.family in GROUPS.get(name, frozenset())
            for name in names
        )


_NUMBERS = {
    "tensile_mpa": (50, 2500),
    "proof_mpa": (30, 2000),
    "elongation_pct": (0, 80),
    "hardness_low_hb": (30, 750),
    "hardness_high_hb": (30, 750),
    "density_kg_m3": (1500, 12000),
    "tip_speed_m_s": (5, 200),
    "pren_low": (0, 60),
    "pren_high": (0, 60),
    "zinc_pct": (0, 60),
    "potential_mv": (-2000, 500),
}
METAL_HEAD = (
    "code",
    "name",
    "spec",
    "family",
    "parts",
    "castable",
    *_NUMBERS,
    "heat_treatment",
    "ferromagnetic",
    "flange_table",
    "certainty",
    "column_certainty",
    "source",
    "note",
)
Metals = Mapping[str, Metal]


def load_metals(folder: Path = FOLDER) -> Metals:
    """Read the shipped list."""
    return read_metals((folder / METALS_FILE).read_text(encoding="utf-8-sig"), METALS_FILE)


def read_metals(text: str, file: str) -> Metals:
    """Read metals from CSV text.

    text : with the head of the shipped file
    file : its name, for errors
    returns : by code, in file order
    raises : BadTable, with file, row, column and what would be right
    """
    found: dict[str, Metal] = {}
    for row, cells in records(text, file, METAL_HEAD):
        metal = metal_in(cells, file=file, row=row)
        if metal.code in found:
            raise BadTable(
                file=file,
                row=row,
                column="code",
                found=f"'{metal.code}' twice",
                wanted="a code of its own for each metal",
            )
        found[metal.code] = metal
    return found


def metal_of(code: str, metals: Metals) -> Metal:
    """The metal with that code.

    code : as the list has it
    metals : by code
    raises : UnknownMetal, with the codes there are
    """
    try:
        return metals[code]
    except KeyError:
        raise UnknownMetal(code=code, known=tuple(metals)) from None


def hardness_gap_hb(one: Metal, other: Metal) -> float | None:
    """Least difference of hardness that two metals are sure to have.

    one : either partner of a running fit
    other : the other partner
    returns : from the top of the softer range to the bottom of the harder, 0 where the ranges
        overlap; None when a range is not stated [HB]
    """
    if (
        one.hardness_low_hb is None
        or one.hardness_high_hb is None
        or other.hardness_low_hb is None
        or other.hardness_high_hb is None
    ):
        return None
    return max(
        0.0,
        one.hardness_low_hb - other.hardness_high_hb,
        other.hardness_low_hb - one.hardness_high_hb,
    )


def metal_in(cells: Mapping[str, str], *, file: str, row: int | None) -> Metal:
    """Check one row; the same door for a file and for a form.

    cells : one for each of METAL_HEAD
    file : or another word for where the row stands, for errors
    row : its line, if it has one
    raises : BadTable, with file, row, column and what would be right
    """
    for column in ("code", "name", "spec", "source"):
        if not cells[column]:
            raise BadTable(file=file, row=row, column=column, found="empty", wanted="a few words")
    numbers = {c: _number(cells[c], c, file=file, row=row) for c in _NUMBERS}
    for low, high in (("hardness_low_hb", "hardness_high_hb"), ("pren_low", "pren_high")):
        _refuse_half_range(numbers, low, high, file=file, row=row)
    certainty = certainty_in(cells["certainty"], file=file, row=row, column="certainty")
    return Metal(
        code=cells["code"],
        name=cells["name"],
        spec=cells["spec"],
        family=family_in(cells["family"], file=file, row=row, column="family"),
        parts=parts_in(cells["parts"], file=file, row=row, column="parts"),
        castable=flag_of(cells["castable"], file=file, row=row, column="castable"),
        heat_treatment=cells["heat_treatment"],
        ferromagnetic=flag_of(cells["ferromagnetic"], file=file, row=row, column="ferromagnetic"),
        flange_table=cells["flange_table"],
        certainty=certainty,
        better=_better(cells["column_certainty"], certainty, file=file, row=row),
        source=cells["source"],
        note=cells["note"],
        **numbers,
    )


def family_in(cell: str, *, file: str, row: int | None, column: str) -> Family:
    """A family named in a cell, or BadTable."""
    try:
        return Family(cell)
    except ValueError as error:
        raise BadTable(
            file=file,
            row=row,
            column=column,
            found=f"'{cell}'",
            wanted="one of " + ", ".join(Family),
        ) from error


def parts_in(cell: str, *, file: str, row: int | None, column: str) -> tuple[Part, ...]:
    """Parts named in a cell, separated by '|', or BadTable."""
    try:
        return tuple(Part(name.strip()) for name in cell.split("|") if name.strip())
    except ValueError as error:
        raise BadTable(
            file=file,
            row=row,
            column=column,
            found=f"'{cell}'",
            wanted="parts separated by '|', of " + ", ".join(Part),
        ) from error


def _cell(value: str | float | bool | tuple[Part, ...] | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value) if isinstance(value, float) else str("" if value is None else value)


def _number(cell: str, column: str, *, file: str, row: int | None) -> float | None:
    if not cell:
        return None
    value = number_of(cell, file=file, row=row, column=column)
    low, high = _NUMBERS[column]
    if not low <= value <= high:
        raise BadTable(
            file=file,
            row=row,
            column=column,
            found=cell,
            wanted=f"a number from {low} to {high}",
        )
    return value


def _refuse_half_range(
    numbers: Mapping[str, float | None], low: str, high: str, *, file: str, row: int | None
) -> None:
    bottom, top = numbers[low], numbers[high]
    if (bottom is None) is not (top is None):
        raise BadTable(
            file=file,
            row=row,
            column=low if bottom is None else high,
            found="empty while the other end is given",
            wanted="both ends, equal where only a typical value is known",
        )
    if bottom is not None and top is not None and bottom > top:
        raise BadTable(
            file=file,
            row=row,
            column=high,
            found=f"{top:g}, below the low end {bottom:g}",
            wanted="a high end that is not below the low end",
        )


def _better(
    cell: str, certainty: Certainty, *, file: str, row: int | None
) -> tuple[tuple[str, Certainty], ...]:
    found = []
    for part in filter(None, (part.strip() for part in cell.split(";"))):
        column, _, words = part.partition("=")
        surer = certainty_in(words, file=file, row=row, column="column_certainty")
        if column not in _NUMBERS or surer.rank >= certainty.rank:
            raise BadTable(
                file=file,
                row=row,
                column="column_certainty",
                found=f"'{part}'",
                wanted=f"column=certainty with a number column and a certainty above {certainty}",
            )
        found.append((column, surer))
    return tuple(found)
