"""Pipe runs with their fittings: loss by Darcy and Weisbach through `fluids`.

Roughness is always passed to `fluids` from the table here, never asked of it by name: its own
entry called Steel is that of a drawn tube, thirty times too smooth for a commercial pipe.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from selection.hydraulics.door import (
    FLOW_CEILING_M3S,
    GRAVITY,
    HEAD_CEILING_M,
    Certainty,
    Floats,
    number,
    positive,
)
from selection.hydraulics.errors import NothingGiven, OutOfBounds, UnknownName
from selection.hydraulics.system import SystemCurve


@dataclass(frozen=True, kw_only=True)
class Roughness:
    """Roughness of a clean new pipe and its Hazen–Williams coefficient.

    roughness_m : > 0 [m]
    hazen_williams_c : > 0 [-]
    source : of the roughness
    certainty : of the roughness; every Hazen–Williams coefficient is from memory
    """

    roughness_m: float
    hazen_williams_c: float
    source: str
    certainty: Certainty


_HI = "HI Engineering Data, table 3.A.1"
PIPE_MATERIALS: dict[str, Roughness] = {
    name: Roughness(roughness_m=mm / 1000.0, hazen_williams_c=c, source=source, certainty=sure)
    for name, mm, c, source, sure in (
        ("commercial steel", 0.0457, 130.0, _HI, Certainty.CONFIRMED),
        ("cast iron, uncoated", 0.26, 130.0, _HI, Certainty.CONFIRMED),
        ("cast iron, asphalt dipped", 0.122, 130.0, _HI, Certainty.CONFIRMED),
        ("ductile iron, cement lined", 0.1, 140.0, "middle of 0.03 to 0.3 mm", Certainty.MEMORY),
        ("galvanised steel", 0.152, 120.0, _HI, Certainty.CONFIRMED),
        ("stainless steel", 0.015, 140.0, _HI, Certainty.CONFIRMED),
        ("concrete, smooth", 0.305, 130.0, _HI, Certainty.CONFIRMED),
        ("concrete, rough", 3.05, 120.0, _HI, Certainty.CONFIRMED),
        ("riveted steel", 3.0, 110.0, "within HI's 0.914 to 9.14 mm", Certainty.PRACTICE),
        ("plastic or glass", 0.0015, 150.0, _HI, Certainty.CONFIRMED),
        ("glass-fibre", 0.005, 150.0, _HI, Certainty.CONFIRMED),
        ("old tuberculated main", 1.2, 80.0, _HI, Certainty.CONFIRMED),
    )
}


@dataclass(frozen=True, kw_only=True)
class FittingLoss:
    """Loss of a fitting in velocity heads: fixed, or a multiple of the turbulent factor f_T.

    fixed : velocity heads [-]
    turbulent_factors : multiples of f_T at the pipe's bore [-]
    source : where it comes from
    certainty : how sure
    """

    fixed: float = 0.0
    turbulent_factors: float = 0.0
    source: str
    certainty: Certainty = Certainty.CONFIRMED

    def velocity_heads(self, bore_m: float) -> float:
        """Loss coefficient at a bore.

        bore_m : > 0 [m]
        returns : velocity heads [-]
        """
        if not self.turbulent_factors:
            return self.fixed
        import fluids  # takes a second to load: only who asks for pipes waits

        return self.fixed + self.turbulent_factors * float(fluids.ft_Crane(bore_m))


_CRANE = "Crane TP 410, as in fluids"
FITTINGS: dict[str, FittingLoss] = {
    "entrance, square": FittingLoss(fixed=0.5, source="HI Engineering Data, 3.B.1a"),
    "entrance, bellmouth": FittingLoss(fixed=0.05, source="HI Engineering Data, 3.B.1a"),
    "entrance, inward pipe": FittingLoss(fixed=1.0, source="HI Engineering Data, 3.B.1a"),
    "exit": FittingLoss(fixed=1.0, source="fluids"),
    "elbow 90°, standard": FittingLoss(turbulent_factors=20.0, source=_CRANE),
    "elbow 90°, long radius": FittingLoss(turbulent_factors=14.0, source=_CRANE),
    "elbow 45°": FittingLoss(turbulent_factors=16.0, source=_CRANE, certainty=Certainty.MEMORY),
    "tee, straight through": FittingLoss(
        turbulent_factors=20.0, source=_CRANE, certainty=Certainty.MEMORY
    ),
    "tee, into the branch": FittingLoss(
        turbulent_factors=60.0, source=_CRANE, certainty=Certainty.MEMORY
    ),
    "gate valve": FittingLoss(turbulent_factors=8.0, source=_CRANE),
    "globe valve": FittingLoss(turbulent_factors=340.0, source=_CRANE),
    "butterfly valve": FittingLoss(turbulent_factors=45.0, source=_CRANE),
    "check valve, swing": FittingLoss(turbulent_factors=100.0, source=_CRANE),
    "check valve, straight swing": FittingLoss(turbulent_factors=50.0, source=_CRANE),
    "foot valve with strainer, poppet": FittingLoss(turbulent_factors=420.0, source=_CRANE),
    "foot valve with strainer, hinged": FittingLoss(turbulent_factors=75.0, source=_CRANE),
}


@dataclass(frozen=True, kw_only=True)
class Pipe:
    """One run of pipe with its fittings.

    length_m : >= 0 [m]
    bore_m : inside diameter, > 0 [m]
    material : a name of PIPE_MATERIALS
    roughness_m : in place of the material's; None takes the material's [m]
    fittings : name of FITTINGS and how many of it, >= 0
    other_velocity_heads : losses of pieces not in the table, >= 0 [-]
    ageing : multiplies the pipe's friction, not its fittings; 1 is clean and new [-]
    """

    length_m: float
    bore_m: float
    material: str = "commercial steel"
    roughness_m: float | None = None
    fittings: tuple[tuple[str, int], ...] = ()
    other_velocity_heads: float = 0.0
    ageing: float = 1.0

    def __post_init__(self) -> None:
        number(self.length_m, "pipe's length", "m", 0.0, 1e6)
        number(self.bore_m, "pipe's bore", "m", 0.005, 6.0)
        number(self.other_velocity_heads, "other losses", "-", 0.0, 1e6)
        number(self.ageing, "ageing factor", "-", 0.5, 5.0)
        if self.roughness_m is not None:
            number(self.roughness_m, "pipe's roughness", "m", 0.0, 0.05 * self.bore_m)
        if self.material not in PIPE_MATERIALS:
            raise UnknownName(kind="pipe material", name=self.material, known=tuple(PIPE_MATERIALS))
        for name, count in self.fittings:
            if name not in FITTINGS:
                raise UnknownName(kind="fitting", name=name, known=tuple(FITTINGS))
            number(count, f"number of '{name}'", "-", 0, 10_000)

    def velocity(self, flow_m3s: Floats | float) -> Floats:
        """Mean velocity.

        flow_m3s : any shape [m3/s]
        returns : same shape [m/s]
        """
        return np.asarray(np.asarray(flow_m3s) / (np.pi / 4.0 * self.bore_m**2))

    def loss(self, flow_m3s: Floats | float, kinematic_viscosity_m2s: float = 1.0034e-6) -> Floats:
        """Friction and fitting loss.

        flow_m3s : any shape, >= 0 [m3/s]
        kinematic_viscosity_m2s : > 0; water at 20 °C unless given [m2/s]
        returns : same shape [m]
        source : Darcy and Weisbach; friction factor by fluids (Colebrook, laminar below 2040)
        """
        import fluids  # see `FittingLoss.velocity_heads`

        flow = np.asarray(flow_m3s, dtype=np.float64)
        relative = self.wall_roughness_m / self.bore_m
        velocity = self.velocity(flow)
        reynolds = velocity * self.bore_m / kinematic_viscosity_m2s
        factor = np.array(
            [
                fluids.friction_factor(Re=value, eD=relative) if value > 0.0 else 0.0
                for value in reynolds.ravel()
            ]
        ).reshape(flow.shape)
        heads = self.ageing * factor * self.length_m / self.bore_m + self.fixed_velocity_heads
        return np.asarray(heads * velocity**2 / (2.0 * GRAVITY))

    @property
    def wall_roughness_m(self) -> float:
        """Roughness in use [m]."""
        if self.roughness_m is not None:
            return self.roughness_m
        return PIPE_MATERIALS[self.material].roughness_m

    @property
    def fixed_velocity_heads(self) -> float:
        """Losses of fittings and other pieces [-]."""
        return self.other_velocity_heads + sum(
            count * FITTINGS[name].velocity_heads(self.bore_m) for name, count in self.fittings
        )


def hazen_williams_loss(pipe: Pipe, flow_m3s: Floats | float) -> Floats:
    """Friction of a run by Hazen and Williams, fittings not counted.

    pipe : its coefficient comes from its material, divided by its ageing to the power 1/1.852
    flow_m3s : any shape, >= 0 [m3/s]
    returns : same shape [m]
    raises : OutOfBounds where the bore is under 50 mm
    source : h = 10.67·L·Q^1.852/(C^1.852·d^4.8704), from memory; water near 15 °C only (HI)
    """
    number(pipe.bore_m, "bore for Hazen and Williams", "m", 0.05)
    c = PIPE_MATERIALS[pipe.material].hazen_williams_c
    flow = np.asarray(flow_m3s, dtype=np.float64)
    friction = 10.67 * pipe.length_m * flow**1.852 / (c**1.852 * pipe.bore_m**4.8704)
    return np.asarray(pipe.ageing * friction)


def bore_of(dn: int, schedule: str = "40") -> float:
    """Inside diameter of a steel pipe by nominal size and schedule.

    dn : nominal diameter, a standard size [mm]
    schedule : as ASME B36.10 names it
    returns : bore [m]
    raises : UnknownName
    source : ASME B36.10 as in fluids
    """
    if dn not in _NPS_OF_DN:
        raise UnknownName(
            kind="nominal diameter", name=f"DN {dn}", known=tuple(f"DN {k}" for k in _NPS_OF_DN)
        )
    import fluids  # see `FittingLoss.velocity_heads`

    try:
        _, bore, _, _ = fluids.nearest_pipe(None, None, _NPS_OF_DN[dn], schedule)  # type: ignore[arg-type]
    except ValueError:
        known = ("5", "10", "20", "30", "40", "60", "80", "100", "120", "140", "160", "STD", "XS")
        raise UnknownName(kind=f"schedule of DN {dn}", name=schedule, known=known) from None
    return float(bore)


_NPS_OF_DN: dict[int, float] = {
    50: 2, 65: 2.5, 80: 3, 100: 4, 125: 5, 150: 6, 200: 8, 250: 10, 300: 12, 350: 14,
    400: 16, 450: 18, 500: 20, 600: 24, 700: 28, 750: 30, 800: 32, 900: 36,
}  # fmt: skip


class Friction(StrEnum):
    """Formula for the friction of straight pipe."""

    DARCY = "Darcy and Weisbach"
    HAZEN_WILLIAMS = "Hazen and Williams"


@dataclass(frozen=True, kw_only=True)
class PipeSystem:
    """Runs in series between two surfaces, asked exactly.

    runs : at least one, all carrying the total flow times their share
    shares : share of the total flow in each run, 0 to 1; None when all carry all [-]
    static_m : at mean levels [m]
    static_low_m, static_high_m : band of levels; None: as static_m [m]
    vessel_pressure_difference_pa : discharge surface less suction surface [Pa]
    density_kg_m3 : > 0 [kg/m3]
    kinematic_viscosity_m2s : > 0 [m2/s]
    friction : formula; Hazen and Williams's holds for water near 15 °C only and is offered
        because specifications ask for it
    """

    runs: tuple[Pipe, ...]
    shares: tuple[float, ...] | None = None
    static_m: float
    static_low_m: float | None = None
    static_high_m: float | None = None
    vessel_pressure_difference_pa: float = 0.0
    density_kg_m3: float = 998.2
    kinematic_viscosity_m2s: float = 1.0034e-6
    friction: Friction = Friction.DARCY

    def __post_init__(self) -> None:
        if not self.runs:
            raise NothingGiven(what="pipe run")
        number(self.static_m, "static head", "m", -HEAD_CEILING_M, HEAD_CEILING_M)
        number(self.vessel_pressure_difference_pa, "pressure difference", "Pa", -1e8, 1e8)
        positive(self.density_kg_m3, "density", "kg/m3", 5000.0)
        positive(self.kinematic_viscosity_m2s, "kinematic viscosity", "m2/s", 1.0)
        if self.shares is not None:
            if len(self.shares) != len(self.runs):
                raise OutOfBounds(
                    quantity="number of shares",
                    value=len(self.shares),
                    unit="-",
                    low=len(self.runs),
                    high=len(self.runs),
                )
            for share in self.shares:
                number(share, "share of the flow in a run", "-", 0.0, 1.0)

    @property
    def lift_m(self) -> float:
        """Static head with the vessels' pressures [m]."""
        return self.static_m + self._pressure_head_m

    @property
    def _pressure_head_m(self) -> float:
        return self.vessel_pressure_difference_pa / (self.density_kg_m3 * GRAVITY)

    def loss(self, flow_m3s: Floats | float) -> Floats:
        """Losses of all runs at total flows.

        flow_m3s : any shape, >= 0 [m3/s]
        returns : same shape [m]
        """
        flow = np.asarray(flow_m3s, dtype=np.float64)
        shares: Sequence[float] = self.shares or (1.0,) * len(self.runs)
        return np.asarray(
            sum(self._loss(run, flow * share) for run, share in zip(self.runs, shares, strict=True))
        )

    def _loss(self, run: Pipe, flow: Floats) -> Floats:
        if self.friction is Friction.DARCY:
            return run.loss(flow, self.kinematic_viscosity_m2s)
        heads = run.fixed_velocity_heads * run.velocity(flow) ** 2 / (2.0 * GRAVITY)
        return np.asarray(hazen_williams_loss(run, flow) + heads)

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head asked at total flows.

        flow_m3s : any shape, >= 0 [m3/s]
        returns : same shape [m]
        """
        return np.asarray(self.lift_m + self.loss(flow_m3s))

    def fitted(self, design_flow_m3s: float) -> SystemCurve:
        """Fit static + k·Q^n, exact at the design flow.

        design_flow_m3s : total, > 0 [m3/s]
        returns : the curve; `strays_m` is its greatest difference from the pipes between a
            quarter and one and a half of the design flow
        raises : OutOfBounds
        """
        design = positive(design_flow_m3s, "design flow", "m3/s", FLOW_CEILING_M3S)
        shares = np.array([0.5, 0.75, 1.0, 1.25])
        loss = self.loss(shares * design)
        if loss[2] <= 0.0:
            exponent, coefficient = 2.0, 0.0
        else:
            exponent = float(np.clip(np.polyfit(np.log(shares), np.log(loss), 1)[0], 1.0, 2.1))
            coefficient = float(loss[2] / design**exponent)
        fit = SystemCurve(
            static_m=self.lift_m,
            coefficient=coefficient,
            exponent=exponent,
            static_low_m=None if self.static_low_m is None else self._at(self.static_low_m),
            static_high_m=None if self.static_high_m is None else self._at(self.static_high_m),
        )
        flow = design * np.linspace(0.25, 1.5, 26)
        strays = float(np.max(np.abs(fit.head(flow) - self.head(flow))))
        return SystemCurve(
            static_m=fit.static_m,
            coefficient=coefficient,
            exponent=exponent,
            static_low_m=fit.static_low_m,
            static_high_m=fit.static_high_m,
            strays_m=strays,
            source=(
                f"{len(self.runs)} pipe runs by {self.friction}, exact at the design "
                f"flow, within {strays:.2f} m from a quarter to one and a half of it"
            ),
        )

    def _at(self, static_m: float) -> float:
        return static_m + self._pressure_head_m
