"""All candidates of one search lined up as arrays: what a check is given to judge."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from selection.hydraulics.catalogue import Catalogue, CatalogueImpeller
from selection.hydraulics.door import GRAVITY, Bools, Floats, Words
from selection.hydraulics.driver import pick_rating
from selection.hydraulics.duty import Duty, Rules
from selection.hydraulics.mechanics import radial_thrust
from selection.hydraulics.pressure import working_pressure
from selection.hydraulics.question import Fit
from selection.hydraulics.solve import Solved


@dataclass(frozen=True, eq=False)
class Lineup:
    """Candidates with the duty and the limits; every array has one place a candidate.

    catalogue : packed
    solved : trims and operating points
    duty : what is asked
    rules : limits of the checks
    others : further duties that the same pump must serve, with its figures there
    """

    catalogue: Catalogue
    solved: Solved
    duty: Duty
    rules: Rules
    others: tuple[tuple[Duty, Solved], ...] = ()

    def of_impeller(self, name: str) -> Floats:
        """Give a number of each candidate's impeller; see `Catalogue.column`.

        name : field of CatalogueImpeller, "mechanics.FIELD" for one of its mechanics
        returns : (n,) NaN where it is not known [as the field]
        """
        return self.catalogue.column(name)[self.solved.impeller]

    def words(self, name: str, make: Callable[[CatalogueImpeller], str]) -> Words:
        """Give a word or two of each candidate's impeller; see `Catalogue.words`.

        name : what the words are kept under
        make : gives them for one impeller
        returns : (n,) texts
        """
        return self.catalogue.words(name, make)[self.solved.impeller]

    @cached_property
    def meets(self) -> Bools:
        """(n,) the impeller was trimmed to the duty."""
        return np.asarray(self.solved.fit == Fit.MEETS)

    @cached_property
    def share_of_best(self) -> Floats:
        """(n,) duty flow over best-efficiency flow [-]."""
        return self.duty.flow_m3s / self.solved.bep_flow_m3s

    @cached_property
    def motor_needed_w(self) -> Floats:
        """(n,) power that the motor rule asks for [W]."""
        s = self.solved
        return self.rules.motor.needed(s.power_w, s.power_max_w, s.alone_power_w)

    @cached_property
    def motor_w(self) -> Floats:
        """(n,) standard rating; infinite above the table, NaN where the duty is not met [W]."""
        return pick_rating(self.motor_needed_w, stocked_only=self.rules.motor.stocked_only)

    @cached_property
    def working_pa(self) -> Floats:
        """(n,) highest working pressure, gauge [Pa]."""
        duty = self.duty
        return working_pressure(
            duty.suction.highest_pressure_pa(duty.liquid),
            self.solved.head_max_m,
            duty.liquid.density_kg_m3,
            self.rules.tolerances,
        )

    @cached_property
    def tip_speed_m_s(self) -> Floats:
        """(n,) at the trimmed diameter [m/s]."""
        return np.pi * self.solved.diameter_mm / 1000.0 * self.solved.speed_rpm / 60.0

    def _thrust(self, head_m: Floats | float, flow_m3s: Floats | float) -> Floats:
        return radial_thrust(
            head_m,
            flow_m3s / self.solved.bep_flow_m3s,
            self.solved.diameter_mm,
            self.of_impeller("mechanics.outlet_width_mm"),
            self.duty.liquid.density_kg_m3,
            self.of_impeller("volutes"),
        )

    @cached_property
    def thrust_n(self) -> Floats:
        """(n,) greatest radial thrust of duty and run-out alone; NaN where not known [N]."""
        alone = self._thrust(self.solved.alone_head_m, self.solved.alone_flow_m3s)
        return np.fmax(self._thrust(self.duty.head_m, self.duty.flow_m3s), alone)

    @cached_property
    def shaft_load_n(self) -> Floats:
        """(n,) thrust and rotor's weight together, as if both pointed down [N]."""
        return self.thrust_n + self.of_impeller("mechanics.rotor_mass_kg") * GRAVITY

    @cached_property
    def viscous_parameter(self) -> Floats:
        """(n,) B of ANSI/HI 9.6.7 at best efficiency [-]."""
        s = self.solved
        corrected = self.of_impeller("viscous_factors.parameter")
        root = np.sqrt(self.duty.liquid.kinematic_viscosity_m2s * 1e6)
        size = (s.bep_flow_m3s * 3600.0) ** 0.375 * s.speed_rpm**0.25
        asked = 16.5 * root * np.maximum(s.bep_head_m, 0.0) ** 0.0625 / size
        return np.where(np.isnan(corrected), asked, corrected)

    @cached_property
    def npsha_duty_m(self) -> float:
        """NPSH available at the duty, at the lowest suction level [m]."""
        duty = self.duty
        return float(duty.suction.worst.npsha(duty.flow_m3s, duty.liquid))

    @cached_property
    def npsha_alone_m(self) -> Floats:
        """(n,) NPSH available for the last pump alone, at the lowest suction level [m]."""
        duty = self.duty
        return duty.suction.worst.npsha(self.solved.alone_flow_m3s, duty.liquid)
