"""Solids in the liquid: density of the mixture, and derating by entered ratios.

No single formula for how settling solids take head off could be trusted, so head and efficiency
ratios are entered; without them fine silt up to 3 % by weight is taken to leave both unchanged.
"""

from dataclasses import dataclass, replace

from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.door import Certainty, number, positive
from selection.hydraulics.errors import OutsideMethod
from selection.hydraulics.liquid import Liquid

FINE_SILT_MOST = 0.03
HARD_RINGS_FROM = 50e-6
OTHER_PUMP_FROM = 0.005
SOURCE = "head and efficiency ratios entered; 1 for fine silt up to 3 % by weight"


@dataclass(frozen=True, kw_only=True)
class SolidsRule:
    """How solids change a pump's curve.

    head_ratio : head on the mixture over head on water, 0.3 to 1 [-]
    efficiency_ratio : efficiency on the mixture over that on water, 0.3 to 1 [-]
    source : in words
    certainty : how sure
    """

    head_ratio: float = 1.0
    efficiency_ratio: float = 1.0
    source: str = SOURCE
    certainty: Certainty = Certainty.PRACTICE

    def __post_init__(self) -> None:
        number(self.head_ratio, "head ratio", "-", 0.3, 1.0)
        number(self.efficiency_ratio, "efficiency ratio", "-", 0.3, 1.0)


def mixture_density(solids_kg_m3: float, liquid_kg_m3: float, solids_mass_share: float) -> float:
    """Density of a mixture of solids and liquid.

    solids_kg_m3 : density of the solids, > 0 [kg/m3]
    liquid_kg_m3 : density of the liquid, > 0 [kg/m3]
    solids_mass_share : mass of solids over mass of mixture, 0 to 0.7 [-]
    returns : density [kg/m3]
    raises : OutOfBounds
    source : HI Engineering Data, 2.B.1
    """
    number(solids_kg_m3, "density of the solids", "kg/m3", 500.0, 20_000.0)
    number(liquid_kg_m3, "density of the liquid", "kg/m3", 100.0, 5000.0)
    number(solids_mass_share, "solids' share of the mass", "-", 0.0, 0.7)
    lighter = solids_kg_m3 + solids_mass_share * (liquid_kg_m3 - solids_kg_m3)
    return solids_kg_m3 * liquid_kg_m3 / lighter


def mixture_flow_m3s(
    dry_solids_kg_s: float, solids_mass_share: float, mixture_kg_m3: float
) -> float:
    """Flow of mixture that carries a mass of dry solids.

    dry_solids_kg_s : > 0 [kg/s]
    solids_mass_share : > 0, to 0.7 [-]
    mixture_kg_m3 : density of the mixture, > 0 [kg/m3]
    returns : flow [m3/s]
    raises : OutOfBounds
    source : HI Engineering Data, 2.B.4
    """
    positive(dry_solids_kg_s, "mass of dry solids", "kg/s", 1e5)
    number(solids_mass_share, "solids' share of the mass", "-", 1e-9, 0.7)
    positive(mixture_kg_m3, "density of the mixture", "kg/m3", 20_000.0)
    return dry_solids_kg_s / (solids_mass_share * mixture_kg_m3)


def with_solids(liquid: Liquid, solids_kg_m3: float, solids_mass_share: float) -> Liquid:
    """Give a liquid with solids in it.

    liquid : without solids
    solids_kg_m3 : density of the solids, > 0 [kg/m3]
    solids_mass_share : 0 to 0.7 [-]
    returns : the mixture, vapour pressure and viscosity as the liquid's
    raises : OutOfBounds
    source : HI Engineering Data, 2.B.1
    """
    density = mixture_density(solids_kg_m3, liquid.density_kg_m3, solids_mass_share)
    return replace(
        liquid,
        name=f"{liquid.name} with {solids_mass_share:.1%} solids",
        density_kg_m3=density,
        solids_mass_share=solids_mass_share,
    )


def derated(curve: PumpCurve, liquid: Liquid, rule: SolidsRule | None = None) -> PumpCurve:
    """Derate a water curve for solids.

    curve : on water
    liquid : its share of solids is asked
    rule : ratios; None is allowed up to 3 % by weight of fine silt only
    returns : the curve on the mixture, head in metres of mixture
    raises : OutsideMethod where no ratios are entered and solids are many
    source : `solids.SOURCE`
    """
    if rule is None:
        if liquid.solids_mass_share > FINE_SILT_MOST:
            raise OutsideMethod(
                method="Running without entered head and efficiency ratios",
                quantity="the solids' share of the mass",
                value=liquid.solids_mass_share,
                unit="-",
                low=0.0,
                high=FINE_SILT_MOST,
                source=SOURCE,
            )
        rule = SolidsRule()
    return replace(
        curve,
        head_fit=curve.head_fit.scaled(1.0, rule.head_ratio),
        efficiency_fit=curve.efficiency_fit.scaled(1.0, rule.efficiency_ratio),
    )
