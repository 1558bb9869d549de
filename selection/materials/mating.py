"""Whether two flanges bolt up, what to look to, and what pressure the joint may see."""

from dataclasses import dataclass
from enum import StrEnum

from selection.configuration import Flange
from selection.materials.errors import NoRating
from selection.materials.flange_tables import FlangeTables, MatingNote
from selection.materials.flanges import Known, Rating, allowable_pressure, find
from selection.materials.metals import Metal
from works.standards import Certainty, least


class Outcome(StrEnum):
    """How two flanges meet."""

    BOLTS_UP = "bolts up"
    WITH_CARE = "bolts up with care"
    DOES_NOT_MATE = "does not mate"


@dataclass(frozen=True, kw_only=True)
class Mating:
    """How the pump's flange meets the pipe's.

    sentences : the reason first, then what to look to
    joint : the lower of the two ratings; None where either cannot be rated
    """

    outcome: Outcome
    sentences: tuple[str, ...]
    certainty: Certainty
    joint: Rating | None


def mate(
    flange: Flange,
    metal: Metal,
    other: Flange,
    other_metal: Metal | None,
    temperature_k: float,
    tables: FlangeTables,
) -> Mating:
    """Whether a pump's flange bolts to a pipe's.

    flange : the pump's
    metal : of the casing
    other : the pipe's
    other_metal : None where it is not known; the joint is then not rated
    temperature_k : highest of the liquid [K]
    tables : drillings, ratings and notes
    raises : BadFlange
    source : drillings compared; rating of the joint is the lower of the two (ASME B16.24, 2.2)
    """
    one, two = find(flange, tables), find(other, tables)
    sentences, fits = _drilling(one, two)
    certainty = least((one.drilling_certainty, two.drilling_certainty))
    if not fits:
        return Mating(
            outcome=Outcome.DOES_NOT_MATE,
            sentences=(sentences,),
            certainty=certainty,
            joint=None,
        )
    notes = [note for note in tables.notes if _about(note, one, metal, two, other_metal)]
    return Mating(
        outcome=Outcome.WITH_CARE if notes else Outcome.BOLTS_UP,
        sentences=(sentences, *(note.text for note in notes)),
        certainty=least((certainty, *(note.certainty for note in notes))),
        joint=None
        if other_metal is None
        else joint_rating(flange, metal, other, other_metal, temperature_k, tables),
    )


def joint_rating(
    flange: Flange,
    metal: Metal,
    other: Flange,
    other_metal: Metal,
    temperature_k: float,
    tables: FlangeTables,
) -> Rating | None:
    """The lower of two flanges' ratings at a temperature.

    flange : the pump's
    metal : of the casing
    other : the pipe's
    other_metal : of the pipe's flange
    temperature_k : highest of the liquid [K]
    tables : ratings
    returns : None where either cannot be rated
    raises : BadFlange
    source : ASME B16.24, 2.2: rating of a joint is the lower of the two
    """
    try:
        ratings = (
            allowable_pressure(flange, metal, temperature_k, tables),
            allowable_pressure(other, other_metal, temperature_k, tables),
        )
    except NoRating:
        return None
    lower = min(ratings, key=lambda rating: rating.pressure_pa)
    return Rating(
        pressure_pa=lower.pressure_pa,
        sentence="The joint is rated as the lower of its two flanges. " + lower.sentence,
        source=lower.source,
        certainty=least(rating.certainty for rating in ratings),
    )


def _drilling(one: Known, two: Known) -> tuple[str, bool]:
    pair = f"{one.flange} to {two.flange}"
    figures = f"{one.drilling_words}; against {two.drilling_words}"
    if one.form.system is not two.form.system:
        return (
            f"{pair}: a PN flange and a Class flange do not mate, near as some sizes come "
            f"({figures}).",
            False,
        )
    if one.dn != two.dn:
        return f"{pair}: different sizes ({figures}).", False
    if not one.drilled_as(two):
        return f"{pair}: drilled differently ({figures}).", False
    return f"{pair}: drilled alike ({one.drilling_words}).", True


def _about(
    note: MatingNote, one: Known, metal: Metal, two: Known, other_metal: Metal | None
) -> bool:
    """Whether a note speaks of this pair, whichever way round."""
    family = "" if other_metal is None else str(other_metal.family)
    return any(
        _named(note.flange, a)
        and _named(note.other_flange, b)
        and note.family in ("", a_family)
        and note.other_family in ("", b_family)
        for a, a_family, b, b_family in (
            (one, str(metal.family), two, family),
            (two, family, one, str(metal.family)),
        )
    )


def _named(words: str, known: Known) -> bool:
    return words in (known.form.standard, str(known.form))
