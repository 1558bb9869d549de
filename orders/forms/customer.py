"""What a customer enters on its own page."""

from django import forms

from quality.models import Concession


class AnswerForm(forms.Form):
    answer = forms.ChoiceField(
        choices=Concession.Answer.choices, widget=forms.RadioSelect, label="Your answer"
    )
    words = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 3}),
        label="In your words",
        help_text="conditions, limits, or why not; kept unchanged with your name and the time",
    )
    answered_by = forms.CharField(max_length=120, label="Your name and position")
