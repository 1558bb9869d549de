"""Forms of the shop floor: reports, their corrections, holds on an operation."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django import forms
from django.utils.text import slugify

from schedule.actions.progress import STOP_REASONS
from schedule.forms.fields import PlainForm, day, moment
from schedule.models import Operation, Progress
from schedule.queries.work_lists import Next

DEEDS = {
    Progress.Deed.START.value: "Start",
    Progress.Deed.STOP.value: "Stop",
    Progress.Deed.RESUME.value: "Resume",
    Progress.Deed.PART_DONE.value: "Part done",
    Progress.Deed.FINISH.value: "Finish",
}
ASKS = {
    "drawing revision": "Number and revision on the drawing in your hand",
    "pattern": "Number and revision on the pattern",
    "core boxes": "Number on the core boxes",
    "drilling template": "Drilling template in your hand",
    "half-pair": "Pair's mark, or the marks of both halves",
    "rotation": "Rotation, seen from the drive end",
    "heat": "Heat number on the casting",
}
ROTATIONS = [("", "Look and choose"), ("clockwise", "clockwise"), ("counter-clockwise",) * 2]


class ReportForm(PlainForm):
    """One report on chosen operations; asks only for what this deed on these needs."""

    deed = forms.ChoiceField(choices=list(DEEDS.items()), widget=forms.HiddenInput)
    key = forms.CharField(max_length=40, widget=forms.HiddenInput)
    stated_at = moment("When", help_text="when it happened, not when you report it")

    def __init__(
        self,
        *args: Any,
        rows: Sequence[Next],
        deed: str,
        templates: Sequence[str] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.rows = rows
        beginning = [row for row in rows if row.state == Operation.State.WAITING]
        if deed == Progress.Deed.FINISH and beginning:
            self.fields["started_at"] = moment("Begun at", help_text="its start was not reported")
        if deed == Progress.Deed.STOP:
            reasons = [("", "Choose the reason"), *((words, words) for words in STOP_REASONS)]
            self.fields["reason"] = forms.ChoiceField(choices=reasons, label="Why")
        if deed in {Progress.Deed.PART_DONE, Progress.Deed.STOP}:
            self.fields["remaining_h"] = forms.DecimalField(
                label="Hours still to do",
                required=deed == Progress.Deed.PART_DONE,
                min_value=0,
                max_value=1000,
                max_digits=6,
                decimal_places=2,
                localize=False,
                widget=forms.TextInput(attrs={"inputmode": "decimal"}),
            )
        self.asked: dict[str, tuple[int, str]] = {}
        if deed in {Progress.Deed.START, Progress.Deed.FINISH}:
            for row in beginning:
                for what in row.confirms:
                    self._ask(row, what, templates, several=len(rows) > 1)
        self.fields["worker"] = forms.CharField(
            label="Done by", max_length=60, required=False, help_text="if it was not you"
        )
        self.fields["note"] = forms.CharField(label="Note", max_length=300, required=False)

    def _ask(self, row: Next, what: str, templates: Sequence[str], *, several: bool) -> None:
        name = f"confirm-{row.pk}-{slugify(what)}"
        label = f"{ASKS[what]}: {row.name}, {row.route} {row.unit}" if several else ASKS[what]
        self.asked[name] = (row.pk, what)
        if what == "rotation":
            self.fields[name] = forms.ChoiceField(choices=ROTATIONS, label=label)
        elif what == "drilling template":
            choices = [("", "Look and choose"), *((words, words) for words in templates)]
            self.fields[name] = forms.ChoiceField(choices=choices, label=label)
        else:
            self.fields[name] = forms.CharField(max_length=80, label=label)

    def confirmed(self) -> dict[int, dict[str, str]]:
        """What was found in hand, by operation."""
        said: dict[int, dict[str, str]] = {}
        for name, (pk, what) in self.asked.items():
            said.setdefault(pk, {})[what] = self.cleaned_data[name]
        return said

    def remaining_minutes(self) -> int | None:
        hours = self.cleaned_data.get("remaining_h")
        return None if hours is None else round(hours * 60)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        begun, ended = cleaned.get("started_at"), cleaned.get("stated_at")
        if isinstance(begun, datetime) and isinstance(ended, datetime) and begun > ended:
            self.add_error("started_at", "It began after it ended: one of the two is wrong.")
        return cleaned


class CorrectionForm(PlainForm):
    """A report said wrongly."""

    withdraws = forms.BooleanField(required=False, label="It never happened")
    stated_at = moment("When it really happened")
    note = forms.CharField(max_length=300, required=False, label="What was wrong")


class AtRiskForm(PlainForm):
    """A hold passed by a named person."""

    scope = forms.CharField(max_length=300, label="What may be done")
    limit = forms.CharField(max_length=300, label="How far, or until when")


class ExpectedForm(PlainForm):
    on = day("Release expected on", required=False, help_text="empty when nobody knows")
