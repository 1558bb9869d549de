"""The set of metals, flanges and sealing for a candidate, and a reason for each warning."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from selection.configuration import Flange, Rotation, Sealing
from selection.materials.choice import MaterialChoice
from selection.materials.data import MaterialData
from selection.materials.metals import Part
from selection.materials.sealing import SealNeeds

WITH = {Sealing.PACKING: "gland packing", Sealing.MECHANICAL_SEAL: "a mechanical seal"}
LEAKAGE = {"": None, "yes": True, "no": False}
PARTS = ("casing", "impeller", "ring", "shaft", "sleeve")


class OutfitForm(forms.Form):
    """What a person picks beside the hydraulics."""

    casing = forms.ChoiceField(label="Casing")
    impeller = forms.ChoiceField(label="Impeller")
    ring = forms.ChoiceField(label="Wear rings")
    shaft = forms.ChoiceField(label="Shaft")
    sleeve = forms.ChoiceField(label="Shaft sleeves")
    suction_flange = forms.ChoiceField(label="Suction flange")
    discharge_flange = forms.ChoiceField(label="Discharge flange")
    sealing = forms.ChoiceField(
        choices=[(kind.value, kind.value) for kind in Sealing], label="Shaft sealing"
    )
    flush_plan = forms.ChoiceField(label="Flush plan")
    leakage = forms.ChoiceField(
        choices=(
            ("", "not stated"),
            ("yes", "may drip to a drain"),
            ("no", "must not drip"),
        ),
        required=False,
        label="Gland leakage",
    )
    unattended = forms.BooleanField(required=False, label="Runs unattended")
    clean_flush_available = forms.BooleanField(required=False, label="Clean flush water at hand")
    rotation = forms.ChoiceField(
        choices=[(hand.value, hand.value) for hand in Rotation],
        initial=Rotation.CLOCKWISE,
        label="Rotation seen from the drive end",
    )
    motor_special = forms.BooleanField(
        required=False, label="Special motor: long lead, its drawing comes first"
    )

    def __init__(
        self,
        *args: Any,
        data_rows: MaterialData,
        plans: Mapping[Sealing, Sequence[str]],
        **kwargs: Any,
    ) -> None:
        self.plans = plans
        super().__init__(*args, **kwargs)
        for part in PARTS:
            metals = [metal for metal in data_rows.metals.values() if Part(part) in metal.parts]
            self._choices(part, [(metal.code, metal.name) for metal in metals])
        flanges = [(f"{form.standard} {form.rating}",) * 2 for form in data_rows.flanges.forms]
        self._choices("suction_flange", flanges)
        self._choices("discharge_flange", flanges)
        self._choices(
            "flush_plan",
            [(WITH[sealing], [(plan, plan) for plan in group]) for sealing, group in plans.items()],
        )

    def _choices(self, name: str, choices: Sequence[tuple[str, Any]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        plan = said.get("flush_plan")
        sealing = Sealing(said["sealing"]) if said.get("sealing") else None
        if sealing and plan and plan not in self.plans[sealing]:
            self.add_error(
                "flush_plan",
                f"With {WITH[sealing]}, pick one of: {', '.join(self.plans[sealing])}.",
            )
        return said

    def offer(self, choice: MaterialChoice) -> None:
        """Show a set until a person picks another."""
        self.initial.update({part: getattr(choice, part) for part in PARTS})
        self.initial.update(
            suction_flange=_words(choice.suction_flange),
            discharge_flange=_words(choice.discharge_flange),
            sealing=choice.sealing,
            flush_plan=choice.flush_plan,
        )

    def needs(self) -> SealNeeds:
        """What the site asks of the seal."""
        said = self.cleaned_data
        return SealNeeds(
            leakage_allowed=LEAKAGE[said["leakage"]],
            unattended=said["unattended"],
            clean_flush_available=said["clean_flush_available"],
        )


def _words(flange: Flange) -> str:
    return f"{flange.standard} {flange.rating}"
