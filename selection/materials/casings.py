"""Casing against pressure: its rating in the chosen metal, warm, and the hydrostatic test.

The test is 1.5 times the highest working pressure unless the contract wants the casing's own
rating tested; both are shown. A casing keeps the share of its cold rating that EN 1092-2 leaves
its flanges at the temperature: the works' rule, stated with each verdict.
"""

from dataclasses import dataclass

from selection.materials.errors import NoRating, NoStrength
from selection.materials.flange_tables import FlangeTables
from selection.materials.flanges import derating
from selection.materials.metals import Metal
from selection.materials.nozzles import CasingPattern
from selection.materials.quantities import bar_words, celsius_words, pressure
from selection.materials.verdicts import Severity, Verdict
from selection.materials.walls import WallStrength, strength_in_casting
from works.standards import Certainty, StandardRow, least, one

TEST_FACTOR = 1.5
_TOPIC = "casing pressure"
_PLACE = "casing"


@dataclass(frozen=True, kw_only=True)
class Pressures:
    """Pressures of one pump in its system, gauge.

    suction_min_pa, suction_max_pa : at the suction flange; below 0 in a lift [Pa]
    differential_max_pa : shut-off, at the top of the density and speed tolerance, > 0 [Pa]
    working_max_pa : highest suction plus highest differential pressure [Pa]
    test_pa : hydrostatic, as the contract wants it [Pa]
    """

    suction_min_pa: float
    suction_max_pa: float
    differential_max_pa: float
    working_max_pa: float
    test_pa: float

    def __post_init__(self) -> None:
        pressure(self.suction_min_pa, "lowest suction pressure")
        pressure(self.suction_max_pa, "highest suction pressure", lowest=self.suction_min_pa)
        pressure(self.differential_max_pa, "highest differential pressure", lowest=1.0)
        pressure(
            self.working_max_pa, "highest working pressure", lowest=max(self.suction_max_pa, 1.0)
        )
        pressure(self.test_pa, "hydrostatic test pressure", lowest=self.working_max_pa)


@dataclass(frozen=True, kw_only=True)
class CasingResult:
    """A casing against its pressures.

    cold_pa : rating of the pattern in the metal at 20 °C; None where it was never made in it [Pa]
    allowable_pa : at the temperature; None where it cannot be rated [Pa]
    test_working_pa : 1.5 times the highest working pressure [Pa]
    test_rating_pa : 1.5 times the cold rating [Pa]
    """

    cold_pa: float | None
    allowable_pa: float | None
    test_working_pa: float
    test_rating_pa: float | None
    verdicts: tuple[Verdict, ...]


def rate_casing(
    pattern: CasingPattern,
    metal: Metal,
    temperature_k: float,
    pressures: Pressures,
    tables: FlangeTables,
) -> CasingResult:
    """Put a casing to its pressures.

    pattern : with its ratings by family
    metal : the casing is poured in
    temperature_k : highest of the liquid [K]
    pressures : of the pump in its system
    tables : ratings
    source : works' ratings of the pattern; EN 1092-2 for the share kept warm; test at 1.5 times
        the highest working pressure, common practice
    """
    test_working = TEST_FACTOR * pressures.working_max_pa
    rated = [r.pressure_pa for r in pattern.ratings if r.family is metal.family]
    if not rated:
        known = ", ".join(f"{r.family} {bar_words(r.pressure_pa)}" for r in pattern.ratings)
        return CasingResult(
            cold_pa=None,
            allowable_pa=None,
            test_working_pa=test_working,
            test_rating_pa=None,
            verdicts=(
                _refusal(
                    "casing has no rating in this metal",
                    metal,
                    f"Pattern {pattern.number} has no rating in {metal.family}; the register has: "
                    f"{known or 'none'}. Take one of these or have it rated.",
                    Certainty.CONFIRMED,
                ),
            ),
        )
    cold = min(rated)
    test_rating = TEST_FACTOR * cold
    try:
        share, certainty, source = derating(metal.family, temperature_k, tables)
    except NoRating as error:
        return CasingResult(
            cold_pa=cold,
            allowable_pa=None,
            test_working_pa=test_working,
            test_rating_pa=test_rating,
            verdicts=(
                _refusal(
                    "casing cannot be rated warm", metal, str(error), Certainty.COMMON_PRACTICE
                ),
            ),
        )
    allowable = cold * share
    warm = _warm(pattern, metal, temperature_k, pressures, allowable, share, source, certainty)
    return CasingResult(
        cold_pa=cold,
        allowable_pa=allowable,
        test_working_pa=test_working,
        test_rating_pa=test_rating,
        verdicts=(warm, *_test(metal, pressures, test_working, test_rating)),
    )


def wall_remark(
    pattern: CasingPattern, metal: Metal, strengths: tuple[WallStrength, ...]
) -> tuple[Verdict, ...]:
    """What the metal is worth in the casting's wall, against its separately cast bar.

    pattern : with its governing wall
    metal : the casing is poured in
    strengths : anticipated, by wall
    returns : none where the wall or the metal's strengths are not tabulated
    """
    if pattern.wall_mm is None or metal.tensile_mpa is None:
        return ()
    if not any(strength.code == metal.code for strength in strengths):
        return ()
    try:
        found, certainty, source = strength_in_casting(metal.code, pattern.wall_mm, strengths)
    except NoStrength as error:
        return (
            _remark("wall beyond the table", metal, str(error), "EN 1561", Certainty.CONFIRMED_2ND),
        )
    return (
        _remark(
            "strength in the casting",
            metal,
            f"{metal.code} at a wall of {pattern.wall_mm:g} mm: {found:.0f} MPa to be expected in "
            f"the casting, not the {metal.tensile_mpa:g} MPa of the separately cast bar.",
            source,
            certainty,
        ),
    )


def contraction_remark(
    pattern: CasingPattern, metal: Metal, rows: tuple[StandardRow, ...]
) -> tuple[Verdict, ...]:
    """Whether a pattern's contraction suits the metal to be poured.

    pattern : with the contraction built into it or the family it was made for
    metal : the casing is poured in
    rows : pattern contraction by family
    returns : none where the register says neither, or the difference is below 0.25 %
    raises : NoSuchRow for a family the table lacks
    """
    if pattern.contraction_pct is not None:
        built, origin = pattern.contraction_pct, "built into the pattern"
    elif pattern.made_for is not None and pattern.made_for is not metal.family:
        built = one(rows, family=_contraction_family(pattern.made_for)).number("usual_pct")
        origin = f"usual for {pattern.made_for}, which the pattern is made for"
    else:
        return ()
    row = one(rows, family=_contraction_family(metal.family))
    usual, low, high = (row.number(c) for c in ("usual_pct", "lowest_pct", "highest_pct"))
    if low <= built <= high or abs(usual - built) < 0.25:
        return ()
    difference = usual - built
    return (
        Verdict(
            rule="contraction of another metal",
            topic="pattern",
            part=_PLACE,
            metal=metal.code,
            severity=Severity.AVOID if abs(difference) >= 0.5 else Severity.CAUTION,
            sentence=(
                f"Pattern {pattern.number}: {built:g} % contraction is {origin}; {metal.family} "
                f"takes {low:g} to {high:g} %. Every dimension comes out about "
                f"{abs(difference):.1f} % {'small' if difference > 0 else 'large'}: check walls, "
                "allowances and core fits, or have the pattern changed."
            ),
            source=row.cited,
            certainty=row.certainty,
            needs_reason=True,
        ),
    )


def _contraction_family(family: str) -> str:
    """Families that the contraction table lists under another name."""
    return {"austenitic iron": "grey iron", "overlaid stainless": "austenitic stainless"}.get(
        str(family), str(family)
    )


def _warm(
    pattern: CasingPattern,
    metal: Metal,
    temperature_k: float,
    pressures: Pressures,
    allowable: float,
    share: float,
    source: str,
    certainty: Certainty,
) -> Verdict:
    figures = (
        f"highest working pressure {bar_words(pressures.working_max_pa)}, casing "
        f"{pattern.number} in {metal.code} at {celsius_words(temperature_k)} allows "
        f"{bar_words(allowable)} ({'all' if share == 1 else f'{share:.3g}'} of its cold rating)"
    )
    holds = pressures.working_max_pa <= allowable
    return Verdict(
        rule="casing rating",
        topic=_TOPIC,
        part=_PLACE,
        metal=metal.code,
        severity=Severity.FITS if holds else Severity.REFUSE,
        sentence=("Holds: " if holds else "Too high: ") + figures + ".",
        source=f"register of patterns; {source}, taken for the casing as for its flanges",
        certainty=least((certainty, Certainty.COMMON_PRACTICE)),
        needs_reason=not holds,
        overridable=holds,
    )


def _test(
    metal: Metal, pressures: Pressures, test_working: float, test_rating: float
) -> tuple[Verdict, ...]:
    both = (
        f"1.5 × highest working pressure is {bar_words(test_working)}, 1.5 × the casing's rating "
        f"is {bar_words(test_rating)}"
    )
    if pressures.test_pa > test_rating * (1 + 1e-9):
        return (
            _refusal(
                "test above what the casing may be tested at",
                metal,
                f"Test at {bar_words(pressures.test_pa)}: over what the casing may see; {both}.",
                Certainty.COMMON_PRACTICE,
            ),
        )
    if pressures.test_pa < test_working * (1 - 1e-9):
        return (
            Verdict(
                rule="test below 1.5 times the working pressure",
                topic=_TOPIC,
                part=_PLACE,
                metal=metal.code,
                severity=Severity.AVOID,
                sentence=f"Test at {bar_words(pressures.test_pa)}: too low; {both}.",
                source="1.5 times the highest working pressure, common practice",
                certainty=Certainty.COMMON_PRACTICE,
                needs_reason=True,
            ),
        )
    return (
        _remark(
            "test pressure",
            metal,
            f"Test at {bar_words(pressures.test_pa)}; {both}.",
            "1.5 times the highest working pressure, common practice",
            Certainty.COMMON_PRACTICE,
        ),
    )


def _remark(rule: str, metal: Metal, sentence: str, source: str, certainty: Certainty) -> Verdict:
    return Verdict(
        rule=rule,
        topic=_TOPIC,
        part=_PLACE,
        metal=metal.code,
        severity=Severity.FITS,
        sentence=sentence,
        source=source,
        certainty=certainty,
        needs_reason=False,
    )


def _refusal(rule: str, metal: Metal, sentence: str, certainty: Certainty) -> Verdict:
    return Verdict(
        rule=rule,
        topic=_TOPIC,
        part=_PLACE,
        metal=metal.code,
        severity=Severity.REFUSE,
        sentence=sentence,
        source="register of patterns",
        certainty=certainty,
        needs_reason=True,
        overridable=False,
    )
