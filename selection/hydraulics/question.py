"""What a search is solved for, and the words for how it came out."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from selection.hydraulics.door import Floats, Ints
from selection.hydraulics.system import SystemCurve


class Fit(IntEnum):
    """Whether an impeller can be trimmed to the duty, and what stands against it."""

    MEETS = 0
    SHORT_OF_HEAD = 1
    TOO_MUCH_HEAD = 2
    BEYOND_END = 3
    BEFORE_START = 4


class Alone(IntEnum):
    """How a number of running pumps meets the system."""

    MEETS = 0
    BEYOND_END = 1
    TOO_LITTLE_HEAD = 2


@dataclass(frozen=True, kw_only=True)
class Question:
    """What the arrays are solved for.

    flow_m3s : of one pump at duty, > 0 [m3/s]
    head_m : at duty, > 0 [m]
    system : asked for the total flow
    running : greatest number of pumps running, >= 1 [-]
    density_kg_m3 : of the liquid [kg/m3]
    """

    flow_m3s: float
    head_m: float
    system: SystemCurve
    running: int
    density_kg_m3: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Pairs:
    """Which impellers are asked at which speeds.

    impeller : (n,) place in the catalogue [-]
    speed_rpm : (n,) > 0 [rev/min]
    poles : (n,) of the motor [-]
    """

    impeller: Ints
    speed_rpm: Floats
    poles: Ints

    @classmethod
    def all_of(cls, impellers: int, speeds_rpm: Sequence[float], poles: Sequence[int]) -> "Pairs":
        """Every impeller at every speed, speeds running fastest.

        impellers : how many [-]
        speeds_rpm : (s,) each > 0 [rev/min]
        poles : (s,) of the motor at each speed [-]
        returns : impellers × speeds pairs
        """
        return cls(
            impeller=np.repeat(np.arange(impellers), len(speeds_rpm)),
            speed_rpm=np.tile(np.asarray(speeds_rpm, dtype=np.float64), impellers),
            poles=np.tile(np.asarray(poles, dtype=np.intp), impellers),
        )
