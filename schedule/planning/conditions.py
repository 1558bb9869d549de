"""What makes a template's operation appear, how often, and for how long: three tables.

To let a template say something new, add one line to one of the tables below; templates may then
name it, and a template that names anything else is refused with the names there are.
"""

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from schedule.planning.calendars import DAY_MINUTES
from schedule.planning.errors import BadTerms
from selection.configuration import Configuration, PatternWork, Sealing


@dataclass(frozen=True, kw_only=True)
class Terms:
    """What the contract asks of the route, beside the pump itself.

    approval_rounds : the customer approves the arrangement so many times; 0 for never
    days_a_round : that each takes [d]
    plan_approval_days : the customer approves the inspection plan; 0 for not wanted [d]
    customer_inspects : somebody comes, after notice
    notice_days : working days told ahead of a visit [d]
    paint_after_hydrostatic : pressure surfaces stay bare until the pressure test is accepted
    crack_test_called_for : the impeller's machined surfaces, whatever the choice says
    casing_crack_test : the customer calls the pressure castings critical
    test_bars : poured alongside the casing
    motor_lead_days, special_motor_lead_days, special_motor_drawing_days : [d]
    seal_lead_days : of mechanical seals [d]
    motor_to_works : False when the supplier sends it straight to site
    contract_motor_on_test : False when the works' own motor drives the test
    data_book : one is handed over
    shelf_casings, shelf_impellers : numbers of the units whose castings come from the shelf
    impeller_pattern_work : for a spare without a hydraulic choice
    """

    approval_rounds: int = 1
    days_a_round: int = 10
    plan_approval_days: int = 0
    customer_inspects: bool = False
    notice_days: int = 10
    paint_after_hydrostatic: bool = False
    crack_test_called_for: bool = False
    casing_crack_test: bool = False
    test_bars: bool = True
    motor_lead_days: int = 35
    special_motor_lead_days: int = 98
    special_motor_drawing_days: int = 21
    seal_lead_days: int = 40
    motor_to_works: bool = True
    contract_motor_on_test: bool = False
    data_book: bool = True
    shelf_casings: tuple[int, ...] = ()
    shelf_impellers: tuple[int, ...] = ()
    impeller_pattern_work: PatternWork = PatternWork.NONE

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, int) and not isinstance(value, bool):
                most = 9 if field.name == "approval_rounds" else 730
                if not 0 <= value <= most:
                    raise BadTerms(field.name, value, f"from 0 to {most}")
        for name in ("shelf_casings", "shelf_impellers"):
            value = getattr(self, name)
            if any(unit < 1 for unit in value) or len(set(value)) != len(value):
                raise BadTerms(name, value, "unit numbers from 1, each once")

    def as_json(self) -> dict[str, object]:
        """Its fields, ready for JSON."""
        return asdict(self)

    @classmethod
    def from_json(cls, row: Mapping[str, Any]) -> "Terms":
        """Read back what `as_json` wrote.

        raises : BadTerms for a field it does not know
        """
        known = {field.name for field in fields(cls)}
        for name, value in row.items():
            if name not in known:
                raise BadTerms(name, value, "left out: there is no such term")
        values: dict[str, Any] = {
            name: tuple(value) if isinstance(value, list) else value for name, value in row.items()
        }
        if "impeller_pattern_work" in values:
            values["impeller_pattern_work"] = PatternWork(values["impeller_pattern_work"])
        return cls(**values)


@dataclass(frozen=True)
class Facts:
    """What a condition may look at: the pump, the terms, and the unit when it is one of several.

    configuration : None for a spare without a hydraulic choice
    unit : None for an operation the whole item shares
    """

    configuration: Configuration | None
    terms: Terms
    unit: int | None = None

    @property
    def impeller_pattern_work(self) -> PatternWork:
        """From the choice, or from the terms when there is none."""
        if self.configuration is None:
            return self.terms.impeller_pattern_work
        return self.configuration.impeller_pattern_work

    @property
    def casing_pattern_work(self) -> PatternWork:
        """From the choice; none without one."""
        if self.configuration is None:
            return PatternWork.NONE
        return self.configuration.casing_pattern_work


def _sealed(facts: Facts, sealing: Sealing) -> bool:
    return facts.configuration is not None and facts.configuration.sealing is sealing


CONDITIONS: dict[str, Callable[[Facts], bool]] = {
    "packing": lambda f: _sealed(f, Sealing.PACKING),
    "mechanical seal": lambda f: _sealed(f, Sealing.MECHANICAL_SEAL),
    "special motor": lambda f: f.configuration is not None and f.configuration.motor_special,
    "motor to works": lambda f: f.terms.motor_to_works,
    "contract motor on test": lambda f: f.terms.motor_to_works and f.terms.contract_motor_on_test,
    "casing cast": lambda f: f.unit not in f.terms.shelf_casings,
    "impeller cast": lambda f: f.unit not in f.terms.shelf_impellers,
    "casing pattern modified": lambda f: f.casing_pattern_work is PatternWork.MODIFY,
    "casing pattern new": lambda f: f.casing_pattern_work is PatternWork.NEW,
    "impeller pattern modified": lambda f: f.impeller_pattern_work is PatternWork.MODIFY,
    "impeller pattern new": lambda f: f.impeller_pattern_work is PatternWork.NEW,
    "casing heat treated": lambda f: (
        f.configuration is not None and f.configuration.casing_heat_treated
    ),
    "impeller crack test": lambda f: (
        f.terms.crack_test_called_for
        or (f.configuration is not None and f.configuration.crack_test)
    ),
    "casing crack test": lambda f: f.terms.casing_crack_test,
    "test bars": lambda f: f.terms.test_bars,
    "customer approves plan": lambda f: f.terms.plan_approval_days > 0,
    "primed before hydrostatic": lambda f: not f.terms.paint_after_hydrostatic,
    "primed after hydrostatic": lambda f: f.terms.paint_after_hydrostatic,
    "data book": lambda f: f.terms.data_book,
}

COUNTS: dict[str, Callable[[Facts], int]] = {
    "approval rounds": lambda f: f.terms.approval_rounds,
}

DURATIONS: dict[str, Callable[[Facts], int]] = {
    "approval round": lambda f: f.terms.days_a_round * DAY_MINUTES,
    "plan approval": lambda f: f.terms.plan_approval_days * DAY_MINUTES,
    "motor lead": lambda f: (
        DAY_MINUTES
        * (
            f.terms.special_motor_lead_days
            if CONDITIONS["special motor"](f)
            else f.terms.motor_lead_days
        )
    ),
    "motor drawing": lambda f: f.terms.special_motor_drawing_days * DAY_MINUTES,
    "seal lead": lambda f: f.terms.seal_lead_days * DAY_MINUTES,
}
