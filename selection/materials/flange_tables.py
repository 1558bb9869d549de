"""What the flange questions read: ratings a standard has, drillings, notes on mating."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from selection.materials.metals import Family, family_in
from works.standards import BadTable, Certainty, StandardRow, load, records
from works.standards.cells import certainty_in, number_of

FOLDER = Path(__file__).parent
FORMS_FILE = "flange_standards.csv"
NOTES_FILE = "mating_notes.csv"


class System(StrEnum):
    """How a standard names its ratings."""

    PN = "PN"
    CLASS = "Class"


@dataclass(frozen=True, kw_only=True)
class FlangeForm:
    """A rating that a standard has, and where its drilling is tabulated.

    number : PN [bar] or class [-]
    families : metals the standard covers
    drilling_standard, drilling_number : table and rating drilled alike
    """

    standard: str
    rating: str
    system: System
    number: int
    families: tuple[Family, ...]
    drilling_standard: str
    drilling_number: int
    certainty: Certainty
    source: str

    def __str__(self) -> str:
        return f"{self.standard} {self.rating}"


@dataclass(frozen=True, kw_only=True)
class MatingNote:
    """What to look to when two kinds of flange meet.

    flange, other_flange : beginning of standard and rating, "EN 1092-2" or "ASME B16.1 Class 125"
    family, other_family : of the metals, empty for any
    """

    name: str
    flange: str
    family: str
    other_flange: str
    other_family: str
    text: str
    source: str
    certainty: Certainty


@dataclass(frozen=True, kw_only=True)
class FlangeTables:
    """Everything the flange questions read, handed in so that an app's own rows may serve."""

    forms: tuple[FlangeForm, ...]
    pn_drilling: tuple[StandardRow, ...]
    class_drilling: tuple[StandardRow, ...]
    pn_ratings: tuple[StandardRow, ...]
    class_ratings: tuple[StandardRow, ...]
    notes: tuple[MatingNote, ...]


def load_flange_tables() -> FlangeTables:
    """Read the shipped tables."""
    return FlangeTables(
        forms=_read_forms((FOLDER / FORMS_FILE).read_text(encoding="utf-8-sig")),
        pn_drilling=load("en1092_2_drilling"),
        class_drilling=load("asme_b16_1_drilling"),
        pn_ratings=load("en1092_pressure_temperature"),
        class_ratings=load("asme_pressure_temperature"),
        notes=_read_notes((FOLDER / NOTES_FILE).read_text(encoding="utf-8-sig")),
    )


_FORM_HEAD = (
    "standard",
    "rating",
    "system",
    "number",
    "families",
    "drilling_standard",
    "drilling_number",
    "certainty",
    "source",
)
_NOTE_HEAD = (
    "name",
    "flange",
    "family",
    "other_flange",
    "other_family",
    "text",
    "source",
    "certainty",
)


def _read_forms(text: str) -> tuple[FlangeForm, ...]:
    found = []
    for row, cells in records(text, FORMS_FILE, _FORM_HEAD):
        if cells["system"] not in list(System):
            raise BadTable(
                file=FORMS_FILE,
                row=row,
                column="system",
                found=f"'{cells['system']}'",
                wanted="one of " + ", ".join(System),
            )
        number, drilling = (
            int(number_of(cells[c], file=FORMS_FILE, row=row, column=c))
            for c in ("number", "drilling_number")
        )
        families = tuple(
            family_in(name.strip(), file=FORMS_FILE, row=row, column="families")
            for name in cells["families"].split("|")
        )
        found.append(
            FlangeForm(
                standard=cells["standard"],
                rating=cells["rating"],
                system=System(cells["system"]),
                number=number,
                families=families,
                drilling_standard=cells["drilling_standard"],
                drilling_number=drilling,
                certainty=certainty_in(
                    cells["certainty"], file=FORMS_FILE, row=row, column="certainty"
                ),
                source=cells["source"],
            )
        )
    return tuple(found)


def _read_notes(text: str) -> tuple[MatingNote, ...]:
    return tuple(
        MatingNote(
            name=cells["name"],
            flange=cells["flange"],
            family=cells["family"],
            other_flange=cells["other_flange"],
            other_family=cells["other_family"],
            text=cells["text"],
            source=cells["source"],
            certainty=certainty_in(
                cells["certainty"], file=NOTES_FILE, row=row, column="certainty"
            ),
        )
        for row, cells in records(text, NOTES_FILE, _NOTE_HEAD)
    )
