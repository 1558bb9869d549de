"""The buyer's forms."""

from django import forms

from schedule.forms.fields import PlainForm, day


class OrderPartForm(PlainForm):
    supplier = forms.CharField(max_length=100)
    ordered_on = day("Ordered on")
    promised_on = day("Promised for", required=False)
    sent_straight_to_site = forms.BooleanField(required=False, label="Goes straight to site")
    note = forms.CharField(max_length=200, required=False)


class PromiseForm(PlainForm):
    promised_on = day("Promised for")
    reason = forms.CharField(
        max_length=200, required=False, help_text="needed when it is later than before"
    )


class ArriveForm(PlainForm):
    arrived_on = day("Arrived on")
