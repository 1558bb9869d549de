"""The inspection plan, written by rules from the order's own facts.

A rule's point appears only when its conditions hold, and its letters follow from what the contract
lets the customer and a third party witness: where a party attends it has the rule's part, a hold
instead of a witness when the contract says so, and elsewhere it reviews or has no part.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quality.acceptance.plan_conditions import CONDITIONS, FIGURES, SHEET_UNITS, Facts
from quality.acceptance.plan_rules import Letter, PlanRule, Timing
from quality.acceptance.terms import Terms, Witnessable
from quality.acceptance.units import Unit
from selection.configuration import Configuration


@dataclass(frozen=True, kw_only=True)
class PlannedPoint:
    """One point of an inspection plan, for every operation of its code.

    code : of the rule that wrote it
    operation_code : of the route template
    timing : before, during or after the operation
    characteristic, method, extent, criterion, reference, record_kind : as the plan shows them
    maker, customer, third_party : each party's part
    notice_days : to be given to outside parties, 0 when none comes [d]
    never_at_risk : nobody may let work go on past it
    """

    code: str
    operation_code: str
    timing: Timing
    characteristic: str
    method: str
    extent: str
    criterion: str
    reference: str
    record_kind: str
    maker: Letter
    customer: Letter
    third_party: Letter
    notice_days: int
    never_at_risk: bool

    @property
    def holds(self) -> bool:
        """Some party's part stops work until it is released."""
        return Letter.HOLD in (self.maker, self.customer, self.third_party)

    @property
    def attended(self) -> bool:
        """Somebody from outside comes, so notice has to be given."""
        return any(
            letter in (Letter.HOLD, Letter.WITNESS) for letter in (self.customer, self.third_party)
        )


def write_plan(
    rules: Sequence[PlanRule],
    configuration: Configuration | None,
    terms: Terms,
    *,
    units: Mapping[str, Unit] = SHEET_UNITS,
) -> tuple[PlannedPoint, ...]:
    """The inspection plan of one item.

    rules : of the kind of item, `standard_rules` or the works' own
    configuration : the pump as chosen, None for a spare without a hydraulic choice
    terms : of the contract
    units : for figures in the criteria
    returns : points in the order of the rules
    """
    facts = Facts(configuration, terms)
    figures = {name: figure(facts, units) for name, figure in FIGURES.items()}
    return tuple(
        _point(rule, terms, figures)
        for rule in rules
        if all(CONDITIONS[name](facts) for name in rule.only_when)
    )


def _point(rule: PlanRule, terms: Terms, figures: Mapping[str, str]) -> PlannedPoint:
    customer = _part(rule, terms, present=terms.customer_inspects, comes_to=terms.witnessed)
    third = _part(
        rule, terms, present=bool(terms.third_party), comes_to=terms.third_party_witnesses
    )
    attended = {Letter.HOLD, Letter.WITNESS} & {customer, third}
    return PlannedPoint(
        code=rule.code,
        operation_code=rule.operation,
        timing=rule.timing,
        characteristic=rule.characteristic,
        method=rule.method,
        extent=rule.extent,
        criterion=rule.criterion.format(**figures),
        reference=rule.reference.format(**figures),
        record_kind=rule.record,
        maker=rule.maker,
        customer=customer,
        third_party=third,
        notice_days=terms.notice_days if attended else 0,
        never_at_risk=rule.never_at_risk,
    )


def _part(
    rule: PlanRule, terms: Terms, *, present: bool, comes_to: Sequence[Witnessable]
) -> Letter:
    """An outside party's letter at a point."""
    if not present:
        return Letter.NONE
    if rule.test is None or rule.test not in comes_to:
        return rule.inspected
    if rule.witnessed is Letter.WITNESS and terms.witness_is_hold:
        return Letter.HOLD
    return rule.witnessed
