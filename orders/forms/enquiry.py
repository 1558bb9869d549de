"""What an enquiry's pages take: its particulars, its items, taking it in hand."""

from typing import Any

from django import forms

from orders.forms.contract import ContractForm
from orders.forms.fields import DayField, ReasonField, VersionField
from orders.models import Contact, Customer, DeliveryTerm, Item, Order
from schedule.models import Lane
from selection.configuration import PatternWork, Rotation
from selection.models import Pattern

NO_LANE = "none: collected at the works"


class ParticularsForm(ContractForm):
    """Who wants what, where and when; then the contract's terms."""

    contact = forms.ModelChoiceField(
        Contact.objects.select_related("customer"), required=False, label="Contact"
    )
    customer_reference = forms.CharField(
        max_length=60, required=False, label="The customer's reference"
    )
    project = forms.CharField(max_length=120, required=False)
    delivery_term = forms.ChoiceField(
        choices=DeliveryTerm.choices, label="Delivery term", help_text="Incoterms 2020"
    )
    destination = forms.CharField(max_length=120, help_text="place named in the delivery term")
    lane = forms.ModelChoiceField(
        Lane.objects.filter(withdrawn=False),
        required=False,
        label="Freight lane",
        empty_label=NO_LANE,
        help_text="ship-by is worked back along it from the date on site",
    )
    on_site_on = DayField(label="Wanted on site")
    priority = forms.IntegerField(
        min_value=1,
        max_value=9,
        initial=2,
        help_text="1 to 9: what a day late costs beside other orders; 2 is usual",
    )
    value_eur = forms.DecimalField(
        max_digits=12, decimal_places=2, min_value=0, required=False, label="Value in EUR"
    )
    penalty = forms.CharField(
        max_length=200,
        required=False,
        help_text="as contracted; internal",
    )
    note = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 3}),
        required=False,
        help_text="internal; never leaves the works",
    )

    PARTICULARS = (
        "contact",
        "customer_reference",
        "project",
        "delivery_term",
        "destination",
        "lane",
        "on_site_on",
        "priority",
        "value_eur",
        "penalty",
        "note",
    )

    def particulars(self) -> dict[str, Any]:
        """The fields as the deeds take them; the form must be valid."""
        cleaned = self.cleaned_data
        values = {
            name: cleaned[name] for name in self.PARTICULARS if name not in {"contact", "lane"}
        }
        values["contact_id"] = cleaned["contact"].pk if cleaned["contact"] else None
        values["lane_id"] = cleaned["lane"].pk if cleaned["lane"] else None
        return values

    @property
    def own_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.fields if name not in ContractForm.base_fields]

    @property
    def contract_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ContractForm.base_fields]

    @property
    def contract_is_wrong(self) -> bool:
        return any(name in self.errors for name in ContractForm.base_fields)


class NewEnquiryForm(ParticularsForm):
    customer = forms.ModelChoiceField(Customer.objects.all())

    field_order = ("customer", *ParticularsForm.PARTICULARS)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        contact, customer = cleaned.get("contact"), cleaned.get("customer")
        if contact and customer and contact.customer_id != customer.pk:
            self.add_error(
                "contact",
                f"{contact} is at {contact.customer}: choose somebody at {customer}, or nobody.",
            )
        return cleaned


class EnquiryForm(ParticularsForm):
    """The particulars of an enquiry that is there."""

    version = VersionField()

    field_order = ParticularsForm.PARTICULARS

    def __init__(self, *args: Any, order: Order, **kwargs: Any) -> None:
        initial = {name: getattr(order, name) for name in self.PARTICULARS} | {
            "version": order.version
        }
        kwargs["initial"] = initial | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        contact = self.fields["contact"]
        assert isinstance(contact, forms.ModelChoiceField)
        contact.queryset = order.customer.contacts.all()


class ItemForm(forms.Form):
    """A line: pumps, or spares made from a pattern or bar of the register."""

    kind = forms.ChoiceField(choices=Item.Kind.choices)
    quantity = forms.IntegerField(min_value=1, max_value=50, initial=1)
    tag = forms.CharField(
        max_length=60, required=False, help_text="the customer's equipment number"
    )
    description = forms.CharField(max_length=200, required=False)
    pump = forms.CharField(
        max_length=80,
        required=False,
        label="Spares: for pump",
        help_text="size and serial number of the pump they are for",
    )
    impeller_pattern = forms.ModelChoiceField(
        Pattern.objects.filter(part=Pattern.Part.IMPELLER),
        to_field_name="number",
        required=False,
        label="Spare impeller: pattern",
    )
    impeller_metal = forms.CharField(
        max_length=30, required=False, label="Spare impeller: metal", help_text="such as CC491K"
    )
    rotation = forms.ChoiceField(
        choices=[("", "—"), *((each.value, each.value) for each in Rotation)],
        required=False,
        label="Spare impeller: rotation",
        help_text="seen from the drive end",
    )
    pattern_work = forms.ChoiceField(
        choices=[
            (each.value, each.value) for each in PatternWork if each is not PatternWork.DRILL_ONLY
        ],
        required=False,
        label="Spare impeller: pattern work",
    )
    shaft_metal = forms.CharField(max_length=30, required=False, label="Spare shaft: metal")

    def spare_for(self) -> dict[str, str]:
        """What a spares item says of itself."""
        names = ("pump", "impeller_metal", "rotation", "pattern_work", "shaft_metal")
        facts = {name: self.cleaned_data[name] for name in names}
        pattern = self.cleaned_data["impeller_pattern"]
        return facts | {"impeller_pattern": pattern.number if pattern else ""}


class ChangeItemForm(ItemForm):
    version = VersionField()

    field_order = ("quantity", "tag", "description")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        initial = {
            "quantity": item.quantity,
            "tag": item.tag,
            "description": item.description,
            "version": item.version,
            **item.spare_for,
        }
        kwargs["initial"] = initial | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        del self.fields["kind"]
        for name in list(self.fields):
            if name in SPARES_ONLY and item.kind not in SPARES_ONLY[name]:
                del self.fields[name]

    def spare_for(self) -> dict[str, str]:
        missing = {name: "" for name in SPARES_ONLY if name not in self.fields}
        self.cleaned_data |= missing
        return super().spare_for()


IMPELLERS, SHAFTS = {Item.Kind.SPARES_IMPELLER}, {Item.Kind.SPARES_SHAFT}
SPARES_ONLY = {
    "pump": IMPELLERS | SHAFTS,
    "impeller_pattern": IMPELLERS,
    "impeller_metal": IMPELLERS,
    "rotation": IMPELLERS,
    "pattern_work": IMPELLERS,
    "shaft_metal": SHAFTS,
}


class TakeOrderForm(forms.Form):
    promised_on = DayField(label="Promised on site")
    customer_reference = forms.CharField(max_length=60, required=False, label="Order reference")
    version = VersionField()


class DeclineForm(forms.Form):
    reason = ReasonField()
