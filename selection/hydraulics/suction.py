"""What the suction offers: NPSH available, where its margin runs out, and what would cure it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.door import GRAVITY, Bools, Certainty, Floats, number
from selection.hydraulics.errors import UnknownName
from selection.hydraulics.liquid import Liquid, atmosphere_pa, boiling_temperature
from selection.hydraulics.roots import bracketed_root


@dataclass(frozen=True, kw_only=True)
class Suction:
    """The suction side of one pump.

    level_m : liquid surface above the pump's datum; negative for a lift [m]
    altitude_m : of the site, for the air pressure on an open surface [m]
    surface_pressure_pa : absolute, on the surface; None is open to the air [Pa]
    loss_m : losses of the suction line at `loss_flow_m3s` [m]
    loss_flow_m3s : flow of one pump at which the losses were found; losses vary with its
        square; None keeps them at every flow [m3/s]
    level_low_m : lowest level, for the worst case; None: as level_m [m]
    pressure_high_pa : highest gauge pressure at the suction flange; None reckons it from the
        level and the surface's pressure [Pa]
    """

    level_m: float
    altitude_m: float = 0.0
    surface_pressure_pa: float | None = None
    loss_m: float = 0.0
    loss_flow_m3s: float | None = None
    level_low_m: float | None = None
    pressure_high_pa: float | None = None

    def __post_init__(self) -> None:
        number(self.level_m, "suction level", "m", -50.0, 1000.0)
        number(self.altitude_m, "site's altitude", "m", -500.0, 6000.0)
        number(self.loss_m, "suction loss", "m", 0.0, 200.0)
        if self.surface_pressure_pa is not None:
            number(self.surface_pressure_pa, "pressure on the suction surface", "Pa", 0.0, 1e8)
        if self.loss_flow_m3s is not None:
            number(self.loss_flow_m3s, "flow of the suction loss", "m3/s", 1e-6, 50.0)
        if self.level_low_m is not None:
            number(self.level_low_m, "lowest suction level", "m", -50.0, self.level_m)
        if self.pressure_high_pa is not None:
            number(self.pressure_high_pa, "highest suction pressure", "Pa", -1e5, 1e8)

    @property
    def air_pa(self) -> float:
        """Air pressure of the site, absolute [Pa]."""
        return atmosphere_pa(self.altitude_m)

    @property
    def surface_pa(self) -> float:
        """Pressure on the surface, absolute [Pa]."""
        return self.air_pa if self.surface_pressure_pa is None else self.surface_pressure_pa

    @property
    def worst(self) -> "Suction":
        """The same suction at its lowest level."""
        low = self.level_m if self.level_low_m is None else self.level_low_m
        return replace(self, level_m=low, level_low_m=None)

    def loss(self, flow_m3s: Floats | float) -> Floats:
        """Losses at flows of one pump.

        flow_m3s : any shape [m3/s]
        returns : same shape [m]
        """
        flow = np.asarray(flow_m3s, dtype=np.float64)
        if self.loss_flow_m3s is None:
            return np.full_like(flow, self.loss_m)
        return np.asarray(self.loss_m * (flow / self.loss_flow_m3s) ** 2)

    def npsha(self, flow_m3s: Floats | float, liquid: Liquid) -> Floats:
        """NPSH available at flows of one pump.

        flow_m3s : any shape [m3/s]
        liquid : density and vapour pressure
        returns : same shape; negative where the liquid boils in the line [m]
        source : HI Engineering Data, 1.D.6
        """
        pressure = (self.surface_pa - liquid.vapour_pressure_pa) / liquid.specific_weight_n_m3
        return np.asarray(pressure + self.level_m - self.loss(flow_m3s))

    def highest_pressure_pa(self, liquid: Liquid) -> float:
        """Highest gauge pressure at the suction flange, at no flow.

        liquid : its density
        returns : gauge [Pa]
        """
        if self.pressure_high_pa is not None:
            return self.pressure_high_pa
        standing = self.surface_pa - self.air_pa + self.level_m * liquid.specific_weight_n_m3
        return max(0.0, standing)


def npsha_from_gauge(
    gauge_pa: float, gauge_height_m: float, velocity_m_s: float, liquid: Liquid, air_pa: float
) -> float:
    """NPSH available from a gauge at the suction flange.

    gauge_pa : reading, gauge [Pa]
    gauge_height_m : of the gauge above the pump's datum [m]
    velocity_m_s : in the pipe at the tapping, >= 0 [m/s]
    liquid : density and vapour pressure
    air_pa : absolute, of the site [Pa]
    returns : NPSH available [m]
    source : HI Engineering Data, 1.A.3 and 1.D.6
    """
    number(velocity_m_s, "velocity at the gauge", "m/s", 0.0, 30.0)
    pressure = gauge_pa + air_pa - liquid.vapour_pressure_pa
    static = pressure / liquid.specific_weight_n_m3 + gauge_height_m
    return static + velocity_m_s**2 / (2.0 * GRAVITY)


@dataclass(frozen=True, kw_only=True)
class MarginRule:
    """How much NPSH must be left over: the greater of a ratio and a margin.

    ratio : available over required, >= 1 [-]
    margin_m : available less required, >= 0 [m]
    name : where it is used
    source : in words
    certainty : how sure
    """

    ratio: float
    margin_m: float
    name: str
    source: str
    certainty: Certainty

    def needed(self, npshr_m: Floats | float) -> Floats:
        """NPSH available that the rule asks for.

        npshr_m : any shape [m]
        returns : same shape [m]
        """
        return np.maximum(np.multiply(npshr_m, self.ratio), np.add(npshr_m, self.margin_m))


_GUIDE = "HI 9.6.1-1998 table by suction energy"
MARGIN_RULES: dict[str, MarginRule] = {
    rule.name: rule
    for rule in (
        MarginRule(
            ratio=1.1,
            margin_m=1.0,
            name="purchaser's usual",
            source="greater of 1 m and 10 % of NPSH required",
            certainty=Certainty.PRACTICE,
        ),
        *(
            MarginRule(
                ratio=ratio, margin_m=margin, name=name, source=_GUIDE, certainty=Certainty.MEMORY
            )
            for name, ratio, margin in (
                ("water, low suction energy", 1.1, 0.6),
                ("water, high suction energy", 1.3, 1.5),
                ("water, very high suction energy", 2.0, 1.5),
                ("power plant, low suction energy", 1.1, 0.6),
                ("power plant, high suction energy", 1.5, 1.5),
                ("power plant, very high suction energy", 2.0, 1.5),
                ("cooling tower, low suction energy", 1.3, 0.9),
                ("cooling tower, high suction energy", 1.5, 1.5),
                ("cooling tower, very high suction energy", 2.0, 1.5),
                ("general industry, low suction energy", 1.1, 0.6),
                ("general industry, high suction energy", 1.2, 0.9),
            )
        ),
    )
}
USUAL_MARGIN = MARGIN_RULES["purchaser's usual"]
HIGH_SUCTION_ENERGY, VERY_HIGH_SUCTION_ENERGY = 120e6, 180e6  # split case, HI 9.6.1, from memory


def margin_rule_for(service: str, energy: float) -> MarginRule:
    """Pick HI's margin rule by service and suction energy.

    service : "water", "power plant", "cooling tower" or "general industry"
    energy : from `suction_energy`, US units [-]
    returns : the rule; general industry has none above high, and takes the high one
    raises : UnknownName
    source : HI 9.6.1-1998 table, from memory
    """
    grade = "low"
    if energy >= VERY_HIGH_SUCTION_ENERGY and service != "general industry":
        grade = "very high"
    elif energy >= HIGH_SUCTION_ENERGY:
        grade = "high"
    name = f"{service}, {grade} suction energy"
    if name not in MARGIN_RULES:
        known = ("water", "power plant", "cooling tower", "general industry")
        raise UnknownName(kind="service with its own NPSH margin", name=service, known=known)
    return MARGIN_RULES[name]


@dataclass(frozen=True, eq=False, kw_only=True)
class MarginBand:
    """NPSH over the whole band of flows.

    flow_m3s : (n,) of one pump [m3/s]
    available_m, required_m : (n,); required is NaN where not measured [m]
    margin_m : (n,) available less required [m]
    ratio : (n,) available over required [-]
    enough : (n,) whether the rule is met
    runs_out_m3s : flow at which the rule is first broken; None when it holds throughout [m3/s]
    cavitates_m3s : flow at which nothing at all is left; None when that is not reached [m3/s]
    """

    flow_m3s: Floats
    available_m: Floats
    required_m: Floats
    margin_m: Floats
    ratio: Floats
    enough: Bools
    runs_out_m3s: float | None
    cavitates_m3s: float | None


def margin_band(
    curve: PumpCurve,
    suction: Suction,
    liquid: Liquid,
    rule: MarginRule = USUAL_MARGIN,
    samples: int = 101,
) -> MarginBand:
    """Compare NPSH available and required over the flows where both are known.

    curve : of one pump, with NPSH required
    suction : of one pump
    liquid : density and vapour pressure
    rule : margin asked
    samples : flows in the band, >= 11 [-]
    returns : the band, and where the margin runs out
    """
    number(samples, "number of samples", "-", 11, 10_000)
    fit = curve.npshr_fit
    low, high = (curve.flow_low_m3s, curve.flow_high_m3s) if fit is None else (fit.low, fit.high)
    flow = np.linspace(low, min(high, curve.flow_high_m3s), samples)
    available, required = suction.npsha(flow, liquid), curve.npshr(flow)
    needed = rule.needed(required)
    return MarginBand(
        flow_m3s=flow,
        available_m=available,
        required_m=required,
        margin_m=available - required,
        ratio=available / required,
        enough=np.asarray(available >= needed),
        runs_out_m3s=_first_below(
            flow, lambda q: suction.npsha(q, liquid) - rule.needed(curve.npshr(q))
        ),
        cavitates_m3s=_first_below(flow, lambda q: suction.npsha(q, liquid) - curve.npshr(q)),
    )


def _first_below(flow: Floats, spare: Callable[[Floats], Floats]) -> float | None:
    left = spare(flow)
    bad = np.flatnonzero(left < 0.0)
    if not bad.size:
        return None
    if bad[0] == 0:
        return float(flow[0])
    at = int(bad[0])
    return float(bracketed_root(spare, flow[at - 1 : at], flow[at : at + 1]).x[0])


@dataclass(frozen=True, kw_only=True)
class Cures:
    """What would mend a suction that offers too little at a flow.

    short_by_m : lacking against the rule; nought or below when nothing lacks [m]
    level_m : suction level that would do [m]
    temperature_k : water temperature that would do; None when even 0 °C does not, or the liquid
        is not water [K]
    speed_rpm : pump speed at which it would do, flow falling with speed; None when none above
        half speed does [rev/min]
    sentence : what a page says
    """

    short_by_m: float
    level_m: float
    temperature_k: float | None
    speed_rpm: float | None
    sentence: str


def cures(
    curve: PumpCurve,
    suction: Suction,
    liquid: Liquid,
    flow_m3s: float,
    rule: MarginRule = USUAL_MARGIN,
) -> Cures:
    """Say what level, temperature or speed would leave enough NPSH at a flow.

    curve : of one pump, with NPSH required at that flow
    suction : of one pump
    liquid : density and vapour pressure
    flow_m3s : of one pump, > 0 [m3/s]
    rule : margin asked
    returns : each cure by itself
    raises : OutOfBounds where NPSH required is not known at the flow
    source : flow with speed, NPSH required with its square, HI Engineering Data 1.B.6
    """
    required = number(float(curve.npshr(flow_m3s)), "NPSH required at the flow", "m", 0.0)
    short = float(rule.needed(required) - suction.npsha(flow_m3s, liquid))
    if short <= 0.0:
        return Cures(
            short_by_m=short,
            level_m=suction.level_m,
            temperature_k=liquid.temperature_k,
            speed_rpm=curve.speed_rpm,
            sentence=f"NPSH available leaves {-short:.1f} m more than the margin asked.",
        )
    level = suction.level_m + short
    vapour = liquid.vapour_pressure_pa - short * liquid.specific_weight_n_m3
    cooler = None
    if "water" in liquid.name and vapour > 611.3:
        cooler = boiling_temperature(vapour)
    speed = _slower(curve.speed_rpm, required, suction, liquid, flow_m3s, rule)
    parts = [f"a level {short:.1f} m higher ({level:+.1f} m to the datum)"]
    if cooler is not None:
        parts.append(f"water no warmer than {cooler - 273.15:.0f} °C")
    if speed is not None:
        less = flow_m3s * speed / curve.speed_rpm * 3600.0
        parts.append(f"a speed of {speed:.0f} rev/min, the flow falling to {less:.0f} m³/h")
    return Cures(
        short_by_m=short,
        level_m=level,
        temperature_k=cooler,
        speed_rpm=speed,
        sentence=f"NPSH is short by {short:.1f} m; any of these would do: {', or '.join(parts)}.",
    )


def _slower(
    speed_rpm: float,
    required_m: float,
    suction: Suction,
    liquid: Liquid,
    flow_m3s: float,
    rule: MarginRule,
) -> float | None:
    """Fastest speed at which the rule holds, flow falling with speed; not under half speed."""

    def spare(ratio: Floats) -> Floats:
        needed = rule.needed(required_m * ratio**2)
        return np.asarray(suction.npsha(flow_m3s * ratio, liquid) - needed)

    half, full = np.array([0.5]), np.array([1.0])
    if float(spare(half)[0]) < 0.0:
        return None
    return speed_rpm * float(bracketed_root(spare, half, full).x[0])


def suction_energy(
    eye_diameter_mm: float, speed_rpm: float, suction_specific_speed: float, relative_density: float
) -> float:
    """Suction energy, by which HI grades how much margin a pump needs.

    eye_diameter_mm : of the impeller's eye, > 0 [mm]
    speed_rpm : > 0 [rev/min]
    suction_specific_speed : S per eye, metric, > 0 [rev/min, m3/s, m]
    relative_density : > 0 [-]
    returns : suction energy in US units; for split-case pumps high from 120e6, very high from
        180e6 [-]
    source : HI 9.6.1, from memory
    """
    return eye_diameter_mm / 25.4 * speed_rpm * suction_specific_speed * 51.645 * relative_density
