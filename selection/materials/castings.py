"""What a metal calls for at the foundry: heat treatment, and surface-crack testing.

EN 1371-1 excludes copper-tin and copper-tin-lead castings, so its severity levels cannot accept
a tin-bronze impeller: another acceptance has to be agreed.
"""

from dataclasses import dataclass
from enum import StrEnum

from selection.materials.metals import Family, Metal
from selection.materials.quantities import checked
from works.standards import Certainty, least

CRACK_TEST_HEAD_M = 75.0
"""Head from which impellers are crack-tested: common practice, a setting of the works [m]."""

_COPPER_TIN = frozenset({Family.TIN_BRONZE, Family.LEADED_GUNMETAL})


class Method(StrEnum):
    """How surface cracks are looked for."""

    NONE = "none"
    PENETRANT = "liquid penetrant, ISO 3452-1"
    MAGNETIC = "magnetic particle, ISO 9934-1"


@dataclass(frozen=True, kw_only=True)
class CrackTest:
    """Whether and how a casting is tested for surface cracks.

    acceptance : document whose levels apply, or that one has to be agreed
    remarks : what the inspection plan should say
    """

    wanted: bool
    method: Method
    acceptance: str
    sentence: str
    remarks: tuple[str, ...]
    source: str
    certainty: Certainty


@dataclass(frozen=True, kw_only=True)
class HeatTreatment:
    """What a metal calls for after casting."""

    needed: bool
    sentence: str
    certainty: Certainty


def crack_test(
    metal: Metal,
    head_m: float,
    *,
    threshold_m: float = CRACK_TEST_HEAD_M,
    wanted_by_contract: bool = False,
) -> CrackTest:
    """Whether an impeller's machined surfaces are tested for cracks.

    metal : of the impeller
    head_m : at duty, of one stage, >= 0 [m]
    threshold_m : head from which the works tests, > 0 [m]
    wanted_by_contract : tested at any head
    raises : BadQuantity
    source : high-head impellers are tested: common practice; EN 1371-1 scope
    """
    checked(head_m, quantity="head", unit="m", lowest=0.0, highest=3000.0)
    checked(threshold_m, quantity="crack-test threshold", unit="m", lowest=1.0, highest=3000.0)
    if wanted_by_contract:
        why, wanted = "the contract calls for it", True
    elif head_m >= threshold_m:
        why, wanted = f"head {head_m:g} m reaches the works' {threshold_m:g} m", True
    else:
        why, wanted = f"head {head_m:g} m stays below the works' {threshold_m:g} m", False
    if not wanted:
        return CrackTest(
            wanted=False,
            method=Method.NONE,
            acceptance="",
            sentence=f"No crack test: {why}.",
            remarks=(),
            source="threshold of the works",
            certainty=Certainty.COMMON_PRACTICE,
        )
    acceptance, remarks, certainty = _acceptance(metal)
    return CrackTest(
        wanted=True,
        method=Method.PENETRANT,
        acceptance=acceptance,
        sentence=f"Crack test of the {metal.code} impeller, for {why}.",
        remarks=remarks,
        source="threshold of the works; EN 1371-1, scope",
        certainty=least((Certainty.COMMON_PRACTICE, certainty)),
    )


def penetrant_levels_apply(metal: Metal) -> bool:
    """Whether EN 1371-1 may accept a casting of this metal.

    metal : of the casting
    source : EN 1371-1:2011, scope: copper-tin and copper-tin-lead castings are excluded; read
    """
    return metal.family not in _COPPER_TIN


def heat_treatment(metal: Metal) -> HeatTreatment:
    """What the metal calls for after casting and before machining.

    metal : of the casting
    source : the metals' list
    """
    if metal.heat_treatment:
        sentence = f"{metal.code}: {metal.heat_treatment} after blasting, before machining."
    else:
        sentence = f"{metal.code} is used as cast."
    return HeatTreatment(
        needed=bool(metal.heat_treatment), sentence=sentence, certainty=metal.certainty
    )


def _acceptance(metal: Metal) -> tuple[str, tuple[str, ...], Certainty]:
    remarks = ["Test machined surfaces after the last cut, before balancing."]
    if not penetrant_levels_apply(metal):
        return (
            "to be agreed: EN 1371-1 excludes copper-tin castings",
            (
                *remarks,
                f"{metal.code} is a copper-tin casting: agree with the buyer what is accepted "
                "before the inspection plan goes out.",
            ),
            Certainty.CONFIRMED,
        )
    if metal.family is Family.GREY_IRON:
        remarks.append("Grey iron bleeds at its graphite as cast: machined faces only.")
    if metal.ferromagnetic:
        remarks.append(
            "Magnetic particle testing (ISO 9934-1, levels of EN 1369) may take its place."
        )
    return "EN 1371-1, level as agreed", tuple(remarks), Certainty.CONFIRMED
