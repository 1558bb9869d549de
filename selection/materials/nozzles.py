"""What a flange choice means for the casing pattern: nothing, drill, thicken, or another pattern.

A pattern is registered with the flange it is usually drilled for, with further flanges its blank
is wide and thick enough for, and with the highest cold rating its nozzle can be thickened to.
"""

from dataclasses import dataclass

from selection.configuration import Flange, PatternWork
from selection.materials.errors import NoRating
from selection.materials.flange_tables import FlangeTables
from selection.materials.flanges import Known, allowable_pressure, find
from selection.materials.metals import Family, Metal
from selection.materials.quantities import bar_words, checked, pressure
from works.standards import Certainty, least

_COLD_K = 293.15


@dataclass(frozen=True, kw_only=True)
class FlangeMade:
    """A standard and rating that a nozzle is made for; its size is the nozzle's."""

    standard: str
    rating: str


@dataclass(frozen=True, kw_only=True)
class Nozzle:
    """One nozzle of a casing pattern.

    dn : nominal size, metric [mm]
    drilled_for : what it is usually drilled for: no work at all
    blanks_for : flanges the blank is wide and thick enough for: other drilling only
    rating_max_pa : highest cold rating of a flange the pattern can be thickened to, gauge [Pa]
    """

    dn: int
    drilled_for: FlangeMade
    blanks_for: tuple[FlangeMade, ...] = ()
    rating_max_pa: float

    def __post_init__(self) -> None:
        checked(self.dn, quantity="nominal size", unit="mm", lowest=10, highest=3000)
        pressure(self.rating_max_pa, "highest rating of a nozzle", lowest=1.0)


@dataclass(frozen=True, kw_only=True)
class CasingRating:
    """Highest cold working pressure of a casing pattern in one family of metals.

    pressure_pa : gauge, at 20 °C [Pa]
    """

    family: Family
    pressure_pa: float

    def __post_init__(self) -> None:
        pressure(self.pressure_pa, "casing rating", lowest=1.0)


@dataclass(frozen=True, kw_only=True)
class CasingPattern:
    """What the pattern register says about a casing.

    ratings : by family of metals; none for a family means it was never made in it
    made_for : family whose contraction the pattern has; None where the register doesn't say
    contraction_pct : built into the pattern; None where the register doesn't say [%]
    wall_mm : governing wall; None where the register doesn't say [mm]
    """

    number: str
    suction: Nozzle
    discharge: Nozzle
    ratings: tuple[CasingRating, ...]
    made_for: Family | None = None
    contraction_pct: float | None = None
    wall_mm: float | None = None

    def __post_init__(self) -> None:
        if self.contraction_pct is not None:
            checked(self.contraction_pct, quantity="contraction", unit="%", lowest=0.0, highest=5.0)
        if self.wall_mm is not None:
            checked(self.wall_mm, quantity="wall", unit="mm", lowest=3.0, highest=500.0)


@dataclass(frozen=True, kw_only=True)
class NozzleWork:
    """What a flange needs of the pattern.

    work : NEW where this pattern cannot carry the flange
    possible : on this pattern
    """

    work: PatternWork
    possible: bool
    sentence: str
    certainty: Certainty


def nozzle_work(flange: Flange, nozzle: Nozzle, metal: Metal, tables: FlangeTables) -> NozzleWork:
    """What a flange choice means for the pattern.

    flange : as ordered
    nozzle : of the casing pattern
    metal : the casing is poured in
    tables : drillings and ratings
    raises : BadFlange
    """
    wanted = find(flange, tables)
    flange = wanted.flange
    if wanted.dn != nozzle.dn:
        return _answer(
            PatternWork.NEW,
            f"{flange} is not the size of this nozzle, DN {nozzle.dn}: another casing, or a "
            "reducer in the pipe.",
            wanted,
        )
    usual = _made(nozzle.drilled_for, nozzle, tables)
    if _covered(wanted, usual):
        words = "as usual" if wanted.form == usual.form else f"drilled alike to {usual.form}"
        return _answer(PatternWork.NONE, f"{flange}: {words}, no work on the pattern.", wanted)
    for made in nozzle.blanks_for:
        if _covered(wanted, _made(made, nozzle, tables)):
            return _answer(
                PatternWork.DRILL_ONLY,
                f"{flange}: the blank carries it, drill {wanted.drilling_words} instead of "
                f"{usual.drilling_words}.",
                wanted,
            )
    cold = _cold(wanted, metal, tables)
    if cold is None:
        return _answer(
            PatternWork.NEW,
            f"{flange} cannot be rated in {metal.code}, so the pattern cannot be judged for it.",
            wanted,
        )
    if cold > nozzle.rating_max_pa:
        return _answer(
            PatternWork.NEW,
            f"{flange} is rated {bar_words(cold)} cold, over the {bar_words(nozzle.rating_max_pa)} "
            "this nozzle can be thickened to: another casing or a new pattern.",
            wanted,
        )
    return _answer(
        PatternWork.MODIFY,
        f"{flange}: the pattern is made for {usual.form} ({usual.drilling_words}); build the "
        f"flange up for {wanted.drilling_words}.",
        wanted,
    )


def heavier(one: PatternWork, other: PatternWork) -> PatternWork:
    """The heavier of two works on one pattern.

    one : of a nozzle
    other : of another
    """
    order = list(PatternWork)
    return max(one, other, key=order.index)


def _made(made: FlangeMade, nozzle: Nozzle, tables: FlangeTables) -> Known:
    return find(
        Flange(standard=made.standard, rating=made.rating, nominal=f"DN {nozzle.dn}"), tables
    )


def _covered(wanted: Known, made: Known) -> bool:
    """A flange made for one rating serves another of the same drilling that asks no more.

    Not the other way round: the same holes don't make a flange thick enough. Standards that
    share a drilling table (grey and ductile iron, steel, bronze) count as one here.
    """
    return (
        wanted.drilled_as(made)
        and wanted.outside_mm <= made.outside_mm
        and wanted.form.drilling_number <= made.form.drilling_number
    )


def _cold(known: Known, metal: Metal, tables: FlangeTables) -> float | None:
    try:
        return allowable_pressure(known.flange, metal, _COLD_K, tables).pressure_pa
    except NoRating:
        return None


def _answer(work: PatternWork, sentence: str, wanted: Known) -> NozzleWork:
    return NozzleWork(
        work=work,
        possible=work is not PatternWork.NEW,
        sentence=sentence,
        certainty=least((wanted.drilling_certainty,)),
    )
