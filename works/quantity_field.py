"""A form field for a quantity: a figure, a unit beside it, SI out.

What was typed stays in the form when it is refused. The chosen unit is the person's own words,
so it stays as well: `form["flow"].data` is `["250", "m3h"]`.
"""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from works import units
from works.units import Kind


class QuantityWidget(forms.MultiWidget):
    """Text with a decimal keyboard and, where there is a choice, the units beside it."""

    use_fieldset = False

    def __init__(self, kind: Kind, unit: str, attrs: dict[str, Any] | None = None) -> None:
        self.kind = kind
        self.unit = unit
        choices = [(each.key, each.label) for each in units.units(kind)]
        figure = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(
            widgets={"": figure, "unit": forms.Select(choices=choices)},
            attrs=attrs,
        )

    def decompress(self, value: Any) -> list[Any]:
        if value is None or value == "":
            return ["", self.unit]
        return [units.entry_text(float(value), self.kind, self.unit), self.unit]

    def id_for_label(self, id_: str, index: str | None = None) -> str:
        return f"{id_}_0" if id_ else id_

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        _, choice = context["widget"]["subwidgets"]
        choice["attrs"].pop("aria-describedby", None)
        choice["attrs"].pop("aria-invalid", None)
        choice["attrs"]["aria-label"] = f"Unit of {self.kind}"
        return context

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[Any]:
        figure, unit = super().value_from_datadict(data, files, name)
        return [figure, self.unit if unit is None else unit]


class QuantityField(forms.Field):
    """A quantity in SI, entered in the unit of the person's choice.

    kind : what is asked for
    unit : key of the unit offered first; left out, the kind's usual one
    minimum, maximum : bounds that are still allowed, in SI of the kind
    above : bound that is not allowed any more, in SI of the kind (a head must be above 0)
    """

    def __init__(
        self,
        *,
        kind: Kind,
        unit: str | None = None,
        minimum: float | None = None,
        maximum: float | None = None,
        above: float | None = None,
        **options: Any,
    ) -> None:
        self.kind = kind
        self.minimum, self.maximum, self.above = minimum, maximum, above
        self.unit = unit or units.units(kind)[0].key
        options.setdefault("widget", QuantityWidget(kind, self.unit))
        super().__init__(**options)

    def clean(self, value: Any) -> float | None:
        figure, key = value or ["", self.unit]
        figure = (figure or "").strip()
        if not figure:
            if self.required:
                raise ValidationError(f"Give the {self.kind}.", code="required")
            return None
        try:
            si = units.parse(figure, self.kind, key)
        except units.QuantityRefused as refusal:
            raise ValidationError(str(refusal), code="refused") from refusal
        self._check_bounds(si, key)
        return si

    def _check_bounds(self, si: float, key: str) -> None:
        def say(bound: float) -> str:
            label = units.unit(self.kind, key).label
            return f"{units.entry_text(bound, self.kind, key)} {label}"

        if self.above is not None and not si > self.above:
            raise ValidationError(f"It must be more than {say(self.above)}.", code="bounds")
        if self.minimum is not None and si < self.minimum:
            raise ValidationError(f"It must be {say(self.minimum)} or more.", code="bounds")
        if self.maximum is not None and si > self.maximum:
            raise ValidationError(f"It must be {say(self.maximum)} or less.", code="bounds")

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare what was shown with what came back, so that rounding is no change."""
        if self.disabled:
            return False
        shown: list[str] = self.widget.decompress(initial)
        came_back = [str(part or "").strip() for part in data or ["", self.unit]]
        return came_back != shown
