"""The contract's terms that change the route or the inspections, kept with the order as data.

`orders` reads them here and fills from them the `Terms` that `schedule` grows a route by and
`quality` writes a plan by; neither of those knows an order.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Contract:
    """What was agreed.

    approval_rounds : times the arrangement goes to the customer before it is approved
    approval_days : for each round, calendar days [d]
    approves_inspection_plan : the customer approves the inspection plan before the foundry starts
    customer_inspects, third_party_inspects : who comes besides the maker
    witnessed_pressure_test, witnessed_performance_test : the customer is invited
    witness_is_hold : a witnessed test may not go on without the witness
    notice_days : before a witnessed point, working days [d]
    grade, edition : of ISO 9906
    guarantee : "efficiency" or "power", judged beside flow and head
    bare_until_pressure_test : no primer on pressure surfaces before the test is accepted
    crack_test_called_for : penetrant test of impellers whatever the head
    critical_castings : the customer calls the pressure castings critical
    test_on_works_motor : the test bed's own motor may drive the test
    motor_to_works : False when its supplier sends the motor straight to site
    npsh_test, noise_test, strip_inspection : asked for beside the performance test
    hydrostatic_minutes : time under pressure agreed [min]
    data_book : one is handed over
    """

    approval_rounds: int = 2
    approval_days: int = 10
    approves_inspection_plan: bool = True
    customer_inspects: bool = True
    third_party_inspects: bool = False
    witnessed_pressure_test: bool = True
    witnessed_performance_test: bool = True
    witness_is_hold: bool = False
    notice_days: int = 10
    grade: str = "2B"
    edition: str = "2012"
    guarantee: str = "efficiency"
    bare_until_pressure_test: bool = False
    crack_test_called_for: bool = False
    critical_castings: bool = False
    test_on_works_motor: bool = True
    motor_to_works: bool = True
    npsh_test: bool = False
    noise_test: bool = False
    strip_inspection: bool = False
    hydrostatic_minutes: int = 30
    data_book: bool = True

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "Contract":
        """Restore from an order's row; unknown keys are refused, missing ones keep defaults.

        raises : KeyError, naming what is unknown
        """
        known = {field.name for field in fields(cls)}
        if strange := sorted(set(data) - known):
            raise KeyError(f"not a term of a contract: {', '.join(strange)}")
        return cls(**data)

    def as_data(self) -> dict[str, Any]:
        return asdict(self)
