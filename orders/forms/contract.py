"""The contract's terms as fields, for an enquiry and for a change of the contract."""

from dataclasses import fields
from typing import Any

from django import forms

from orders.contract import Contract

GRADES = tuple((grade, grade) for grade in ("1U", "1E", "1B", "2B", "2U", "3B"))


class ContractForm(forms.Form):
    """One field a term; the defaults are the house's usual terms."""

    approval_rounds = forms.IntegerField(
        label="Rounds of approval of the arrangement", min_value=0, max_value=9
    )
    approval_days = forms.IntegerField(
        label="Calendar days for each round", min_value=0, max_value=120
    )
    approves_inspection_plan = forms.BooleanField(
        label="The customer approves the inspection plan before the foundry starts", required=False
    )
    customer_inspects = forms.BooleanField(
        label="The customer inspects at the works", required=False
    )
    third_party_inspects = forms.BooleanField(
        label="A third party inspects at the works", required=False
    )
    witnessed_pressure_test = forms.BooleanField(
        label="The customer is invited to the pressure test", required=False
    )
    witnessed_performance_test = forms.BooleanField(
        label="The customer is invited to the performance test", required=False
    )
    witness_is_hold = forms.BooleanField(
        label="A witnessed test is a hold: no witness, no test", required=False
    )
    notice_days = forms.IntegerField(
        label="Notice before a visit, in working days", min_value=0, max_value=60
    )
    grade = forms.ChoiceField(label="Acceptance grade of ISO 9906", choices=GRADES)
    edition = forms.ChoiceField(label="Edition", choices=[("2012", "2012")])
    guarantee = forms.ChoiceField(
        label="Guaranteed beside flow and head",
        choices=[("efficiency", "efficiency"), ("power", "shaft power")],
    )
    hydrostatic_minutes = forms.IntegerField(
        label="Hydrostatic test held for, in minutes", min_value=1, max_value=1440
    )
    bare_until_pressure_test = forms.BooleanField(
        label="Pressure surfaces stay bare until the pressure test is accepted", required=False
    )
    crack_test_called_for = forms.BooleanField(
        label="Penetrant test of the impeller, whatever the head", required=False
    )
    critical_castings = forms.BooleanField(
        label="The customer calls the pressure castings critical", required=False
    )
    npsh_test = forms.BooleanField(label="NPSH test", required=False)
    noise_test = forms.BooleanField(label="Noise measured", required=False)
    strip_inspection = forms.BooleanField(label="Strip inspection after the test", required=False)
    test_on_works_motor = forms.BooleanField(
        label="The works' own motor may drive the test", required=False
    )
    motor_to_works = forms.BooleanField(
        label="The motor comes to the works; else straight to site", required=False
    )
    data_book = forms.BooleanField(label="A data book is handed over", required=False)

    def __init__(self, *args: Any, contract: Contract | None = None, **kwargs: Any) -> None:
        kwargs["initial"] = (contract or Contract()).as_data() | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)

    def contract(self) -> Contract:
        """The terms as entered; the form must be valid."""
        return Contract(**{field.name: self.cleaned_data[field.name] for field in fields(Contract)})

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        witnessed = cleaned.get("witnessed_pressure_test") or cleaned.get(
            "witnessed_performance_test"
        )
        if cleaned.get("witness_is_hold") and not (
            witnessed or cleaned.get("third_party_inspects")
        ):
            self.add_error(
                "witness_is_hold", "No test is witnessed: tick one, or leave this unticked."
            )
        return cleaned
