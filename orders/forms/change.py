"""What a change is put forward with, and what decides it."""

from typing import Any

from django import forms

from orders.contract import Contract
from orders.forms.contract import ContractForm
from orders.forms.fields import DayField, ReasonField
from orders.models import Item
from selection.models import Choice


class ChoiceField(forms.ModelChoiceField):
    """Frozen choices, each told by what distinguishes it from the others of its study."""

    def label_from_instance(self, obj: Choice) -> str:
        pump = obj.as_configuration()
        return (
            f"choice {obj.number}: {obj.size.name} {obj.impeller.name}, {pump.casing_metal} / "
            f"{pump.impeller_metal}, {pump.sealing}, {pump.discharge_flange}"
        )


class ChangeForm(ContractForm):
    """One change: whatever differs from what is there is wanted."""

    what = forms.CharField(
        max_length=300,
        label="The change in words",
        help_text="as the customer put it, with its reference",
    )
    choice = ChoiceField(
        Choice.objects.none(),
        required=False,
        label="Another frozen choice",
        help_text="for another seal, flange, metal or impeller: freeze it at the selection desk",
    )
    quantity = forms.IntegerField(min_value=1, max_value=50, required=False)
    promised_on = DayField(
        required=False, label="On site, as agreed anew", help_text="of the whole order"
    )
    shelf_casings = forms.CharField(
        required=False,
        label="Casings from the shelf",
        help_text="numbers of the units, such as 1, 3; empty when all are poured",
    )
    shelf_impellers = forms.CharField(
        required=False, label="Impellers from the shelf", help_text="numbers of the units"
    )

    OWN = ("what", "choice", "quantity", "promised_on", "shelf_casings", "shelf_impellers")
    field_order = OWN

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        assert item.route is not None
        shelf = {
            name: ", ".join(str(unit) for unit in item.route.terms.get(name, ()))
            for name in ("shelf_casings", "shelf_impellers")
        }
        kwargs["initial"] = {
            "choice": item.choice_id,
            "quantity": item.quantity,
            "promised_on": item.order.promised_on,
            **shelf,
            **(kwargs.get("initial") or {}),
        }
        kwargs["contract"] = Contract.from_data(item.order.contract)
        super().__init__(*args, **kwargs)
        choice = self.fields["choice"]
        assert isinstance(choice, forms.ModelChoiceField)
        choice.queryset = Choice.objects.filter(study=item.study_id, study__isnull=False)
        choice.queryset = choice.queryset.select_related("size", "impeller")
        if item.kind != Item.Kind.PUMP:
            del self.fields["choice"], self.fields["shelf_casings"]
        if item.kind == Item.Kind.SPARES_SHAFT:
            del self.fields["shelf_impellers"]

    def clean_shelf_casings(self) -> list[int]:
        return self._units("shelf_casings")

    def clean_shelf_impellers(self) -> list[int]:
        return self._units("shelf_impellers")

    def _units(self, name: str) -> list[int]:
        words = self.cleaned_data[name].replace(";", ",").split(",")
        try:
            return [int(word) for word in words if word.strip()]
        except ValueError as error:
            raise forms.ValidationError(
                "Give numbers of units with commas between, such as 1, 3."
            ) from error

    def wanted(self) -> dict[str, Any]:
        """What the deed takes; the form must be valid."""
        cleaned = self.cleaned_data
        choice = cleaned.get("choice")
        return {
            "what": cleaned["what"],
            "choice_id": choice.pk if choice else None,
            "quantity": cleaned["quantity"],
            "promised_on": cleaned["promised_on"],
            "contract": self.contract(),
            "shelf_casings": cleaned.get("shelf_casings"),
            "shelf_impellers": cleaned.get("shelf_impellers"),
        }

    @property
    def own_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.OWN if name in self.fields]

    @property
    def contract_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ContractForm.base_fields]

    @property
    def contract_is_wrong(self) -> bool:
        return any(name in self.errors for name in ContractForm.base_fields)


class RefuseForm(forms.Form):
    reason = ReasonField()
