"""One nozzle's flange put to its pressure, its pattern and the customer's pipe."""

from dataclasses import dataclass

from selection.configuration import Flange, PatternWork
from selection.materials.casings import TEST_FACTOR, Pressures
from selection.materials.errors import NoRating
from selection.materials.flange_tables import FlangeTables
from selection.materials.flanges import Rating, allowable_pressure, find
from selection.materials.mating import Mating, Outcome, mate
from selection.materials.metals import Metal
from selection.materials.nozzles import Nozzle, NozzleWork, nozzle_work
from selection.materials.quantities import bar_words
from selection.materials.verdicts import Severity, Verdict
from works.standards import Certainty

SUCTION = "suction"
DISCHARGE = "discharge"
_COLD_K = 293.15
_WORK_SEVERITY = {
    PatternWork.NONE: Severity.FITS,
    PatternWork.DRILL_ONLY: Severity.FITS,
    PatternWork.MODIFY: Severity.CAUTION,
    PatternWork.NEW: Severity.AVOID,
}
_MATING_SEVERITY = {
    Outcome.BOLTS_UP: Severity.FITS,
    Outcome.WITH_CARE: Severity.CAUTION,
    Outcome.DOES_NOT_MATE: Severity.AVOID,
}


@dataclass(frozen=True, kw_only=True)
class FlangeResult:
    """What was found about one flange.

    where : suction or discharge
    rating : at the temperature; None where it cannot be rated
    joint_pa : lower of the flange's and the pipe's rating; None where not known [Pa]
    mating : None where the pipe's flange is not stated
    """

    where: str
    rating: Rating | None
    work: NozzleWork
    mating: Mating | None
    joint_pa: float | None
    verdicts: tuple[Verdict, ...]


def judge_flange(
    where: str,
    flange: Flange,
    nozzle: Nozzle,
    metal: Metal,
    pipe: Flange | None,
    pipe_metal: Metal | None,
    temperature_k: float,
    pressures: Pressures,
    tables: FlangeTables,
) -> FlangeResult:
    """Put one flange to its pressure, its pattern and the customer's pipe.

    where : SUCTION or DISCHARGE
    flange : as ordered
    nozzle : of the pattern
    metal : of the casing
    pipe : the customer's flange, if stated
    pipe_metal : of the customer's flange, if stated
    temperature_k : highest of the liquid [K]
    pressures : of the pump in its system
    tables : drillings, ratings and notes
    raises : BadFlange
    """
    find(flange, tables)
    say = _Speaker(where=where, metal=metal.code)
    rating, verdicts = _rate(say, flange, metal, temperature_k, pressures, tables)
    work = nozzle_work(flange, nozzle, metal, tables)
    verdicts.append(
        say(
            "flange and pattern",
            _WORK_SEVERITY[work.work],
            work.sentence,
            source="register of patterns; drilling tables",
            certainty=work.certainty,
            needs_reason=work.work is PatternWork.NEW,
        )
    )
    mating = None
    joint_pa = None if rating is None else rating.pressure_pa
    if pipe is not None:
        mating = mate(flange, metal, pipe, pipe_metal, temperature_k, tables)
        verdicts.append(
            say(
                "flange and pipe",
                _MATING_SEVERITY[mating.outcome],
                " ".join(mating.sentences),
                source="drilling tables compared",
                certainty=mating.certainty,
                needs_reason=mating.outcome is Outcome.DOES_NOT_MATE,
            )
        )
        if mating.joint is not None:
            joint_pa = mating.joint.pressure_pa
            verdicts += _joint(say, mating.joint, pressures)
    return FlangeResult(
        where=where,
        rating=rating,
        work=work,
        mating=mating,
        joint_pa=joint_pa,
        verdicts=tuple(verdicts),
    )


@dataclass(frozen=True, kw_only=True)
class _Speaker:
    """Verdicts about one flange."""

    where: str
    metal: str

    def __call__(
        self,
        rule: str,
        severity: Severity,
        sentence: str,
        *,
        source: str,
        certainty: Certainty,
        needs_reason: bool,
        overridable: bool = True,
    ) -> Verdict:
        return Verdict(
            rule=f"{self.where}: {rule}",
            topic="flange",
            part=f"{self.where} flange",
            metal=self.metal,
            severity=severity,
            sentence=f"{self.where.capitalize()}: {sentence}",
            source=source,
            certainty=certainty,
            needs_reason=needs_reason,
            overridable=overridable,
        )

    def seen(self, pressures: Pressures) -> tuple[float, str]:
        """The pressure this flange sees at work, and its name."""
        if self.where == SUCTION:
            return pressures.suction_max_pa, "highest suction pressure"
        return pressures.working_max_pa, "highest working pressure"


def _rate(
    say: _Speaker,
    flange: Flange,
    metal: Metal,
    temperature_k: float,
    pressures: Pressures,
    tables: FlangeTables,
) -> tuple[Rating | None, list[Verdict]]:
    try:
        rating = allowable_pressure(flange, metal, temperature_k, tables)
    except NoRating as error:
        return None, [
            say(
                "flange cannot be rated",
                Severity.REFUSE,
                str(error),
                source="rating tables held",
                certainty=Certainty.CONFIRMED,
                needs_reason=True,
            )
        ]
    pressure_pa, name = say.seen(pressures)
    holds = pressure_pa <= rating.pressure_pa
    found = [
        say(
            "flange rating",
            Severity.FITS if holds else Severity.REFUSE,
            f"{'holds' if holds else 'too high'}: {name} {bar_words(pressure_pa)}; "
            f"{rating.sentence}",
            source=rating.source,
            certainty=rating.certainty,
            needs_reason=not holds,
            overridable=holds,
        )
    ]
    if holds and say.where == SUCTION and pressures.working_max_pa > rating.pressure_pa:
        found.append(
            say(
                "suction flange weaker than the discharge side",
                Severity.CAUTION,
                f"the flange allows {bar_words(rating.pressure_pa)}, below the highest working "
                f"pressure {bar_words(pressures.working_max_pa)}: a leaking check valve with the "
                "suction valve shut would overload it. Protect the suction side, or take the "
                "rating of the discharge.",
                source="trade rule with no single source",
                certainty=Certainty.COMMON_PRACTICE,
                needs_reason=True,
            )
        )
    found += _test(say, flange, metal, pressures, tables)
    return rating, found


def _test(
    say: _Speaker, flange: Flange, metal: Metal, pressures: Pressures, tables: FlangeTables
) -> list[Verdict]:
    """The casing's hydrostatic test loads its flanges too."""
    try:
        cold = allowable_pressure(flange, metal, _COLD_K, tables)
    except NoRating:
        return []  # said already: what cannot be rated warm was refused above
    limit = TEST_FACTOR * cold.pressure_pa
    if pressures.test_pa <= limit * (1 + 1e-9):
        return []
    return [
        say(
            "test above the flange",
            Severity.CAUTION if say.where == SUCTION else Severity.AVOID,
            f"the hydrostatic test at {bar_words(pressures.test_pa)} is over 1.5 × the flange's "
            f"cold rating, {bar_words(limit)}: test the "
            f"{'suction side as a zone of its own, by' if say.where == SUCTION else 'casing by'} "
            "agreement with the buyer, or take a higher rating.",
            source="segmental test needs the purchaser's agreement: public question set on "
            "ISO 13709",
            certainty=Certainty.CONFIRMED_2ND,
            needs_reason=True,
        )
    ]


def _joint(say: _Speaker, joint: Rating, pressures: Pressures) -> list[Verdict]:
    pressure_pa, name = say.seen(pressures)
    holds = pressure_pa <= joint.pressure_pa
    return [
        say(
            "joint rating",
            Severity.FITS if holds else Severity.REFUSE,
            f"{'joint holds' if holds else 'joint too weak'}: {name} {bar_words(pressure_pa)}; "
            f"{joint.sentence}",
            source=f"{joint.source}; the lower of two: text of ASME B16.24, 2.2",
            certainty=joint.certainty,
            needs_reason=not holds,
            overridable=holds,
        )
    ]
