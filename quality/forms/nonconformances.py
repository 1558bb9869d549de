"""Forms of nonconformances."""

from typing import Any

from django import forms

from quality.forms.fields import AgainField, PieceField, ReplacementField
from quality.models import Concession, Nonconformance
from schedule.models import Operation

Disposition = Nonconformance.Disposition

CAUSES = (
    ("moulding", "moulding"),
    ("core", "core"),
    ("metal", "metal"),
    ("gating", "gating and feeding"),
    ("pattern", "pattern"),
    ("machining", "machining"),
    ("handling", "handling"),
    ("assembly", "assembly"),
    ("bought-out", "bought-out part"),
    ("drawing", "drawing or order"),
    ("pressure test", "found at the pressure test"),
    ("not known", "not known yet"),
)


class NonconformanceForm(forms.Form):
    defect = forms.CharField(
        max_length=300, label="What is wrong", widget=forms.Textarea(attrs={"rows": 3})
    )
    severity = forms.ChoiceField(
        choices=Nonconformance.Severity.choices,
        widget=forms.RadioSelect,
        help_text="A major one stops all that follows the operation until the buyer has answered.",
    )
    cause = forms.ChoiceField(choices=CAUSES, label="Cause")
    piece = PieceField(
        label="Piece",
        help_text="the casting that is set apart; it is what scrapping would take out",
    )

    def __init__(self, *args: Any, operation: Operation, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        piece = self.fields["piece"]
        assert isinstance(piece, PieceField)
        piece.offer(operation)


class AskForm(forms.Form):
    proposed = forms.ChoiceField(
        choices=[
            (choice.value, choice.value)
            for choice in (Disposition.ACCEPT, Disposition.REWORK, Disposition.REPAIR)
        ],
        label="We propose to",
        widget=forms.RadioSelect,
    )
    question = forms.CharField(
        label="Question",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="The buyer reads these words as they stand.",
    )


class AnswerForm(forms.Form):
    answer = forms.ChoiceField(choices=Concession.Answer.choices, widget=forms.RadioSelect)
    words = forms.CharField(
        label="In which words",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="of the letter or mail, with its date; they are kept and never change",
    )
    answered_by = forms.CharField(max_length=120, label="Answered by")


class DisposeForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    disposition = forms.ChoiceField(
        choices=[(c.value, c.value) for c in Disposition if c != Disposition.UNDECIDED],
        widget=forms.RadioSelect,
        label="What becomes of the part",
    )
    replacement = ReplacementField(
        label="With scrap: what takes its place",
        help_text="A piece of another unit is taken from it: that unit's is then cast again.",
    )
    again = AgainField(
        label="Work to be done again",
        help_text="such as the test after a repair; with scrap the casting's own work follows by "
        "itself",
    )
    note = forms.CharField(required=False, label="How", widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, found: Nonconformance, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        replacement, again = self.fields["replacement"], self.fields["again"]
        assert isinstance(replacement, ReplacementField)
        assert isinstance(again, AgainField)
        replacement.offer(found)
        again.offer(found)


class CloseForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
