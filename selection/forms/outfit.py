"""The set of metals, flanges and sealing for a candidate, and a reason for each warning."""

from collections.abc import Sequence
from typing import Any

from django import forms

from selection.configuration import Rotation, Sealing
from selection.materials.data import MaterialData
from selection.materials.metals import Part
from selection.materials.sealing import SealNeeds

PARTS = ("casing", "impeller", "ring", "shaft", "sleeve")


class OutfitForm(forms.Form):
    """What a person picks beside the hydraulics."""

    casing = forms.ChoiceField()
    impeller = forms.ChoiceField()
    ring = forms.ChoiceField(label="Wear rings")
    shaft = forms.ChoiceField()
    sleeve = forms.ChoiceField(label="Shaft sleeves")
    suction_flange = forms.ChoiceField(label="Suction flange")
    discharge_flange = forms.ChoiceField(label="Discharge flange")
    sealing = forms.ChoiceField(
        choices=[(kind.value, kind.value) for kind in Sealing], label="Shaft sealing"
    )
    flush_plan = forms.ChoiceField(label="Flush plan")
    unattended = forms.BooleanField(required=False, label="Runs unattended")
    leakage_allowed = forms.BooleanField(required=False, label="Gland drops may run to a drain")
    clean_flush_available = forms.BooleanField(required=False, label="Clean flush water at hand")
    rotation = forms.ChoiceField(
        choices=[(hand.value, hand.value) for hand in Rotation],
        label="Rotation seen from the drive end",
    )
    motor_special = forms.BooleanField(
        required=False, label="Special motor (long lead; its drawing comes first)"
    )

    def __init__(self, *args: Any, data_rows: MaterialData, plans: Sequence[str], **kwargs: Any):
        super().__init__(*args, **kwargs)
        for part in PARTS:
            metals = [metal for metal in data_rows.metals.values() if Part(part) in metal.parts]
            self._choices(part, [(metal.code, metal.name) for metal in metals])
        flanges = [(f"{form.standard} {form.rating}",) * 2 for form in data_rows.flanges.forms]
        self._choices("suction_flange", flanges)
        self._choices("discharge_flange", flanges)
        self._choices("flush_plan", [(plan, plan or "none") for plan in plans])

    def _choices(self, name: str, choices: Sequence[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def needs(self) -> SealNeeds:
        """What the site asks of the seal."""
        said = self.cleaned_data
        return SealNeeds(
            leakage_allowed=said["leakage_allowed"] or None,
            unattended=said["unattended"],
            clean_flush_available=said["clean_flush_available"],
        )
