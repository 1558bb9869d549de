"""Which dispositions wait for the buyer's written word, and whether it was given."""

from quality.models import Concession, Nonconformance

Disposition = Nonconformance.Disposition
Severity = Nonconformance.Severity

NEEDS_ANSWER = {
    Severity.MINOR: {Disposition.ACCEPT},
    Severity.MAJOR: {Disposition.ACCEPT, Disposition.REWORK, Disposition.REPAIR},
}
"""Nothing is accepted as it is without a concession, and a major one is not repaired either."""


def is_accepted(found: Nonconformance, disposition: Disposition | str) -> bool:
    """Whether the buyer's last answer to this proposal was yes."""
    answers = [c for c in found.concessions.all() if c.proposed == disposition and c.answer]
    return bool(answers) and answers[-1].answer == Concession.Answer.ACCEPTED


def may_be_decided(found: Nonconformance, disposition: Disposition | str) -> bool:
    """Whether the disposition needs no answer, or has it."""
    needed = disposition in NEEDS_ANSWER[Severity(found.severity)]
    return not needed or is_accepted(found, disposition)
