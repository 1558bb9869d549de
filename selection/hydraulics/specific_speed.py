"""Specific speeds: shape numbers of a pump, always with their basis.

A double-suction wheel can be counted by its total flow or by one eye's; the two differ by the
root of two. HI counts total flow for the specific speed and half of it for the type number and
the suction specific speed, and so do the functions here unless told otherwise.
"""

import numpy as np

from selection.hydraulics.door import GRAVITY, Floats

US_PER_METRIC = 51.645  # rpm, US gpm, ft against rpm, m3/s, m


def specific_speed(
    flow_m3s: Floats | float, head_m: Floats | float, speed_rpm: Floats | float, eyes: int = 1
) -> Floats:
    """Metric specific speed n_q at best efficiency, full diameter.

    flow_m3s : total flow, > 0 [m3/s]
    head_m : of one stage, > 0 [m]
    speed_rpm : > 0 [rev/min]
    eyes : 1 counts the total flow, 2 one eye of a double-suction wheel [-]
    returns : n_q [rev/min, m3/s, m]
    source : HI Engineering Data, 1.D.2
    """
    q = np.asarray(flow_m3s, dtype=np.float64) / eyes
    return np.asarray(speed_rpm * np.sqrt(q) / np.power(head_m, 0.75), dtype=np.float64)


def type_number(
    flow_m3s: Floats | float, head_m: Floats | float, speed_rpm: Floats | float, eyes: int = 1
) -> Floats:
    """Type number K, dimensionless, on the flow of one eye.

    flow_m3s : total flow, > 0 [m3/s]
    head_m : of one stage, > 0 [m]
    speed_rpm : > 0 [rev/min]
    eyes : of the wheel, 1 or 2 [-]
    returns : K [-]
    source : HI Engineering Data, 1.D.3
    """
    q = np.asarray(flow_m3s, dtype=np.float64) / eyes
    n = np.asarray(speed_rpm, dtype=np.float64) / 60.0
    return np.asarray(2.0 * np.pi * n * np.sqrt(q) / np.power(GRAVITY * np.asarray(head_m), 0.75))


def suction_specific_speed(
    flow_m3s: Floats | float, npshr_m: Floats | float, speed_rpm: Floats | float, eyes: int = 1
) -> Floats:
    """Metric suction specific speed S at best efficiency, full diameter, per eye.

    flow_m3s : total flow, > 0 [m3/s]
    npshr_m : required at that flow, > 0 [m]
    speed_rpm : > 0 [rev/min]
    eyes : of the wheel, 1 or 2 [-]
    returns : S; times 51.645 in US units [rev/min, m3/s, m]
    source : HI Engineering Data, 1.D.5
    """
    return specific_speed(flow_m3s, npshr_m, speed_rpm, eyes)
