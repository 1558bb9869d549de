"""Freezing a choice: everything computed once more, every warning answered, then never changed."""

import json
import math
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from selection import __version__ as engine
from selection import charts
from selection.configuration import Rotation
from selection.desk import Search, cleaned_inputs, look, service_of
from selection.errors import (
    CandidateRejected,
    FrozenAlready,
    NoSet,
    PressureNotHeld,
    WarningsUnanswered,
)
from selection.facts import Fact
from selection.hydraulics.candidates import Candidate
from selection.hydraulics.checks import Verdict
from selection.materials.sealing import SealNeeds
from selection.models import Choice, Impeller, Study
from selection.outfit import Outfit, configuration, outfit, wanted_choice
from selection.reasons import is_answered
from works.errors import ChangedMeanwhile
from works.events import record
from works.models import Person
from works.people import Group, require


def warnings_of(candidate: Candidate, fitted: Outfit) -> list[dict[str, Any]]:
    """Everything said against the choice, hydraulics first; those that need a reason say so."""
    hydraulic = [
        {
            "rule": finding.check,
            "topic": "hydraulics",
            "severity": finding.verdict.word,
            "sentence": finding.sentence,
            "source": finding.source,
            "certainty": str(finding.certainty),
            "needs_reason": finding.verdict is Verdict.AGAINST,
            "needs_words": finding.verdict is Verdict.AGAINST,
        }
        for finding in candidate.findings
        if finding.verdict in {Verdict.CAUTION, Verdict.AGAINST}
    ]
    if fitted.assessment is None:
        return hydraulic
    return hydraulic + [
        {
            "rule": f"{verdict.rule}: {verdict.part}" if verdict.part else verdict.rule,
            "topic": verdict.topic,
            "severity": str(verdict.severity),
            "sentence": verdict.sentence,
            "source": verdict.source,
            "certainty": str(verdict.certainty),
            "needs_reason": verdict.needs_reason,
            "needs_words": verdict.needs_words,
        }
        for verdict in fitted.assessment.verdicts
        if verdict.severity != "fits"
    ]


@transaction.atomic
def freeze_choice(
    *,
    study_id: int,
    version: int,
    candidate_key: str,
    picked: Mapping[str, Any] | None,
    needs: SealNeeds,
    rotation: Rotation,
    motor_special: bool,
    reasons: Mapping[str, str],
    by: Person,
    at: datetime,
) -> Choice:
    """Freeze a candidate with its set of metals, flanges and sealing.

    picked : the set as picked, None for the one suggested
    reasons : by rule, for each warning that needs one
    raises : NotAllowed; ChangedMeanwhile; DutyIncomplete; NoSuchCandidate; CandidateRejected;
        NoSet; PressureNotHeld; WarningsUnanswered; FrozenAlready; MaterialsError
    """
    require(by, Group.APPLICATION_ENGINEER, deed="freeze a choice")
    study = Study.objects.select_for_update().get(pk=study_id)
    if study.version != version:
        raise ChangedMeanwhile(what=f"The duty of {study}")
    cleaned = cleaned_inputs(study)
    searched = look(cleaned)
    candidate = searched.candidate(candidate_key)
    if candidate.killed_by:
        raise CandidateRejected(
            candidate=f"{candidate.impeller.casing}, {candidate.impeller.pattern}",
            sentences=[finding.sentence for finding in candidate.killed_by],
        )
    impeller = Impeller.objects.select_related("size__pattern", "pattern").get(
        pk=int(candidate.impeller.key)
    )
    wanted = wanted_choice(picked, impeller.size) if picked else None
    fitted = outfit(candidate, searched.duty, service_of(cleaned), impeller.size, needs, wanted)
    if fitted.choice is None or fitted.assessment is None:
        why = fitted.suggestion.reasons if fitted.suggestion else ()
        raise NoSet(sentences=[each.sentence for each in why])
    if fitted.assessment.blocking:
        raise PressureNotHeld(sentences=[v.sentence for v in fitted.assessment.blocking])
    warnings = warnings_of(candidate, fitted)
    unanswered = [
        warning["rule"]
        for warning in warnings
        if not is_answered(warning, reasons.get(warning["rule"], ""))
    ]
    if unanswered:
        raise WarningsUnanswered(rules=unanswered)
    pump = configuration(
        candidate,
        impeller,
        fitted.choice,
        fitted.assessment,
        fitted.pressures,
        rotation,
        motor_special=motor_special,
    )
    last = study.choices.order_by("-number").defer("results").first()
    if last and last.inputs == study.inputs and last.configuration == _as_stored(pump.as_data()):
        raise FrozenAlready(choice=last)
    choice = Choice.objects.create(
        study=study,
        number=last.number + 1 if last else 1,
        size=impeller.size,
        impeller=impeller,
        inputs=study.inputs,
        configuration=pump.as_data(),
        results=results_of(searched, candidate, fitted),
        warnings=[
            {**warning, "reason": reasons.get(warning["rule"], "").strip(), "by": str(by)}
            for warning in warnings
        ],
        engine_version=engine,
        replaces=last,
        by=by,
        at=at,
    )
    record(
        Fact.CHOICE_FROZEN,
        about=choice,
        by=by,
        at=at,
        after={"size": impeller.size.name, "impeller": impeller.name, "number": choice.number},
    )
    return choice


def _as_stored(data: Mapping[str, Any]) -> Any:
    """Plain values as they come back from the database."""
    return json.loads(json.dumps(data))


def results_of(searched: Search, candidate: Candidate, fitted: Outfit) -> dict[str, Any]:
    """The numbers that the choice was made with, so that it can be shown unchanged for ever."""
    lines = charts.lines_of(candidate, searched.chart(candidate), searched.duty)
    return {
        "candidate": {
            "key": candidate.key,
            "diameter_mm": candidate.diameter_mm,
            "speed_rpm": candidate.speed_rpm,
            "poles": candidate.poles,
            "motor_w": candidate.motor_w,
            "power_w": candidate.power_w,
            "power_max_w": candidate.power_max_w,
            "bep_flow_m3s": candidate.bep_flow_m3s,
            "bep_efficiency": candidate.bep_efficiency,
            "running": [list(point) if point else None for point in candidate.running],
            "alone_flow_m3s": _known(candidate.alone_flow_m3s),
            "alone_head_m": _known(candidate.alone_head_m),
            "alone_power_w": _known(candidate.alone_power_w),
        },
        "sketch": sketch(lines),
        **charts.kept(lines),
        "findings": [
            {
                "check": finding.check,
                "verdict": finding.verdict.word,
                "sentence": finding.sentence,
                "source": finding.source,
                "certainty": str(finding.certainty),
            }
            for finding in candidate.findings
        ],
        "materials": [
            {
                "rule": verdict.rule,
                "topic": verdict.topic,
                "severity": str(verdict.severity),
                "sentence": verdict.sentence,
                "source": verdict.source,
                "certainty": str(verdict.certainty),
            }
            for verdict in (fitted.assessment.verdicts if fitted.assessment else ())
        ],
        "system": searched.duty.system.source,
    }


def sketch(lines: charts.Lines) -> dict[str, Any]:
    """One pump's curve and the system as one pump sees it while all run, so that they meet."""
    each = [
        (flow / lines.pumps, head)
        for flow, head in zip(lines.system_flow_m3s, lines.system_head_m, strict=True)
        if flow / lines.pumps <= lines.flow_m3s[-1]
    ]
    return {
        "pump_flow_m3s": list(lines.flow_m3s),
        "pump_head_m": list(lines.head_m),
        "system_flow_m3s": [flow for flow, _ in each],
        "system_head_m": [head for _, head in each],
        "duty_flow_m3s": lines.duty_flow_m3s / lines.pumps,
        "duty_head_m": lines.duty_head_m,
    }


def _known(figure: float) -> float | None:
    return figure if math.isfinite(figure) else None
