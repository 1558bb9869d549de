"""The table itself: what a check, its answer and a finding are, and how checks enter."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from selection.hydraulics.door import Bools, Certainty, Floats, Ints, Words
from selection.hydraulics.lineup import Lineup


class Verdict(IntEnum):
    """What a check says of a candidate, from best to worst."""

    GOOD = 0
    CAUTION = 1
    AGAINST = 2
    KILLS = 3

    @property
    def word(self) -> str:
        """The word shown beside its shape."""
        return {0: "good", 1: "caution", 2: "against", 3: "kills"}[int(self)]


GOOD, CAUTION, AGAINST, KILLS = Verdict


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One check's answer for one candidate.

    check : name of the check
    verdict : good, caution, against or kills
    figure : what was found; NaN where it is not known [unit]
    limit : what it is held against; NaN where there is none [unit]
    unit : of both
    sentence : what a page says
    source : where the limit comes from
    certainty : how sure the source is
    """

    check: str
    verdict: Verdict
    figure: float
    limit: float
    unit: str
    sentence: str
    source: str
    certainty: Certainty


@dataclass(frozen=True, eq=False, kw_only=True)
class Judged:
    """One check's answer for all candidates.

    figure : (n,) found [unit of the check]
    limit : (n,) or a number, held against [unit of the check]
    pick : (n,) which outcome applies [-]
    outcomes : verdict and sentence of each outcome
    more : (n,) arrays or numbers that the sentences name [any]
    """

    figure: Floats
    limit: Floats | float
    pick: Ints
    outcomes: tuple[tuple[Verdict, str], ...]
    more: Mapping[str, Floats | float | Words] = field(default_factory=dict)

    @property
    def verdicts(self) -> NDArray[np.int8]:
        """(n,) the verdicts as small numbers, to keep a catalogue in the cache [-]."""
        return np.array([int(verdict) for verdict, _ in self.outcomes], dtype=np.int8)[self.pick]


@dataclass(frozen=True, kw_only=True)
class Check:
    """One row of the table of checks.

    name : what it is called on the page
    unit : of its figure and limit
    source : where the limit comes from
    certainty : how sure the source is
    judge : the function
    """

    name: str
    unit: str
    source: str
    certainty: Certainty
    judge: Callable[[Lineup], Judged]

    def finding(self, judged: Judged, at: int) -> Finding:
        """Word the answer for one candidate.

        judged : the check's answer for all
        at : place of the candidate [-]
        returns : the finding
        """
        verdict, template = judged.outcomes[judged.pick[at]]
        figure, limit = _one(judged.figure, at), _one(judged.limit, at)
        more = {name: _one(values, at) for name, values in judged.more.items()}
        return Finding(
            check=self.name,
            verdict=verdict,
            figure=float(figure),
            limit=float(limit),
            unit=self.unit,
            sentence=template.format(figure=figure, limit=limit, **more),
            source=self.source,
            certainty=self.certainty,
        )


def _one(values: Floats | float | Words, at: int) -> float | str:
    array = np.asarray(values)
    if array.dtype == object:
        return str(array[at])
    return float(array if array.ndim == 0 else array[at])


CHECKS: list[Check] = []


def check(
    name: str, *, unit: str, source: str, certainty: Certainty
) -> Callable[[Callable[[Lineup], Judged]], Callable[[Lineup], Judged]]:
    """Enter a function in the table of checks.

    name : what it is called on the page
    unit : of its figure and limit
    source : where the limit comes from
    certainty : how sure the source is
    returns : a decorator that gives the function back unchanged
    """

    def enter(judge: Callable[[Lineup], Judged]) -> Callable[[Lineup], Judged]:
        CHECKS.append(Check(name=name, unit=unit, source=source, certainty=certainty, judge=judge))
        return judge

    return enter


def first_true(*conditions: Bools) -> Ints:
    """Number of the first condition that holds for each candidate.

    conditions : (n,) each
    returns : (n,) its number, or how many conditions there are when none holds [-]
    """
    return np.select(conditions, list(range(len(conditions))), default=len(conditions))
