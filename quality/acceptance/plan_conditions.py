"""What makes a point of an inspection plan appear, and the figures its criterion may name.

To let a plan say something new, add one line to a table here; a plan that names anything else is
refused with the names there are.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from quality.acceptance.terms import Terms
from quality.acceptance.units import Unit
from selection.configuration import Configuration, PatternWork, Sealing


@dataclass(frozen=True)
class Facts:
    """What a condition may look at.

    configuration : None for a spare without a hydraulic choice
    terms : of the contract
    """

    configuration: Configuration | None
    terms: Terms

    @property
    def casing_pattern_work(self) -> PatternWork:
        """From the choice; none without one."""
        if self.configuration is None:
            return PatternWork.NONE
        return self.configuration.casing_pattern_work

    @property
    def impeller_pattern_work(self) -> PatternWork:
        """From the choice, or from the terms when there is none."""
        if self.configuration is None:
            return self.terms.impeller_pattern_work
        return self.configuration.impeller_pattern_work


def _chosen(ask: Callable[[Configuration], bool]) -> Callable[[Facts], bool]:
    """A condition on the pump as chosen; False without one."""
    return lambda facts: facts.configuration is not None and ask(facts.configuration)


CONDITIONS: Mapping[str, Callable[[Facts], bool]] = {
    "mechanical seal": _chosen(lambda c: c.sealing is Sealing.MECHANICAL_SEAL),
    "packing": _chosen(lambda c: c.sealing is Sealing.PACKING),
    "casing heat treated": _chosen(lambda c: c.casing_heat_treated),
    "impeller crack test": lambda f: (
        f.terms.crack_test_called_for or _chosen(lambda c: c.crack_test)(f)
    ),
    "critical casting": lambda f: f.terms.critical_casting,
    "casing cast": lambda f: f.terms.casings_cast,
    "impeller cast": lambda f: f.terms.impellers_cast,
    "casing pattern modified": lambda f: f.casing_pattern_work is PatternWork.MODIFY,
    "casing pattern new": lambda f: f.casing_pattern_work is PatternWork.NEW,
    "impeller pattern modified": lambda f: f.impeller_pattern_work is PatternWork.MODIFY,
    "impeller pattern new": lambda f: f.impeller_pattern_work is PatternWork.NEW,
    "bare until hydrostatic": lambda f: f.terms.bare_until_hydrostatic,
    "test bars": lambda f: f.terms.test_bars,
    "NPSH test": lambda f: f.terms.npsh_test,
    "noise test": lambda f: f.terms.noise_test,
    "strip inspection": lambda f: f.terms.strip_inspection,
    "data book": lambda f: f.terms.data_book,
    "motor to works": lambda f: f.terms.motor_to_works,
}

# What a criterion may name in braces: the figure, in the unit of the sheet.
FIGURES: Mapping[str, Callable[[Facts, Mapping[str, Unit]], str]] = {
    "test_pressure": lambda f, u: _figure(f, u, "pressure_pa", "test_pressure_pa"),
    "working_pressure": lambda f, u: _figure(f, u, "pressure_pa", "working_pressure_max_pa"),
    "box_pressure": lambda f, u: _figure(f, u, "pressure_pa", "box_pressure_max_pa"),
    "flow": lambda f, u: _figure(f, u, "flow_m3s", "duty_flow_m3s"),
    "head": lambda f, u: _figure(f, u, "head_m", "duty_head_m"),
    "minutes": lambda f, u: f"{f.terms.hydrostatic_minutes:g} min",
    "grade": lambda f, u: f"{f.terms.standard}:{f.terms.edition} grade {f.terms.grade}",
    "metal": lambda f, u: "as ordered" if f.configuration is None else f.configuration.casing_metal,
    "impeller_metal": lambda f, u: (
        "as ordered" if f.configuration is None else f.configuration.impeller_metal
    ),
    "rule": lambda f, u: f.terms.hydrostatic_rule,
}

SHEET_UNITS: Mapping[str, Unit] = {
    "pressure_pa": Unit(symbol="bar", factor=1e5),
    "flow_m3s": Unit(symbol="m³/h", factor=1 / 3600),
    "head_m": Unit(symbol="m", factor=1),
}


def _figure(facts: Facts, units: Mapping[str, Unit], kind: str, field: str) -> str:
    if facts.configuration is None:
        return "as ordered"
    return units[kind].show(getattr(facts.configuration, field))
