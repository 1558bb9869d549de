"""What an order's page takes: holds, dates, deliveries, shipping, links, papers."""

from datetime import date, timedelta
from typing import Any

from django import forms

from orders.forms.fields import DayField, ReasonField, VersionField
from orders.models import Contact, CustomerLink, Delivery, Item, Milestone
from orders.papers import KINDS
from schedule.models import Unit

LINK_DAYS = 90


class HoldForm(forms.Form):
    reason = ReasonField(help_text="the floor reads it")


class ResumeForm(forms.Form):
    """Nothing to enter: work goes on."""


class CancelForm(forms.Form):
    reason = ReasonField()
    sure = forms.BooleanField(label="Work ends for good; castings go to the shelf")


class PriorityForm(forms.Form):
    priority = forms.IntegerField(
        min_value=1,
        max_value=9,
        help_text="1 to 9: what a day late costs beside other orders; 2 is usual",
    )
    reason = ReasonField()
    version = VersionField()


class DatesForm(forms.Form):
    promised_on = DayField(label="On site, as agreed with the customer")
    reason = ReasonField()
    version = VersionField()


class PublishForm(forms.Form):
    """Tell the customer another date for one milestone of one item."""

    item = forms.ModelChoiceField(Item.objects.none())
    milestone = forms.ChoiceField(choices=Milestone.choices)
    on = DayField(label="New date")
    reason = ReasonField(help_text="the customer reads it")
    seen = VersionField()

    def __init__(self, *args: Any, items: list[Item], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["item"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Item.objects.select_related("order").filter(
            pk__in=[item.pk for item in items]
        )
        field.empty_label = None
        if len(items) == 1:
            field.initial = items[0].pk
            field.widget = forms.HiddenInput()


class UnitsField(forms.ModelMultipleChoiceField):
    """Units of the order that are still in the works, one box each."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            Unit.objects.none(),
            widget=forms.CheckboxSelectMultiple,
            error_messages={"required": "Tick at least one unit."},
            **kwargs,
        )


class _UnitsForm(forms.Form):
    units = UnitsField()

    def __init__(self, *args: Any, units: list[Unit], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["units"]
        assert isinstance(field, UnitsField)
        field.queryset = Unit.objects.filter(pk__in=[unit.pk for unit in units])


class DeliveryForm(_UnitsForm):
    ship_by_on = DayField(label="Ships by")
    note = forms.CharField(max_length=200, required=False)


class DropDeliveryForm(forms.Form):
    delivery = forms.ModelChoiceField(Delivery.objects.none(), widget=forms.HiddenInput)

    def __init__(self, *args: Any, deliveries: list[Delivery], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["delivery"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Delivery.objects.filter(pk__in=[each.pk for each in deliveries])


class ShipForm(_UnitsForm):
    on = DayField(label="Left the works on")


class LinkForm(forms.Form):
    """A private link for somebody at the customer's."""

    contact = forms.ModelChoiceField(Contact.objects.none(), required=False)
    may_answer = forms.BooleanField(label="May answer concessions", required=False)
    until = DayField(label="Valid until the end of")

    def __init__(self, *args: Any, contacts: list[Contact], today: date, **kwargs: Any) -> None:
        kwargs["initial"] = {"until": today + timedelta(days=LINK_DAYS)} | (
            kwargs.get("initial") or {}
        )
        super().__init__(*args, **kwargs)
        self.today = today
        field = self.fields["contact"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Contact.objects.filter(pk__in=[contact.pk for contact in contacts])

    def clean_until(self) -> date:
        until: date = self.cleaned_data["until"]
        if not self.today <= until <= self.today + timedelta(days=730):
            raise forms.ValidationError("Give a day from today to two years ahead.")
        return until


class RevokeForm(forms.Form):
    link = forms.ModelChoiceField(CustomerLink.objects.none(), widget=forms.HiddenInput)

    def __init__(self, *args: Any, links: list[CustomerLink], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["link"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = CustomerLink.objects.filter(pk__in=[link.pk for link in links])


class ReportForm(forms.Form):
    """Nothing to enter: the next status report is drawn."""


class PaperForm(forms.Form):
    title = forms.CharField(max_length=200, help_text="the same title again is its next revision")
    kind = forms.ChoiceField(choices=[(kind, kind) for kind in KINDS])
    file = forms.FileField(help_text="PDF, picture, drawing or table, up to 10 MB")
    for_customer = forms.BooleanField(label="The customer may have it", required=False)
