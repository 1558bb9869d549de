"""What is asked of a pump, and the works' limits it is judged by."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from selection.hydraulics.door import (
    FLOW_CEILING_M3S,
    HEAD_CEILING_M,
    SPEED_CEILING_RPM,
    number,
    positive,
)
from selection.hydraulics.driver import RANGE_RULE, MotorRule, full_load_speed, synchronous_speed
from selection.hydraulics.errors import NothingGiven
from selection.hydraulics.liquid import Liquid, water
from selection.hydraulics.pressure import USUAL_TOLERANCES, Tolerances
from selection.hydraulics.question import Question
from selection.hydraulics.suction import USUAL_MARGIN, MarginRule, Suction
from selection.hydraulics.system import SystemCurve


@dataclass(frozen=True, kw_only=True)
class Duty:
    """A duty: one pump's flow and head, the system it works on, liquid, suction, mains.

    flow_m3s : of each pump, > 0 [m3/s]
    head_m : > 0 [m]
    system : asked for the total flow of all running
    pumps : running in parallel at the duty, >= 1 [-]
    standby : standing by, >= 0 [-]
    liquid : at pumping temperature; water at 20 °C unless given
    suction : of each pump
    purpose : what the pump is for; patterns made for other purposes are refused
    frequency_hz : of the mains, 50 or 60 [Hz]
    poles : numbers of poles to try, each even [-]
    speeds_rpm : speeds to try in place of the motors' own, one a number of poles; None takes
        the usual full-load speeds [rev/min]
    """

    flow_m3s: float
    head_m: float
    system: SystemCurve
    pumps: int = 1
    standby: int = 0
    liquid: Liquid = field(default_factory=lambda: water(293.15))
    suction: Suction = field(default_factory=lambda: Suction(level_m=0.0))
    purpose: str = "continuous"
    frequency_hz: float = 50.0
    poles: tuple[int, ...] = (2, 4, 6)
    speeds_rpm: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        positive(self.flow_m3s, "duty flow", "m3/s", FLOW_CEILING_M3S)
        positive(self.head_m, "duty head", "m", HEAD_CEILING_M)
        number(self.pumps, "number of pumps running", "-", 1, 20)
        number(self.standby, "number of pumps standing by", "-", 0, 20)
        if not self.poles:
            raise NothingGiven(what="number of poles")
        for poles in self.poles:
            synchronous_speed(poles, self.frequency_hz)
        if self.speeds_rpm is not None:
            number(len(self.speeds_rpm), "number of speeds", "-", len(self.poles), len(self.poles))
            for speed in self.speeds_rpm:
                positive(speed, "speed", "rev/min", SPEED_CEILING_RPM)

    @property
    def total_flow_m3s(self) -> float:
        """Flow of all pumps running [m3/s]."""
        return self.flow_m3s * self.pumps

    @property
    def hydraulic_power_w(self) -> float:
        """Power that the liquid takes up in one pump [W]."""
        return self.liquid.specific_weight_n_m3 * self.flow_m3s * self.head_m

    @property
    def speeds(self) -> tuple[float, ...]:
        """Speeds tried, one a number of poles [rev/min]."""
        if self.speeds_rpm is not None:
            return self.speeds_rpm
        likely = self.hydraulic_power_w / 0.8 * 1.15
        return tuple(
            float(full_load_speed(poles, self.frequency_hz, likely)) for poles in self.poles
        )

    @property
    def question(self) -> Question:
        """What the arrays are solved for."""
        return Question(
            flow_m3s=self.flow_m3s,
            head_m=self.head_m,
            system=self.system,
            running=self.pumps,
            density_kg_m3=self.liquid.density_kg_m3,
        )


# Highest tip speeds by class of metal [m/s]; from memory, to be checked with the foundry.
TIP_SPEED_LIMITS: Mapping[str, float] = MappingProxyType(
    {
        "grey iron": 40.0,
        "ductile iron": 50.0,
        "bronze": 50.0,
        "nickel-aluminium bronze": 65.0,
        "stainless steel": 80.0,
        "duplex": 90.0,
    }
)


@dataclass(frozen=True, kw_only=True)
class Weights:
    """What an objection costs in the ranking, as shares of shaft power.

    caution : each caution [-]
    against : each point against [-]
    off_best : each 10 % that the duty lies off best efficiency [-]
    """

    caution: float = 0.01
    against: float = 0.06
    off_best: float = 0.01


@dataclass(frozen=True, kw_only=True)
class Rules:
    """Limits of the checks; every one is the works' to change.

    preferred_low, preferred_high : preferred region, shares of best-efficiency flow [-]
    preferred_low_fast : start of the preferred region above n_q 87 on total flow [-]
    best_low, best_high : rated point close to best efficiency [-]
    diameter_in_hand : share of the largest diameter left to grow [-]
    trim_most : share of the largest diameter that may be turned off without asking [-]
    rise_least : head rise from duty to shut-off wanted for parallel running [-]
    rise_most : head rise above which pressure grows needlessly [-]
    off_duty_most : flow that pumps on the system may differ from the duty by [-]
    suction_speed_usual, suction_speed_most : S per eye [rev/min, m3/s, m]
    npsh : margin rule
    motor : margin rule
    tolerances : for the highest pressure
    tip_speed_m_s : limit by class of metal [m/s]
    shaft_stress_share : of proof stress that shear in the shaft may reach [-]
    shaft_deflection_mm : at the box face [mm]
    bearing_life_h : L10h wanted [h]
    nozzle_velocity_m_s : in the suction nozzle [m/s]
    starting_voltage_share : of rated voltage while starting [-]
    weights : of the ranking
    """

    preferred_low: float = 0.70
    preferred_high: float = 1.20
    preferred_low_fast: float = 0.80
    best_low: float = 0.80
    best_high: float = 1.10
    diameter_in_hand: float = 0.02
    trim_most: float = 0.15
    rise_least: float = 0.10
    rise_most: float = 0.30
    off_duty_most: float = 0.05
    suction_speed_usual: float = 213.0
    suction_speed_most: float = 250.0
    npsh: MarginRule = USUAL_MARGIN
    motor: MotorRule = RANGE_RULE
    tolerances: Tolerances = USUAL_TOLERANCES
    tip_speed_m_s: Mapping[str, float] = field(default_factory=lambda: TIP_SPEED_LIMITS)
    shaft_stress_share: float = 0.225
    shaft_deflection_mm: float = 0.05
    bearing_life_h: float = 25_000.0
    nozzle_velocity_m_s: float = 5.0
    starting_voltage_share: float = 0.8
    weights: Weights = Weights()


USUAL_RULES = Rules()
