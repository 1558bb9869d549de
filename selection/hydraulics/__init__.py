"""What pump: from a duty and a piping system to a ranked list of trimmed pumps, in SI.

A `CatalogueImpeller` brings its tested `CurvePoints`; `PumpCurve` draws a shape-preserving curve
through them and refuses to answer outside their range. The speed law moves it exactly, the trim
law by exponents learned from tests at several diameters, or by the practice value.
A `SystemCurve` says what the piping asks: given, through two points, or from `Pipe` runs.
`operating_points` meets the two, for pumps alone, in parallel, in series, at other speeds.
`Suction` says what NPSH is offered, `choose_motor` and `working_pressure` what drives and holds.
`search` does all of it for a whole packed `Catalogue` against a `Duty`, as arrays; one table of
checks gives every candidate its reasons for and against, in words, with figure, limit and source.
Answers a user won't like are results; a `HydraulicsError` means that the question was wrong.
"""

from selection.hydraulics.affinity import (
    PRACTICE,
    ImpellerFamily,
    TrimLaw,
    at_speed,
    blend,
    diameter_for,
    efficiency_at_speed,
    learn_law,
    points_at_speed,
    practice_law,
    trimmed,
)
from selection.hydraulics.candidates import Candidate, Candidates, search
from selection.hydraulics.catalogue import Catalogue, CatalogueImpeller, pack
from selection.hydraulics.chart_data import ChartData, chart_data
from selection.hydraulics.checks import CHECKS, Finding, Verdict
from selection.hydraulics.contours import EfficiencyLine, efficiency_lines
from selection.hydraulics.curves import CurvePoints, PumpCurve, QuadraticHead, shaft_power
from selection.hydraulics.door import GRAVITY, Certainty
from selection.hydraulics.driver import (
    NON_OVERLOADING,
    RANGE_RULE,
    STEP_RULE,
    MarginMethod,
    MotorChoice,
    MotorRule,
    check_start,
    choose_motor,
    full_load_speed,
    ie3_efficiency,
    pick_rating,
    ratings_w,
    synchronous_speed,
)
from selection.hydraulics.duty import TIP_SPEED_LIMITS, USUAL_RULES, Duty, Rules, Weights
from selection.hydraulics.energy import Control, Drive, EnergyYear, Load, energy_over_year
from selection.hydraulics.errors import HydraulicsError
from selection.hydraulics.learning import (
    USUAL_SCATTER,
    ConfidenceBand,
    Deviation,
    Scatter,
    UsualScatter,
    confidence_band,
    deviation,
    drift,
    merged,
    scatter,
    with_tests,
)
from selection.hydraulics.liquid import Liquid, atmosphere_pa, sea_water, water
from selection.hydraulics.mechanics import Mechanics
from selection.hydraulics.operating import (
    Meeting,
    OperatingPoint,
    OperatingPoints,
    operating_points,
    pumps_in_series,
    unlike_in_parallel,
)
from selection.hydraulics.pipes import (
    FITTINGS,
    PIPE_MATERIALS,
    Friction,
    Pipe,
    PipeSystem,
    bore_of,
    hazen_williams_loss,
)
from selection.hydraulics.pressure import (
    Tolerances,
    box_pressure,
    hydrostatic_pressures,
    working_pressure,
)
from selection.hydraulics.solids import SolidsRule, derated, mixture_density, with_solids
from selection.hydraulics.specific_speed import (
    specific_speed,
    suction_specific_speed,
    type_number,
)
from selection.hydraulics.speed import SpeedAnswer, speed_family, speed_for
from selection.hydraulics.suction import (
    MARGIN_RULES,
    USUAL_MARGIN,
    MarginRule,
    Suction,
    cures,
    margin_band,
    margin_rule_for,
    suction_energy,
)
from selection.hydraulics.system import Branches, SystemCurve, systems_in_series, through_points
from selection.hydraulics.valve import (
    Characteristic,
    ControlValve,
    Throttling,
    WithValve,
    opening_for,
)
from selection.hydraulics.viscosity import ViscousFactors, viscous_curve, viscous_factors

__all__ = [
    "CHECKS",
    "FITTINGS",
    "GRAVITY",
    "MARGIN_RULES",
    "NON_OVERLOADING",
    "PIPE_MATERIALS",
    "PRACTICE",
    "RANGE_RULE",
    "STEP_RULE",
    "TIP_SPEED_LIMITS",
    "USUAL_MARGIN",
    "USUAL_RULES",
    "USUAL_SCATTER",
    "Branches",
    "Candidate",
    "Candidates",
    "Catalogue",
    "CatalogueImpeller",
    "Certainty",
    "Characteristic",
    "ChartData",
    "ConfidenceBand",
    "Control",
    "ControlValve",
    "CurvePoints",
    "Deviation",
    "Drive",
    "Duty",
    "EfficiencyLine",
    "EnergyYear",
    "Finding",
    "Friction",
    "HydraulicsError",
    "ImpellerFamily",
    "Liquid",
    "Load",
    "MarginMethod",
    "MarginRule",
    "Mechanics",
    "Meeting",
    "MotorChoice",
    "MotorRule",
    "OperatingPoint",
    "OperatingPoints",
    "Pipe",
    "PipeSystem",
    "PumpCurve",
    "QuadraticHead",
    "Rules",
    "Scatter",
    "SolidsRule",
    "SpeedAnswer",
    "Suction",
    "SystemCurve",
    "Throttling",
    "Tolerances",
    "TrimLaw",
    "UsualScatter",
    "Verdict",
    "ViscousFactors",
    "Weights",
    "WithValve",
    "at_speed",
    "atmosphere_pa",
    "blend",
    "bore_of",
    "box_pressure",
    "chart_data",
    "check_start",
    "choose_motor",
    "confidence_band",
    "cures",
    "derated",
    "deviation",
    "diameter_for",
    "drift",
    "efficiency_at_speed",
    "efficiency_lines",
    "energy_over_year",
    "full_load_speed",
    "hazen_williams_loss",
    "hydrostatic_pressures",
    "ie3_efficiency",
    "learn_law",
    "margin_band",
    "margin_rule_for",
    "merged",
    "mixture_density",
    "opening_for",
    "operating_points",
    "pack",
    "pick_rating",
    "points_at_speed",
    "practice_law",
    "pumps_in_series",
    "ratings_w",
    "scatter",
    "sea_water",
    "search",
    "shaft_power",
    "specific_speed",
    "speed_family",
    "speed_for",
    "suction_energy",
    "suction_specific_speed",
    "synchronous_speed",
    "systems_in_series",
    "through_points",
    "trimmed",
    "type_number",
    "unlike_in_parallel",
    "viscous_curve",
    "viscous_factors",
    "water",
    "with_solids",
    "with_tests",
    "working_pressure",
]
