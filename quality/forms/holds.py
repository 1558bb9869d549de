"""Forms of a point's page: release it, or let work go on at risk."""

from collections.abc import Sequence
from typing import Any

from django import forms

from quality.models import Part, Release
from quality.queries.points import PartyRow

KINDS = [(kind.value, kind.value) for kind in Release.Kind]


class ReleaseForm(forms.Form):
    party = forms.ChoiceField(label="Whose word", widget=forms.RadioSelect)
    kind = forms.ChoiceField(
        label="What was said",
        choices=KINDS,
        widget=forms.RadioSelect,
        initial=Release.Kind.RELEASED,
        help_text="A hold whose party did not come needs a waiver in writing.",
    )
    signed_by = forms.CharField(
        max_length=120, label="Given by", help_text="name of the person who gave the word"
    )
    record = forms.CharField(
        required=False,
        label="What was found",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="the finding, or a waiver's own words and where the letter is kept",
    )

    def __init__(self, *args: Any, parties: Sequence[PartyRow], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [
            (row.party, f"{row.party} ({row.part})") for row in parties if row.release is None
        ]
        field = self.fields["party"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices
        if not self.is_bound and choices:
            holding = [row.party for row in parties if row.is_wanting]
            self.initial.setdefault("party", (holding or [choices[0][0]])[0])
        if all(row.letter != Part.WITNESS for row in parties if row.release is None):
            kind = self.fields["kind"]
            assert isinstance(kind, forms.ChoiceField)
            kind.choices = [choice for choice in KINDS if choice[0] != Release.Kind.NOT_ATTENDED]


class AtRiskForm(forms.Form):
    scope = forms.CharField(
        max_length=300,
        label="Scope",
        help_text="which work may go on",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    limit = forms.CharField(
        max_length=300,
        label="Limit",
        help_text="how far it may go, or until which day",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
