"""What other pages and sheets show of a frozen choice: a small curve and the facts of the duty.

Everything is read from the numbers that the choice was frozen with; nothing is computed again.
"""

from dataclasses import dataclass

from selection.models import Choice
from works import formats


@dataclass(frozen=True)
class Sketch:
    """A pump's curve against its system, small.

    pump_flow_m3s, pump_head_m : one pump at the chosen diameter and speed [m3/s], [m]
    system_flow_m3s, system_head_m : the system [m3/s], [m]
    duty_flow_m3s, duty_head_m : of one pump [m3/s], [m]
    """

    pump_flow_m3s: tuple[float, ...]
    pump_head_m: tuple[float, ...]
    system_flow_m3s: tuple[float, ...]
    system_head_m: tuple[float, ...]
    duty_flow_m3s: float
    duty_head_m: float


def sketch_of(choice: Choice) -> Sketch:
    """The small curve of a choice, as frozen in its results."""
    kept = choice.results["sketch"]
    return Sketch(
        pump_flow_m3s=tuple(kept["pump_flow_m3s"]),
        pump_head_m=tuple(kept["pump_head_m"]),
        system_flow_m3s=tuple(kept["system_flow_m3s"]),
        system_head_m=tuple(kept["system_head_m"]),
        duty_flow_m3s=kept["duty_flow_m3s"],
        duty_head_m=kept["duty_head_m"],
    )


def duty_facts(choice: Choice) -> tuple[tuple[str, str], ...]:
    """What was ordered, in a customer's words; nothing internal."""
    pump = choice.as_configuration()
    duty = f"{formats.flow(pump.duty_flow_m3s)} at {formats.head(pump.duty_head_m)}"
    plan = f", plan {pump.flush_plan}" if pump.flush_plan else ""
    return (
        ("Duty, each pump", duty),
        ("Efficiency at duty", formats.percent(pump.efficiency)),
        ("NPSH required", formats.head(pump.npshr_m)),
        ("Speed", formats.speed(pump.speed_rpm)),
        ("Driver", formats.power(pump.motor_rating_w)),
        ("Casing / impeller", f"{pump.casing_metal} / {pump.impeller_metal}"),
        ("Suction flange", str(pump.suction_flange)),
        ("Discharge flange", str(pump.discharge_flange)),
        (
            "Shaft sealing",
            f"{pump.sealing}{plan}",
        ),
        ("Hydrostatic test", formats.pressure(pump.test_pressure_pa)),
        ("Rotation from the drive end", str(pump.rotation)),
    )
