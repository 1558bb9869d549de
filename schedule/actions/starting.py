"""What stands between an operation and its start or finish: gates, and what is in hand."""

from collections.abc import Mapping, Sequence

from schedule.errors import ConfirmationMissing, GateOpen, Mismatch
from schedule.models import Gate, Operation
from schedule.queries.confirmations import expected_confirmations, same


def confirm(
    beginning: Sequence[Operation], confirmed: Mapping[int, Mapping[str, str]]
) -> dict[int, dict[str, str]]:
    """Compare what is in hand with what was ordered.

    raises : ConfirmationMissing, Mismatch
    """
    kept = {}
    for pk, right in expected_confirmations(beginning).items():
        operation = next(o for o in beginning if o.pk == pk)
        said = {what: words.strip() for what, words in confirmed.get(pk, {}).items()}
        if missing := [what for what in right if not said.get(what)]:
            raise ConfirmationMissing(operation=str(operation), missing=missing)
        wrong = [(what, said[what], r) for what, r in right.items() if not same(said[what], r)]
        if wrong:
            raise Mismatch(operation=str(operation), wrong=wrong)
        kept[pk] = said
    return kept


def check_gates(
    operations: Sequence[Operation], beginning: Sequence[Operation], *, finishing: bool
) -> None:
    """Refuse what an open gate guards; the database would refuse it too.

    raises : GateOpen
    """
    for operation in beginning:
        if reasons := start_gates(operation):
            raise GateOpen(operation=str(operation), deed="start", gates=reasons)
    if not finishing:
        return
    for operation in operations:
        reasons = list(
            Gate.objects.open()
            .filter(operation=operation, timing=Gate.Timing.DURING)
            .values_list("reason", flat=True)
        )
        if reasons:
            raise GateOpen(operation=str(operation), deed="finish", gates=reasons)


def start_gates(operation: Operation) -> list[str]:
    """Reasons of the open gates before an operation or after what it waits for."""
    own = Gate.objects.open().filter(operation=operation, timing=Gate.Timing.BEFORE)
    earlier = Gate.objects.open().filter(
        operation__links_out__after=operation, timing=Gate.Timing.AFTER
    )
    return [
        *own.values_list("reason", flat=True),
        *(
            f"{reason} (after {name})"
            for reason, name in earlier.values_list("reason", "operation__name")
        ),
    ]
