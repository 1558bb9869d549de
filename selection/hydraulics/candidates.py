"""The search: every impeller at every speed against a duty, ranked, with reasons in words.

Nothing is dropped silently: what cannot be used is listed with the reason that killed it and how
near it was. Sentences are made only for the candidates that are looked at.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from selection.hydraulics.affinity import ImpellerFamily
from selection.hydraulics.catalogue import Catalogue, CatalogueImpeller, pack
from selection.hydraulics.checks import CHECKS, Check, Finding, Judged, Verdict
from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.door import Bools, Floats, Ints
from selection.hydraulics.driver import full_load_speed
from selection.hydraulics.duty import USUAL_RULES, Duty, Rules
from selection.hydraulics.lineup import Lineup
from selection.hydraulics.operating import OperatingPoints, operating_points
from selection.hydraulics.question import Fit, Pairs
from selection.hydraulics.solve import Solved, solve

# Thinner liquids are water to the curves: B of ANSI/HI 9.6.7 stays under 1 for any pump here.
THIN_M2S = 2e-6


@dataclass(frozen=True, eq=False, kw_only=True)
class Candidate:
    """One impeller, trimmed, at one speed, with everything for and against it.

    impeller : of the catalogue
    diameter_mm : trimmed to the duty, or the limit nearest to it when rejected [mm]
    speed_rpm, poles : of the motor under load [rev/min], [-]
    motor_w : standard rating; NaN when the duty is not met [W]
    motor_speed_rpm : usual full-load speed of that rating [rev/min]
    flow_m3s, head_m : at duty, of one pump [m3/s], [m]
    efficiency, power_w, npshr_m : at duty; NaN where not known [-], [W], [m]
    bep_flow_m3s, bep_efficiency : [m3/s], [-]
    shutoff_head_m : [m]
    power_max_w : highest over the curve [W]
    working_pressure_pa : highest, gauge [Pa]
    running : total flow and head with 1 to n pumps running; None where they do not meet
        [m3/s, m]
    alone_flow_m3s, alone_head_m, alone_power_w : the last pump alone at the least static head
        [m3/s], [m], [W]
    findings : every check's answer, in the order of the table
    score : what the ranking goes by, least first; NaN when rejected [-]
    """

    impeller: CatalogueImpeller
    diameter_mm: float
    speed_rpm: float
    poles: int
    motor_w: float
    motor_speed_rpm: float
    flow_m3s: float
    head_m: float
    efficiency: float
    power_w: float
    npshr_m: float
    bep_flow_m3s: float
    bep_efficiency: float
    shutoff_head_m: float
    power_max_w: float
    working_pressure_pa: float
    running: tuple[tuple[float, float] | None, ...]
    alone_flow_m3s: float
    alone_head_m: float
    alone_power_w: float
    findings: tuple[Finding, ...]
    score: float

    @property
    def key(self) -> str:
        """Name of the candidate that stays the same from search to search."""
        return f"{self.impeller.key}@{self.poles}"

    @property
    def verdict(self) -> Verdict:
        """The worst that any check says."""
        return max(finding.verdict for finding in self.findings)

    @property
    def killed_by(self) -> tuple[Finding, ...]:
        """Findings that rule it out; empty for a ranked candidate."""
        return tuple(f for f in self.findings if f.verdict is Verdict.KILLS)

    @cached_property
    def curve(self) -> PumpCurve:
        """Its curve at the trimmed diameter and its speed."""
        return self.impeller.family().curve_at(self.diameter_mm, self.speed_rpm)

    def points(self, duty: Duty, running: int = 1) -> OperatingPoints:
        """Meet it with a duty's system, with every meeting and how the search went.

        duty : its system is asked
        running : pumps running, >= 1 [-]
        returns : all meetings
        """
        return operating_points(self.curve, duty.system, running)


@dataclass(frozen=True, eq=False, kw_only=True)
class Candidates:
    """The answer of a search; candidates are worded when asked for.

    lineup : all candidates as arrays
    checks : rows of the table of checks that were asked
    judged : each check's answer for all candidates
    order : places of the ranked candidates, best first [-]
    rejected_order : places of the rejected, nearest first [-]
    scores : (n,) what the ranking goes by [-]
    """

    lineup: Lineup
    checks: tuple[Check, ...]
    judged: tuple[Judged, ...]
    order: Ints
    rejected_order: Ints
    scores: Floats

    def __len__(self) -> int:
        """Number of ranked candidates."""
        return len(self.order)

    @property
    def rejected_count(self) -> int:
        """Number of rejected candidates [-]."""
        return len(self.rejected_order)

    def ranked(self, limit: int = 20) -> tuple[Candidate, ...]:
        """Give the best candidates, worded.

        limit : how many at most [-]
        returns : best first
        """
        return tuple(self.candidate(int(at)) for at in self.order[:limit])

    def rejected(self, limit: int = 20) -> tuple[Candidate, ...]:
        """Give the rejected candidates, worded, with what killed them.

        limit : how many at most [-]
        returns : nearest to use first
        """
        return tuple(self.candidate(int(at)) for at in self.rejected_order[:limit])

    def find(self, key: str) -> Candidate | None:
        """Give the candidate of a key, ranked or rejected.

        key : as `Candidate.key` gives it
        returns : the candidate, None when the search did not have it
        """
        name, _, poles = key.rpartition("@")
        for at in range(len(self.scores)):
            impeller = self.lineup.catalogue.impellers[self.lineup.solved.impeller[at]]
            if impeller.key == name and str(self.lineup.solved.poles[at]) == poles:
                return self.candidate(at)
        return None

    def candidate(self, at: int) -> Candidate:
        """Word one candidate.

        at : its place in the arrays [-]
        returns : the candidate with every finding
        """
        s, duty = self.lineup.solved, self.lineup.duty
        rating, poles = float(self.lineup.motor_w[at]), int(s.poles[at])
        speed = float("nan")
        if np.isfinite(rating):
            speed = float(full_load_speed(poles, duty.frequency_hz, rating))
        return Candidate(
            impeller=self.lineup.catalogue.impellers[s.impeller[at]],
            diameter_mm=float(s.diameter_mm[at]),
            speed_rpm=float(s.speed_rpm[at]),
            poles=poles,
            motor_w=rating,
            motor_speed_rpm=speed,
            flow_m3s=duty.flow_m3s,
            head_m=float(s.head_m[at]),
            efficiency=float(s.efficiency[at]),
            power_w=float(s.power_w[at]),
            npshr_m=float(s.npshr_m[at]),
            bep_flow_m3s=float(s.bep_flow_m3s[at]),
            bep_efficiency=float(s.bep_efficiency[at]),
            shutoff_head_m=float(s.shutoff_head_m[at]),
            power_max_w=float(s.power_max_w[at]),
            working_pressure_pa=float(self.lineup.working_pa[at]),
            running=tuple(self._running(at, count) for count in range(duty.pumps)),
            alone_flow_m3s=float(s.alone_flow_m3s[at]),
            alone_head_m=float(s.alone_head_m[at]),
            alone_power_w=float(s.alone_power_w[at]),
            findings=tuple(
                check.finding(judged, at)
                for check, judged in zip(self.checks, self.judged, strict=True)
            ),
            score=float(self.scores[at]),
        )

    def _running(self, at: int, count: int) -> tuple[float, float] | None:
        s = self.lineup.solved
        flow = float(s.running_flow_m3s[count, at]) * (count + 1)
        return None if np.isnan(flow) else (flow, float(s.running_head_m[count, at]))

    @property
    def ranking_sentence(self) -> str:
        """How the order was made, in words."""
        w = self.lineup.rules.weights
        return (
            "Ranked by shaft power at duty over the least of all; each caution adds "
            f"{w.caution:.0%}, each point against {w.against:.0%}, each 10 % off best efficiency "
            f"{w.off_best:.0%}."
        )


def search(
    catalogue: Catalogue | Sequence[CatalogueImpeller],
    duty: Duty,
    rules: Rules = USUAL_RULES,
    checks: Sequence[Check] | None = None,
    also: Sequence[Duty] = (),
) -> Candidates:
    """Search a catalogue for a duty, or for one choice that serves several.

    With several duties each impeller is trimmed to the one that needs the largest diameter; at
    the others a valve takes the rest. Speeds are the first duty's.

    catalogue : packed once and kept, or impellers to be packed now
    duty : what is asked
    rules : limits of the checks
    checks : rows of the table to ask; None asks all
    also : further duties that the same pump must serve
    returns : ranked and rejected candidates
    raises : NothingGiven
    """
    packed = catalogue if isinstance(catalogue, Catalogue) else pack(catalogue)
    if duty.liquid.kinematic_viscosity_m2s > THIN_M2S:
        packed, pairs = _on_viscous(packed, duty)
    else:
        pairs = Pairs.all_of(len(packed.impellers), duty.speeds, duty.poles)
    solved = solve(packed, duty.question, pairs)
    others: tuple[Solved, ...] = ()
    if also:
        solved, others = _for_all(packed, [duty, *also], pairs, solved)
    lineup = Lineup(packed, solved, duty, rules, tuple(zip(also, others, strict=True)))
    asked = tuple(CHECKS if checks is None else checks)
    judged = tuple(check.judge(lineup) for check in asked)
    verdicts = np.stack([answer.verdicts for answer in judged])
    killed = (verdicts == Verdict.KILLS).any(axis=0)
    scores = np.where(killed, np.nan, _scores(lineup, verdicts, killed))
    return Candidates(
        lineup=lineup,
        checks=asked,
        judged=judged,
        order=_ranked(scores, killed),
        rejected_order=_nearest(judged, verdicts, killed),
        scores=scores,
    )


def _on_viscous(catalogue: Catalogue, duty: Duty) -> tuple[Catalogue, Pairs]:
    """Correct every impeller's curves at each speed; each is then asked at that speed alone."""
    corrected = [
        impeller.on_viscous(duty.liquid.kinematic_viscosity_m2s, speed)
        for impeller in catalogue.impellers
        for speed in duty.speeds
    ]
    pairs = Pairs.all_of(len(catalogue.impellers), duty.speeds, duty.poles)
    return pack(corrected), replace(pairs, impeller=np.arange(len(corrected)))


def _for_all(
    catalogue: Catalogue, duties: Sequence[Duty], pairs: Pairs, first: Solved
) -> tuple[Solved, tuple[Solved, ...]]:
    """Solve several duties at the diameter that the most demanding of them needs."""
    trims = [first, *(solve(catalogue, duty.question, pairs) for duty in duties[1:])]
    diameter = np.max([trim.diameter_mm for trim in trims], axis=0)
    solved = []
    for duty, trim in zip(duties, trims, strict=True):
        at = solve(catalogue, duty.question, pairs, diameter)
        short = at.spare_head_m < -1e-9 * duty.head_m
        alone = (trim.fit == Fit.TOO_MUCH_HEAD) & (diameter <= trim.diameter_mm * (1.0 + 1e-12))
        fit = np.where(short, Fit.SHORT_OF_HEAD, np.where(alone, Fit.TOO_MUCH_HEAD, Fit.MEETS))
        solved.append(replace(at, fit=np.where(at.fit == Fit.MEETS, fit, at.fit)))
    return solved[0], tuple(solved[1:])


def _scores(lineup: Lineup, verdicts: NDArray[np.int8], killed: Bools) -> Floats:
    """Power at duty over the least, with what the objections cost added."""
    weights = lineup.rules.weights
    power = lineup.solved.power_w
    least = float(np.min(power[~killed])) if (~killed).any() else 1.0
    cautions = np.count_nonzero(verdicts == Verdict.CAUTION, axis=0)
    against = np.count_nonzero(verdicts == Verdict.AGAINST, axis=0)
    off_best = np.abs(lineup.share_of_best - 1.0) * 10.0
    return np.asarray(
        power / least
        + weights.caution * cautions
        + weights.against * against
        + weights.off_best * off_best
    )


def _ranked(scores: Floats, killed: Bools) -> Ints:
    """Best first; equal scores keep the catalogue's order."""
    at = np.flatnonzero(~killed)
    return at[np.argsort(scores[at], kind="stable")]


def _nearest(judged: Sequence[Judged], verdicts: NDArray[np.int8], killed: Bools) -> Ints:
    """Rejected with the fewest reasons first, then those nearest to their limit."""
    missed = np.zeros(len(killed))
    for answer, verdict in zip(judged, verdicts, strict=True):
        hit = np.flatnonzero(verdict == Verdict.KILLS)
        figure = answer.figure[hit]
        limit = np.broadcast_to(answer.limit, answer.figure.shape)[hit]
        known = np.isfinite(figure) & np.isfinite(limit)
        gap = np.abs(np.where(known, figure - limit, 1.0))
        size = np.maximum(np.maximum(np.abs(limit), np.abs(figure)), 1e-9)
        missed[hit] += gap / np.where(known, size, 1.0)
    at = np.flatnonzero(killed)
    missed = missed[at]
    reasons = np.count_nonzero(verdicts[:, at] == Verdict.KILLS, axis=0)
    return at[np.lexsort((at, missed, reasons))]


def family_of(candidate: Candidate) -> ImpellerFamily:
    """Give the curves of a candidate's impeller at any diameter and speed.

    candidate : ranked or rejected
    returns : the impeller's curves
    """
    return candidate.impeller.family()
