"""The engine: rules put to a service and a chosen set of metals, sentences out.

Rules come as arguments, so a works edits them without touching this file. A rule that applies
but needs a value that nobody stated is not passed over in silence: one verdict a missing value
says which rules could not be judged. A part and metal that the suitability rules of a liquid
don't mention is said to be unlisted.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from selection.materials.errors import WrongPart
from selection.materials.language import Condition, Rule, fill, read_rules
from selection.materials.metals import GROUPS, Family, Metal, Metals, Part
from selection.materials.properties import PROPERTIES, Property, Scope, Situation
from selection.materials.quantities import checked
from selection.materials.service import Service
from selection.materials.verdicts import Severity, Verdict, worst_first
from works.standards import BadTable, Certainty, least

FOLDER = Path(__file__).parent / "rules"
SUITABILITY = "suitability"


@dataclass(frozen=True, kw_only=True)
class ChosenMetals:
    """The metals of one pump.

    ring : the casing's wear ring
    impeller_ring : None where the impeller's own neck runs in the casing ring
    """

    casing: Metal
    impeller: Metal
    ring: Metal
    shaft: Metal
    sleeve: Metal
    impeller_ring: Metal | None = None

    def __post_init__(self) -> None:
        for part, metal in (
            (Part.CASING, self.casing),
            (Part.IMPELLER, self.impeller),
            (Part.RING, self.ring),
            (Part.SHAFT, self.shaft),
            (Part.SLEEVE, self.sleeve),
            (Part.RING, self.impeller_ring),
        ):
            if metal is not None and part not in metal.parts:
                raise WrongPart(code=metal.code, part=part, parts=tuple(metal.parts))

    @property
    def neck(self) -> Metal:
        """What runs in the casing ring."""
        return self.impeller_ring or self.impeller

    def of(self, part: Part) -> tuple[Metal, ...]:
        """Metals of a part, each once; rings are the casing's and the impeller's."""
        if part is Part.RING and self.impeller_ring is not None:
            return tuple(dict.fromkeys((self.ring, self.impeller_ring)))
        return (self.one(part),)

    def one(self, part: Part) -> Metal:
        """The metal of a part; for RING that of the casing's ring."""
        return {
            Part.CASING: self.casing,
            Part.IMPELLER: self.impeller,
            Part.RING: self.ring,
            Part.NECK: self.neck,
            Part.SHAFT: self.shaft,
            Part.SLEEVE: self.sleeve,
        }[part]


def load_rules(metals: Metals, folder: Path = FOLDER) -> tuple[Rule, ...]:
    """Read every rule file of a folder, in the order of their names.

    metals : whose codes rules may name
    folder : with one or more CSV files
    raises : BadTable; also when two rules have one name
    """
    found: dict[str, Rule] = {}
    files = sorted(folder.glob("*.csv"))
    for path in files:
        for rule in read_rules(path.read_text(encoding="utf-8-sig"), path.name, metals):
            if rule.rule in found:
                raise BadTable(
                    file=path.name,
                    row=None,
                    column="rule",
                    found=f"'{rule.rule}' twice",
                    wanted="a name of its own for each rule, over all files",
                )
            found[rule.rule] = rule
    if not found:
        raise BadTable(
            file=str(folder.name), row=None, column="", found="no rule", wanted="rule files"
        )
    return tuple(found.values())


def evaluate(
    rules: Sequence[Rule],
    service: Service,
    chosen: ChosenMetals,
    *,
    tip_speed_m_s: float | None = None,
) -> tuple[Verdict, ...]:
    """Put every rule to a service and a set of metals.

    rules : as read
    service : the liquid
    chosen : the metals
    tip_speed_m_s : of the impeller, >= 0; None where none is chosen yet [m/s]
    returns : verdicts, heaviest first, otherwise in the order of the rules
    raises : BadQuantity
    """
    _check_tip_speed(tip_speed_m_s)
    found: list[Verdict] = []
    waiting: dict[str, list[_Waiting]] = {}
    for rule, part, situation in _situations(rules, service, chosen, tip_speed_m_s):
        holds = [(condition, condition.holds(situation)) for condition in rule.conditions]
        if any(answer is False for _, answer in holds):
            continue
        missing = [condition for condition, answer in holds if answer is None]
        if missing:
            for condition in missing:
                name = condition.property.name
                waiting.setdefault(name, []).append(
                    _Waiting(rule=rule, part=part, situation=situation)
                )
            continue
        found.append(_verdict(rule, part, situation))
    found = _most_specific(found, rules)
    found += _unlisted(found, rules, service, chosen)
    found += [_not_stated(PROPERTIES[name], entries) for name, entries in waiting.items()]
    return worst_first(found)


def evaluate_part(
    rules: Sequence[Rule],
    service: Service,
    part: Part,
    metal: Metal,
    *,
    tip_speed_m_s: float | None = None,
) -> tuple[Verdict, ...]:
    """Put the rules about one part alone to one metal, for lists to choose from.

    rules : as read
    service : the liquid
    part : the part
    metal : tried for it
    tip_speed_m_s : of the impeller [m/s]
    returns : verdicts, heaviest first; pairs are left out, for they need a partner
    """
    _check_tip_speed(tip_speed_m_s)
    situation = Situation(service=service, metal=metal, other=None, tip_speed_m_s=tip_speed_m_s)
    found = []
    judged = [rule for rule in rules if rule.other_part is None and part in rule.parts]
    for rule in judged:
        if _applies(rule, situation):
            answers = [condition.holds(situation) for condition in rule.conditions]
            if all(answers):
                found.append(_verdict(rule, part, situation))
    found = _most_specific(found, judged)
    if _lists(judged, part, service) and not any(v.topic == SUITABILITY for v in found):
        found.append(_unlisted_verdict(part, metal, service))
    return worst_first(found)


def _check_tip_speed(tip_speed_m_s: float | None) -> None:
    if tip_speed_m_s is not None:
        checked(tip_speed_m_s, quantity="tip speed", unit="m/s", lowest=0.0, highest=250.0)


@dataclass(frozen=True, kw_only=True)
class _Waiting:
    """A rule that applies and waits for a value nobody stated."""

    rule: Rule
    part: Part
    situation: Situation

    @property
    def place(self) -> str:
        return _place(self.part, self.rule.other_part)

    @property
    def metals(self) -> str:
        other = self.situation.other
        return _place(self.situation.metal.code, None if other is None else other.code)


def _situations(
    rules: Iterable[Rule], service: Service, chosen: ChosenMetals, tip_speed_m_s: float | None
) -> Iterator[tuple[Rule, Part, Situation]]:
    for rule in rules:
        for part in rule.parts:
            if rule.other_part is None:
                pairs: list[tuple[Metal, Metal | None]] = [(m, None) for m in chosen.of(part)]
            else:
                pairs = [(chosen.one(part), chosen.one(rule.other_part))]
            for metal, other in pairs:
                situation = Situation(
                    service=service, metal=metal, other=other, tip_speed_m_s=tip_speed_m_s
                )
                if _applies(rule, situation):
                    yield rule, part, situation


def _applies(rule: Rule, situation: Situation) -> bool:
    if rule.liquids and situation.service.liquid not in rule.liquids:
        return False
    if rule.metals and not situation.metal.is_one_of(rule.metals):
        return False
    return not (
        situation.other is not None
        and rule.other_metals
        and not situation.other.is_one_of(rule.other_metals)
    )


def _verdict(rule: Rule, part: Part, situation: Situation) -> Verdict:
    values = {
        "part": str(part),
        "metal": situation.metal.code,
        "liquid": str(situation.service.liquid),
    }
    if rule.other_part is not None and situation.other is not None:
        values |= {"other_part": str(rule.other_part), "other_metal": situation.other.code}
    for prefix, condition in zip(("", "and_"), rule.conditions, strict=False):
        values[prefix + "value"] = _words(condition.property.read(situation), condition)
        values[prefix + "limit"] = _words(condition.threshold, condition)
    return Verdict(
        rule=rule.rule,
        topic=rule.topic,
        part=_place(part, rule.other_part),
        metal=_place(
            situation.metal.code, None if situation.other is None else situation.other.code
        ),
        severity=rule.severity,
        sentence=fill(rule.text, values),
        source=rule.source,
        certainty=rule.certainty_with(situation),
        date=rule.date,
        needs_reason=rule.needs_reason,
    )


def _place(one: str, other: str | None) -> str:
    return str(one) if other is None else f"{one} / {other}"


def _words(value: float | bool | None, condition: Condition) -> str:
    if isinstance(value, bool) or value is None:
        return "yes" if value else "no"
    unit = condition.property.unit
    return f"{round(value, 2):g} {unit}".rstrip()


_BROAD = frozenset({*Family, *GROUPS})


def _most_specific(found: list[Verdict], rules: Iterable[Rule]) -> list[Verdict]:
    """A suitability row that names a metal by its code outweighs one that names its family."""
    narrow = {rule.rule for rule in rules if rule.metals and not _BROAD.issuperset(rule.metals)}
    named = {(v.part, v.metal) for v in found if v.topic == SUITABILITY and v.rule in narrow}
    return [
        v
        for v in found
        if v.topic != SUITABILITY or v.rule in narrow or (v.part, v.metal) not in named
    ]


def _lists(rules: Iterable[Rule], part: Part, service: Service) -> bool:
    """Whether the suitability rules say anything about this part in this liquid."""
    return any(
        rule.topic == SUITABILITY
        and part in rule.parts
        and (not rule.liquids or service.liquid in rule.liquids)
        for rule in rules
    )


def _unlisted(
    found: Sequence[Verdict], rules: Sequence[Rule], service: Service, chosen: ChosenMetals
) -> list[Verdict]:
    """Parts whose metal no suitability rule of the liquid mentions."""
    missing = []
    for part in (Part.CASING, Part.IMPELLER, Part.RING, Part.SLEEVE):
        if not _lists(rules, part, service):
            continue
        for metal in chosen.of(part):
            listed = any(
                rule.topic == SUITABILITY
                and part in rule.parts
                and (not rule.liquids or service.liquid in rule.liquids)
                and (not rule.metals or metal.is_one_of(rule.metals))
                for rule in rules
            )
            if not listed:
                missing.append(_unlisted_verdict(part, metal, service))
    return missing


def _unlisted_verdict(part: Part, metal: Metal, service: Service) -> Verdict:
    return Verdict(
        rule=f"unlisted: {part} in {service.liquid}",
        topic=SUITABILITY,
        part=str(part),
        metal=metal.code,
        severity=Severity.CAUTION,
        sentence=(
            f"{metal.code} ({metal.family}) for the {part} in {service.liquid} is not in the "
            "works' list: there is no experience on record."
        ),
        source="the works' suitability list",
        certainty=Certainty.COMMON_PRACTICE,
        needs_reason=True,
    )


def _not_stated(prop: Property, entries: Sequence[_Waiting]) -> Verdict:
    """One verdict for all rules that wait for the same value."""
    rules = ", ".join(dict.fromkeys(entry.rule.rule for entry in entries))
    metals = ", ".join(dict.fromkeys(entry.metals for entry in entries))
    who = "the service" if prop.scope is Scope.SERVICE else "the metals' list"
    return Verdict(
        rule=f"not stated: {prop.name}",
        topic="not judged",
        part=", ".join(dict.fromkeys(entry.place for entry in entries)),
        metal=metals,
        severity=Severity.CAUTION,
        sentence=(
            f"{who.capitalize()} does not state the {prop.words}, so {metals} could not be "
            f"judged by: {rules}."
        ),
        source="the works' rules",
        certainty=least(entry.rule.certainty for entry in entries),
        needs_reason=prop.ask,
    )
