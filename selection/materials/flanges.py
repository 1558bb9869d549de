"""A flange as ordered: what it is, how it is drilled, what pressure it may see when warm.

Ratings are interpolated linearly between temperatures, never between classes or nominal
pressures, and nothing is extrapolated beyond the table (ASME B16.1, 3.1; EN 1092-2 tables).
Steady, shock-free pressure only.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from selection.configuration import Flange
from selection.materials.errors import BadFlange, NoRating
from selection.materials.flange_tables import FlangeForm, FlangeTables, System
from selection.materials.metals import Family, Metal
from selection.materials.quantities import BAR_PA, PSI_PA, bar_words, celsius, celsius_words
from works.standards import Certainty, OutsideTable, StandardRow, between, least, matching


@dataclass(frozen=True, kw_only=True)
class Known:
    """A flange found in the tables.

    dn : nominal size, metric [mm]
    nps : nominal pipe size of a Class flange, None for PN [in]
    """

    flange: Flange
    form: FlangeForm
    drilling: StandardRow
    dn: int
    nps: float | None

    @property
    def outside_mm(self) -> float:
        """Outside diameter [mm]."""
        return self.drilling.number("outside_mm")

    @property
    def bolt_circle_mm(self) -> float:
        """Bolt circle diameter [mm]."""
        return self.drilling.number("bolt_circle_mm")

    @property
    def bolt_count(self) -> int:
        """Number of bolts [-]."""
        return self.drilling.integer("bolt_count")

    @property
    def hole_mm(self) -> float:
        """Bolt hole diameter [mm]."""
        return self.drilling.number("hole_mm")

    @property
    def drilling_words(self) -> str:
        """Outside diameter, bolt circle, bolts in one phrase."""
        return (
            f"{self.outside_mm:g} mm outside, {self.bolt_count} × {self.drilling.text('bolt')} "
            f"on {self.bolt_circle_mm:g} mm"
        )

    def drilled_as(self, other: "Known") -> bool:
        """Same bolt circle, number of bolts and holes; the bolts go through.

        Half a millimetre covers the rounding of inch tables.
        """
        return (
            self.form.system is other.form.system
            and self.bolt_count == other.bolt_count
            and abs(self.bolt_circle_mm - other.bolt_circle_mm) <= 0.5
            and abs(self.hole_mm - other.hole_mm) <= 0.5
        )

    @property
    def drilling_certainty(self) -> Certainty:
        """Of the drilling: the table's cells and the statement that they apply."""
        cells = self.drilling.certainty_of("bolt_circle_mm", "bolt_count", "hole_mm")
        return least((cells, self.form.certainty))


@dataclass(frozen=True, kw_only=True)
class Rating:
    """Highest pressure of a flange at a temperature.

    pressure_pa : gauge [Pa]
    sentence : with the table's figures
    """

    pressure_pa: float
    sentence: str
    source: str
    certainty: Certainty


_NOMINAL = re.compile(r"(DN|NPS)\s*([0-9]+(?:\.[0-9]+)?)", re.IGNORECASE)
_RATING = re.compile(r"(PN|Class)\s*([0-9]+)", re.IGNORECASE)


def find(flange: Flange, tables: FlangeTables) -> Known:
    """Find a flange in the tables.

    flange : standard, rating as "PN 16" or "Class 125", nominal as "DN 250" or "NPS 10"
    tables : to look in
    raises : BadFlange, with what would be right
    """
    form = form_of(flange.standard, flange.rating, tables, shown=str(flange))
    found = _NOMINAL.fullmatch(flange.nominal.strip())
    if found is None:
        raise BadFlange(
            flange=str(flange),
            found=f"the size '{flange.nominal}' is not understood",
            wanted="a size as 'DN 250' or 'NPS 10'",
        )
    unit, size = found[1].upper(), float(found[2])
    flange = Flange(standard=form.standard, rating=form.rating, nominal=f"{unit} {size:g}")
    if form.system is System.PN:
        return _find_pn(flange, form, unit, size, tables)
    return _find_class(flange, form, unit, size, tables)


def form_of(standard: str, rating: str, tables: FlangeTables, *, shown: str = "") -> FlangeForm:
    """Find a standard and rating.

    standard : as "EN 1092-2"
    rating : as "PN 16" or "Class 125", spaces and case as you like
    tables : to look in
    shown : how an error names the flange
    raises : BadFlange, with what would be right
    """
    name = " ".join(standard.split())
    of_standard = [form for form in tables.forms if form.standard == name]
    shown = shown or f"{standard} {rating}"
    if not of_standard:
        standards = ", ".join(dict.fromkeys(form.standard for form in tables.forms))
        raise BadFlange(
            flange=shown, found=f"no standard '{standard}' is held", wanted=f"one of {standards}"
        )
    found = _RATING.fullmatch(rating.strip())
    for form in of_standard:
        if found and (form.system.upper(), form.number) == (found[1].upper(), int(found[2])):
            return form
    raise BadFlange(
        flange=shown,
        found=f"{name} has no rating '{rating}' here",
        wanted="one of " + ", ".join(form.rating for form in of_standard),
    )


def allowable_pressure(
    flange: Flange, metal: Metal, temperature_k: float, tables: FlangeTables
) -> Rating:
    """Highest gauge pressure of a flange at a temperature.

    flange : as ordered
    metal : of the casing that carries it
    temperature_k : highest of the liquid [K]
    tables : ratings
    returns : linear between tabulated temperatures
    raises : BadFlange; NoRating where the standard doesn't cover the metal or the temperature
    source : EN 1092-2, ASME B16.1, B16.5, B16.24, B16.42; certainty with each row
    """
    known = find(flange, tables)
    if metal.family not in known.form.families:
        raise NoRating(
            flange=str(flange),
            found=f"{known.form.standard} does not cover {metal.code} ({metal.family})",
            wanted=_right_standard(known, metal, tables),
        )
    if known.form.system is System.PN:
        return _pn_pressure(known, metal, temperature_k, tables)
    return _class_pressure(known, metal, temperature_k, tables)


def derating(
    family: Family, temperature_k: float, tables: FlangeTables
) -> tuple[float, Certainty, str]:
    """Share of the cold rating that a metal keeps at a temperature.

    family : of the casing's metal
    temperature_k : highest of the liquid [K]
    tables : ratings
    returns : share [-], its certainty, its source
    raises : NoRating where no row covers the family or the temperature
    source : EN 1092 pressure-temperature rows, taken for the casing as for its flanges
    """
    rows = matching(tables.pn_ratings, family=str(family))
    if not rows:
        raise NoRating(
            flange="The casing",
            found=f"no pressure-temperature rows are held for {family}",
            wanted="Enter the rows of the standard that covers it.",
        )
    try:
        found = between(rows, x="temperature_c", y="fraction_of_pn", at=celsius(temperature_k))
    except OutsideTable as error:
        raise NoRating(
            flange=f"The {family} casing",
            found=_outside(error),
            wanted="Enter further rows of the standard, or take another metal.",
        ) from error
    return found.value, found.certainty, found.rows[0].cited


def _pn_pressure(known: Known, metal: Metal, temperature_k: float, tables: FlangeTables) -> Rating:
    try:
        share, certainty, source = derating(metal.family, temperature_k, tables)
    except NoRating as error:
        raise NoRating(flange=str(known.flange), found=error.found, wanted=error.wanted) from error
    pressure = known.form.number * BAR_PA * share
    return Rating(
        pressure_pa=pressure,
        sentence=(
            f"{known.flange} in {metal.code} at {celsius_words(temperature_k)}: "
            f"{bar_words(pressure)}, {'all' if share == 1 else f'{share:.3g}'} of PN."
        ),
        source=source,
        certainty=least((certainty, known.form.certainty)),
    )


def _class_pressure(
    known: Known, metal: Metal, temperature_k: float, tables: FlangeTables
) -> Rating:
    if not metal.flange_table:
        raise NoRating(
            flange=str(known.flange),
            found=f"the metals' list names no rating table for {metal.code}",
            wanted="Enter the table's material in the metals' list, or take PN flanges.",
        )
    nps = known.nps or 0.0
    rows = [
        row
        for row in matching(
            tables.class_ratings,
            standard=known.form.standard,
            class_number=known.form.number,
            metal=metal.flange_table,
        )
        if row.number("nps_from") <= nps <= row.number("nps_to")
    ]
    if not rows:
        raise NoRating(
            flange=str(known.flange),
            found=f"no ratings are held for {metal.flange_table} in this class and size",
            wanted="Enter the rows of the standard, or take another metal or standard.",
        )
    pressure, certainty = _interpolated(known, rows, celsius(temperature_k))
    return Rating(
        pressure_pa=pressure,
        sentence=(
            f"{known.flange} in {metal.code} ({metal.flange_table}) at "
            f"{celsius_words(temperature_k)}: {bar_words(pressure)}, without shock."
        ),
        source=rows[0].cited,
        certainty=least((certainty, known.form.certainty)),
    )


def _interpolated(
    known: Known, rows: Sequence[StandardRow], temperature_c: float
) -> tuple[float, Certainty]:
    """Pressure [Pa] between rows, in the units the standard prints.

    A table in °F ends at a whole number of them: 400 °F is 204.444… °C, and a row rounded to
    204.44 °C would refuse its own last temperature.
    """
    customary = all(row.has("temperature_f") and row.has("pressure_psi") for row in rows)
    try:
        if customary:
            fahrenheit = round(temperature_c * 1.8 + 32.0, 6)
            found = between(rows, x="temperature_f", y="pressure_psi", at=fahrenheit)
            return found.value * PSI_PA, found.certainty
        found = between(rows, x="temperature_c", y="pressure_bar", at=temperature_c)
    except OutsideTable as error:
        raise NoRating(
            flange=str(known.flange),
            found=_outside(error, customary=customary),
            wanted="Enter further rows of the standard, or take another metal or class.",
        ) from error
    return found.value * BAR_PA, found.certainty


def _outside(error: OutsideTable, *, customary: bool = False) -> str:
    low, high, asked = (
        (value - 32.0) / 1.8 if customary else value
        for value in (error.lowest, error.highest, error.asked)
    )
    return f"the table runs from {low:.1f} to {high:.1f} °C and {asked:.1f} °C lies outside it"


def _right_standard(known: Known, metal: Metal, tables: FlangeTables) -> str:
    """Name the flange of the same drilling whose standard covers the metal."""
    for form in tables.forms:
        if metal.family in form.families and (
            form.drilling_standard,
            form.drilling_number,
        ) == (known.form.drilling_standard, known.form.drilling_number):
            return f"{form} is drilled alike and covers it."
    return "No standard held here covers it; enter one, or take another metal."


def _find_pn(
    flange: Flange, form: FlangeForm, unit: str, size: float, tables: FlangeTables
) -> Known:
    rows = matching(tables.pn_drilling, pn=form.drilling_number)
    sizes = tuple(row.integer("dn") for row in rows)
    if unit != "DN" or size not in sizes:
        raise BadFlange(
            flange=str(flange),
            found=f"no size '{flange.nominal}' is held for {form}",
            wanted="DN of " + ", ".join(str(dn) for dn in sizes),
        )
    row = rows[sizes.index(int(size))]
    return Known(flange=flange, form=form, drilling=row, dn=int(size), nps=None)


def _find_class(
    flange: Flange, form: FlangeForm, unit: str, size: float, tables: FlangeTables
) -> Known:
    rows = matching(tables.class_drilling, class_number=form.drilling_number)
    column = "dn" if unit == "DN" else "nps"
    for row in rows:
        if row.number(column) == size:
            return Known(
                flange=flange,
                form=form,
                drilling=row,
                dn=row.integer("dn"),
                nps=row.number("nps"),
            )
    raise BadFlange(
        flange=str(flange),
        found=f"no size '{flange.nominal}' is held for {form}",
        wanted="NPS of " + ", ".join(f"{row.number('nps'):g}" for row in rows),
    )
