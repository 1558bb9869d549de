"""The smallest valid things of the materials package, to be changed one field at a time."""

from typing import Any

from selection.configuration import Flange, Sealing
from selection.materials import (
    OWN_LIQUID,
    CasingPattern,
    CasingRating,
    ChosenMetals,
    Family,
    FlangeMade,
    ImpellerDuty,
    Liquid,
    MaterialChoice,
    Nozzle,
    Pressures,
    SealNeeds,
    Service,
    Severity,
    Verdict,
    shipped,
)

DATA = shipped()
METALS = DATA.metals
FLANGES = DATA.flanges
COLD_K = 293.15


def celsius(degrees: float) -> float:
    """[°C] to [K]"""
    return degrees + 273.15


def service(**changed: Any) -> Service:
    """Clean fresh water with every value stated, in which ordinary metals live in peace."""
    stated = {
        "liquid": Liquid.CLEAN_FRESH,
        "temperature_k": COLD_K,
        "chloride_ppm": 40.0,
        "ph": 7.4,
        "sand_ppm": 5.0,
        "free_chlorine_ppm": 0.1,
        "saturation_index": 0.2,
    }
    return Service(**{**stated, **changed})


def chosen(**changed: str) -> ChosenMetals:
    """Iron casing, tin-bronze impeller, hardened ring."""
    codes = {
        "casing": "GJL-250",
        "impeller": "CC480K",
        "ring": "420-H",
        "shaft": "431",
        "sleeve": "420-H",
        **changed,
    }
    return ChosenMetals(**{part: METALS[code] for part, code in codes.items()})


def flange(standard: str, rating: str, nominal: str) -> Flange:
    return Flange(standard=standard, rating=rating, nominal=nominal)


def pn(rating: int, dn: int) -> Flange:
    return flange("EN 1092-2", f"PN {rating}", f"DN {dn}")


def iron_class(number: int, nps: float) -> Flange:
    return flange("ASME B16.1", f"Class {number}", f"NPS {nps:g}")


def nozzle(**changed: Any) -> Nozzle:
    """DN 250, drilled PN 16, blank good for Class 125, thickens to 25 bar."""
    stated = {
        "dn": 250,
        "drilled_for": FlangeMade(standard="EN 1092-2", rating="PN 16"),
        "blanks_for": (FlangeMade(standard="ASME B16.1", rating="Class 125"),),
        "rating_max_pa": 25e5,
    }
    return Nozzle(**{**stated, **changed})


def pattern(**changed: Any) -> CasingPattern:
    """Rated 16 bar in grey iron, 25 in ductile iron."""
    stated = {
        "number": "C-250",
        "suction": nozzle(
            dn=300,
            drilled_for=FlangeMade(standard="EN 1092-2", rating="PN 10"),
            blanks_for=(FlangeMade(standard="EN 1092-2", rating="PN 16"),),
            rating_max_pa=16e5,
        ),
        "discharge": nozzle(),
        "ratings": (
            CasingRating(family=Family.GREY_IRON, pressure_pa=16e5),
            CasingRating(family=Family.DUCTILE_IRON, pressure_pa=25e5),
        ),
    }
    return CasingPattern(**{**stated, **changed})


def pressures(**changed: float) -> Pressures:
    """0.2 to 1 bar suction, 8.2 bar shut-off, test at 1.5 × 9.2 bar."""
    stated = {
        "suction_min_pa": 0.2e5,
        "suction_max_pa": 1e5,
        "differential_max_pa": 8.2e5,
        "working_max_pa": 9.2e5,
        "test_pa": 13.8e5,
    }
    return Pressures(**{**stated, **changed})


def duty(**changed: Any) -> ImpellerDuty:
    return ImpellerDuty(**{"head_m": 62.0, "tip_speed_m_s": 33.0, **changed})


def needs(**changed: bool | None) -> SealNeeds:
    return SealNeeds(**{"leakage_allowed": True, **changed})


def choice(**changed: Any) -> MaterialChoice:
    """Everything ordinary, packed gland."""
    stated = {
        "casing": "GJL-250",
        "impeller": "CC480K",
        "ring": "420-H",
        "shaft": "431",
        "sleeve": "420-H",
        "suction_flange": pn(10, 300),
        "discharge_flange": pn(16, 250),
        "sealing": Sealing.PACKING,
        "flush_plan": OWN_LIQUID,
    }
    return MaterialChoice(**{**stated, **changed})


def named(verdicts: tuple[Verdict, ...], rule: str) -> Verdict:
    """The one verdict of a rule."""
    (found,) = (v for v in verdicts if v.rule == rule)
    return found


def rules_of(verdicts: tuple[Verdict, ...], *, at_least: Severity = Severity.FITS) -> set[str]:
    """Names of the rules that spoke, from a weight up."""
    return {v.rule for v in verdicts if v.severity.rank >= at_least.rank}
