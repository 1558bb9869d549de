"""The planner's forms about one route."""

from typing import Any

from django import forms

from schedule.forms.fields import PlainForm, day
from schedule.models import Unit


class ReasonForm(PlainForm):
    reason = forms.CharField(max_length=200, label="Why")


class MaybeReasonForm(PlainForm):
    reason = forms.CharField(max_length=200, label="Why", required=False)


class DueForm(PlainForm):
    due_on = day("Ship by", help_text="the last day that it may leave the works")
    reason = forms.CharField(max_length=200, label="Why", required=False)


class WeightForm(PlainForm):
    weight = forms.IntegerField(
        min_value=1, max_value=9, help_text="what a day late costs against others, 1 to 9"
    )


class DrawingForm(PlainForm):
    drawing = forms.CharField(max_length=40, label="Drawing number")
    revision = forms.CharField(max_length=10)
    codes = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="For these operations",
        help_text="none ticked: for all that confirm a drawing at their start",
    )

    def __init__(self, *args: Any, codes: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["codes"].choices = codes  # type: ignore[attr-defined]


class SerialsForm(PlainForm):
    """One field a unit."""

    def __init__(self, *args: Any, units: list[Unit], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.units = units
        for unit in units:
            self.fields[f"unit-{unit.number}"] = forms.CharField(
                max_length=40,
                required=False,
                label=f"Serial number of unit {unit.number}",
                initial=unit.serial or "",
            )

    def serials(self) -> dict[int, str]:
        """The numbers given, by unit."""
        given = {unit.number: self.cleaned_data[f"unit-{unit.number}"] for unit in self.units}
        return {number: serial for number, serial in given.items() if serial}


class UnitDueForm(PlainForm):
    due_on = day("Its own ship-by", required=False, help_text="empty: ships with the others")


class ShipForm(PlainForm):
    on = day("Left the works on")
    units = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, label="Units")

    def __init__(self, *args: Any, units: list[Unit], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [
            (str(unit.number), f"Unit {unit.number}{f', {unit.serial}' if unit.serial else ''}")
            for unit in units
            if unit.shipped_on is None
        ]
        self.fields["units"].choices = choices  # type: ignore[attr-defined]
