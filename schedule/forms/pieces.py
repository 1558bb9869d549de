"""Forms about castings."""

from typing import Any

from django import forms

from schedule.forms.fields import PlainForm, day
from schedule.models import Piece, Route, Unit
from schedule.queries.pieces import Candidate
from selection.models import Pattern


class PourForm(PlainForm):
    """One piece of a melt."""

    mark = forms.CharField(max_length=40, help_text="cast or stamped on it")
    part = forms.ChoiceField(choices=Piece.Part.choices)
    pattern = forms.ModelChoiceField(Pattern.objects.order_by("number"), to_field_name="number")
    metal = forms.CharField(max_length=30)
    heat = forms.CharField(max_length=40, required=False)
    poured_on = day("Poured on")
    unit = forms.ModelChoiceField(
        Unit.objects.none(), required=False, empty_label="none: on the shelf", label="For unit"
    )
    rotation = forms.ChoiceField(
        choices=[("", "either"), ("clockwise",) * 2, ("counter-clockwise",) * 2], required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].queryset = open_units()  # type: ignore[attr-defined]


class TakeForm(PlainForm):
    unit = forms.ModelChoiceField(Unit.objects.none(), label="For unit")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit"].queryset = open_units()  # type: ignore[attr-defined]


class PairForm(PlainForm):
    pair = forms.CharField(max_length=40, label="The pair's mark")


class SwapForm(PlainForm):
    other = forms.ModelChoiceField(Piece.objects.none(), label="With")
    reason = forms.CharField(max_length=200, label="Why, and who pays for it")

    def __init__(self, *args: Any, piece: Piece, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["other"].queryset = (  # type: ignore[attr-defined]
            Piece.objects.filter(part=piece.part, pattern=piece.pattern, state=Piece.State.TAKEN)
            .exclude(unit=piece.unit)
            .order_by("mark")
        )


RECAST, NOTHING = "recast", "nothing"


class ScrapForm(PlainForm):
    """Scrap, and who suffers: the program proposes, the person signed in decides."""

    reason = forms.CharField(max_length=200, label="Defect, in a few words")
    instead = forms.ChoiceField(widget=forms.RadioSelect, label="What takes its place")

    def __init__(
        self, *args: Any, piece: Piece, candidates: tuple[Candidate, ...], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        choices = [(NOTHING, "nothing: no unit waits for it")]
        if piece.unit_id is not None:
            choices = [
                (RECAST, "pour it again: this order's casting work is repeated"),
                *((str(c.piece_id), _words(c)) for c in candidates),
                (NOTHING, "decide later: the unit stays without it"),
            ]
        self.fields["instead"].choices = choices  # type: ignore[attr-defined]

    @property
    def recast(self) -> bool:
        return bool(self.cleaned_data["instead"] == RECAST)

    @property
    def replacement_id(self) -> int | None:
        chosen = self.cleaned_data["instead"]
        return int(chosen) if chosen.isdigit() else None


def _words(candidate: Candidate) -> str:
    old = ", poured to an old pattern" if candidate.old_pattern else ""
    if candidate.from_route is None:
        return f"take {candidate.mark} from the shelf, heat {candidate.heat}{old}"
    hand = candidate.days_in_hand
    stands = "" if hand is None else f", {abs(hand):.1f} d {'in hand' if hand >= 0 else 'late'}"
    worked = ", machining has begun on it" if candidate.machined else ""
    return (
        f"take {candidate.mark} from {candidate.from_route} unit {candidate.from_unit}{stands}"
        f"{worked}{old}; that order pours again"
    )


def open_units() -> Any:
    """Units of routes still to be made."""
    return (
        Unit.objects.select_related("route")
        .filter(
            route__state__in=[Route.State.DRAFT, Route.State.RELEASED, Route.State.ON_HOLD],
            dropped_in=None,
            shipped_on=None,
        )
        .order_by("route__label", "number")
    )
