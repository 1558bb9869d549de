"""The table of checks: every sentence for or against a candidate is made here, and only here.

To add a check write one function in the file of its subject and put `@check(...)` over it. It is
given all candidates of a search at once as a `Lineup` and gives back a `Judged`: a figure and a
limit for each candidate, and which of its outcomes applies. An outcome is a verdict and a sentence
in which {figure}, {limit} and any array of `more` may be named. Ranking, rejection, the desk, the
data sheet and the tests find the new check by themselves.
"""

from selection.hydraulics.checks import hydraulic, liquids, machine, rotor, suction, system
from selection.hydraulics.checks.table import CHECKS, Check, Finding, Judged, Verdict, check

# As a page reads them: the pump, its system, its suction, the liquid, the machine, the rotor.
_ORDER = [module.__name__ for module in (hydraulic, system, suction, liquids, machine, rotor)]
CHECKS.sort(key=lambda entry: _ORDER.index(entry.judge.__module__))

__all__ = [
    "CHECKS",
    "Check",
    "Finding",
    "Judged",
    "Verdict",
    "check",
    "hydraulic",
    "liquids",
    "machine",
    "rotor",
    "suction",
    "system",
]
