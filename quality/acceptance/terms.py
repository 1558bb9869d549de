"""What the contract asks of inspection, beside the pump itself."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any, TypeVar

from quality.acceptance.errors import BadPlanRule
from selection.configuration import PatternWork

Word = TypeVar("Word", bound=StrEnum)


def word_of(kind: type[Word], word: str, *, row: str, plan: str, what: str) -> Word:
    """One of a kind's words.

    kind : whose words are known
    word : as written
    row, plan, what : where it stands, for the message
    returns : the word
    raises : BadPlanRule, with the words there are
    """
    try:
        return kind(word)
    except ValueError as error:
        raise BadPlanRule(
            row=row,
            plan=plan,
            what=what,
            value=word,
            right=f"one of {', '.join(repr(str(one)) for one in kind)}",
        ) from error


class Witnessable(StrEnum):
    """What a customer or third party may ask to witness."""

    DIMENSIONS = "dimensions"
    CRACK = "crack test"
    BALANCE = "balance"
    HYDROSTATIC = "hydrostatic"
    PERFORMANCE = "performance"
    SEAL = "seal"
    STRIP = "strip inspection"
    FINAL = "final"


@dataclass(frozen=True, kw_only=True)
class Terms:
    """What the contract asks of inspection, beside the pump itself.

    standard, edition, grade : the performance test is judged by
    customer_inspects : the customer reviews records, and comes to what it witnesses
    witnessed : tests that the customer's inspector attends
    third_party : its name; empty when there is none
    third_party_witnesses : tests that the third party's inspector attends
    witness_is_hold : the contract makes every witnessed test a hold
    notice_days : working days told ahead of a visit, >= 0 [d]
    hydrostatic_rule : name of the rule the pressure test is done by
    hydrostatic_minutes : the time under pressure agreed, > 0 [min]
    bare_until_hydrostatic : pressure surfaces stay unpainted until the test is accepted
    crack_test_called_for : the impeller's machined surfaces, whatever the choice says
    critical_casting : the customer calls the pressure castings critical
    npsh_test, noise_test, strip_inspection : asked by the contract
    test_bars : poured alongside the casing
    data_book : one is handed over
    motor_to_works : False when the supplier sends it straight to site
    casings_cast, impellers_cast : False when all of them come from the shelf
    impeller_pattern_work : for a spare without a hydraulic choice
    """

    standard: str = "ISO 9906"
    edition: str = "2012"
    grade: str = "2B"
    customer_inspects: bool = False
    witnessed: tuple[Witnessable, ...] = ()
    third_party: str = ""
    third_party_witnesses: tuple[Witnessable, ...] = ()
    witness_is_hold: bool = False
    notice_days: int = 10
    hydrostatic_rule: str = "usual purchaser's rule for cast water pumps"
    hydrostatic_minutes: float = 30.0
    bare_until_hydrostatic: bool = False
    crack_test_called_for: bool = False
    critical_casting: bool = False
    npsh_test: bool = False
    noise_test: bool = False
    strip_inspection: bool = False
    test_bars: bool = True
    data_book: bool = True
    motor_to_works: bool = True
    casings_cast: bool = True
    impellers_cast: bool = True
    impeller_pattern_work: PatternWork = PatternWork.NONE

    def __post_init__(self) -> None:
        if not 0 <= self.notice_days <= 365:
            raise BadPlanRule(
                row="notice",
                plan="the contract's terms",
                what="notice_days",
                value=self.notice_days,
                right="from 0 to 365 working days",
            )
        if not 0 < self.hydrostatic_minutes <= 24 * 60:
            raise BadPlanRule(
                row="pressure test",
                plan="the contract's terms",
                what="hydrostatic_minutes",
                value=self.hydrostatic_minutes,
                right="above 0 and at most a day",
            )

        for tests, party, name in (
            (self.witnessed, self.customer_inspects, "customer_inspects"),
            (self.third_party_witnesses, bool(self.third_party), "third_party"),
        ):
            if tests and not party:
                raise BadPlanRule(
                    row="witnessed tests",
                    plan="the contract's terms",
                    what=name,
                    value=getattr(self, name),
                    right=f"given, since {', '.join(tests)} are to be witnessed",
                )

    def as_json(self) -> dict[str, Any]:
        """Its fields, ready for JSON."""
        return asdict(self)

    @classmethod
    def from_json(cls, row: Mapping[str, Any]) -> "Terms":
        """Read back what `as_json` wrote.

        row : fields by name; those left out keep their default
        returns : the terms
        raises : BadPlanRule for a field it does not know or a word it cannot read
        """
        known = {field.name for field in fields(cls)}
        values = dict(row)
        for name, value in row.items():
            if name not in known:
                raise BadPlanRule(
                    row=name,
                    plan="the contract's terms",
                    what="a field",
                    value=value,
                    right=f"one of {', '.join(sorted(known))}",
                )
        for name in ("witnessed", "third_party_witnesses"):
            if name in values:
                values[name] = tuple(
                    word_of(Witnessable, word, row=name, plan="the contract's terms", what="a test")
                    for word in values[name]
                )
        if "impeller_pattern_work" in values:
            values["impeller_pattern_work"] = PatternWork(values["impeller_pattern_work"])
        return cls(**values)
