"""Forms of visits."""

from typing import Any

from django import forms

from quality.forms.fields import DayField, PastDayField, PointsField
from quality.models import InspectionPlan, Party


class VisitForm(forms.Form):
    party = forms.ChoiceField(
        choices=[choice for choice in Party.choices if choice[0] != Party.MAKER],
        label="Who comes",
        widget=forms.RadioSelect,
        initial=Party.CUSTOMER,
    )
    on = DayField(label="Day of the visit")
    inspector = forms.CharField(max_length=120, required=False, label="Inspector's name")
    points = PointsField(
        label="Points to attend",
        help_text="of one unit or of several; one visit serves them all",
    )
    note = forms.CharField(
        max_length=300,
        required=False,
        label="Note",
        help_text="with shorter notice than agreed: who agreed to it",
    )

    def __init__(self, *args: Any, plan: InspectionPlan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        points = self.fields["points"]
        assert isinstance(points, PointsField)
        points.offer(plan)


class VisitDeedForm(forms.Form):
    """What every deed on a visit carries, so that two people do not overwrite each other."""

    version = forms.IntegerField(widget=forms.HiddenInput)


class NoticeForm(VisitDeedForm):
    on = PastDayField(label="Notice sent on")


class AgreeForm(VisitDeedForm):
    inspector = forms.CharField(max_length=120, required=False, label="Inspector's name")


class MoveForm(VisitDeedForm):
    on = DayField(label="New day")
    why = forms.CharField(max_length=300, label="Why")


class OutcomeForm(VisitDeedForm):
    came = forms.ChoiceField(
        label="What came of it",
        choices=[("yes", "the inspector came"), ("no", "nobody came"), ("off", "called off")],
        widget=forms.RadioSelect,
    )
    note = forms.CharField(max_length=300, required=False, label="Note")
