"""What the board and the lists are filtered by."""

from django import forms

from orders.models import Customer, Order
from orders.queries.board import SORTS, Wish
from works.people import Area

SORT_CHOICES = [(sign + key, sign + key) for key in SORTS for sign in ("", "-")]


class BoardFilter(forms.Form):
    text = forms.CharField(required=False, label="Find", max_length=60)
    state = forms.ChoiceField(
        required=False,
        choices=[
            ("", "in work or on hold"),
            (Order.State.ORDERED.value, "in work"),
            (Order.State.ON_HOLD.value, "on hold"),
        ],
    )
    customer = forms.ModelChoiceField(
        Customer.objects.filter(orders__state__in=["ordered", "on hold"]).distinct(),
        required=False,
        empty_label="every customer",
    )
    stage = forms.ChoiceField(
        required=False,
        label="Area",
        choices=[("", "every area"), *((area.value, area.value) for area in Area)],
    )
    late = forms.BooleanField(required=False, label="late only")
    held = forms.BooleanField(required=False, label="held only")
    this_week = forms.BooleanField(required=False, label="to ship this week")
    sort = forms.ChoiceField(required=False, choices=SORT_CHOICES, widget=forms.HiddenInput)

    def wish(self) -> Wish:
        """What is asked for; the form must be valid."""
        cleaned = self.cleaned_data
        customer = cleaned["customer"]
        return Wish(
            state=cleaned["state"],
            customer_id=customer.pk if customer else None,
            stage=cleaned["stage"],
            late=cleaned["late"],
            held=cleaned["held"],
            this_week=cleaned["this_week"],
            text=cleaned["text"],
            sort=cleaned["sort"] or "hand",
        )


class OrdersFilter(forms.Form):
    text = forms.CharField(required=False, label="Find", max_length=60)
    state = forms.ChoiceField(required=False, choices=[("", "every state"), *Order.State.choices])
    customer = forms.ModelChoiceField(
        Customer.objects.all(), required=False, empty_label="every customer"
    )
