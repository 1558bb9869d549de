"""The form field for quantities."""

import pytest
from django import forms

from works.quantity_field import QuantityField
from works.units import Kind


class Duty(forms.Form):
    flow = QuantityField(kind=Kind.FLOW, above=0)
    head = QuantityField(kind=Kind.HEAD, required=False, maximum=300.0)


def duty(**data: str) -> Duty:
    return Duty({"flow": "250", "flow_unit": "m3h", "head": "", "head_unit": "m"} | data)


def test_a_quantity_is_cleaned_to_si() -> None:
    form = duty(flow="70,5", flow_unit="ls")
    assert form.is_valid()
    assert form.cleaned_data["flow"] == pytest.approx(0.0705)
    assert form.cleaned_data["head"] is None


def test_what_was_typed_and_the_unit_stay_when_refused() -> None:
    form = duty(flow="1.000", flow_unit="usgpm")
    assert not form.is_valid()
    html = str(form["flow"])
    assert 'value="1.000"' in html
    assert '<option value="usgpm" selected>' in html
    assert 'aria-invalid="true"' in html
    assert "two ways" in form.errors["flow"][0]


def test_a_unit_left_out_is_the_usual_one() -> None:
    form = Duty({"flow": "3600"})
    assert form.is_valid()
    assert form.cleaned_data["flow"] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("data", "field", "sentence"),
    [
        ({"flow": ""}, "flow", "Give the flow."),
        ({"flow": "0"}, "flow", "It must be more than 0 m³/h."),
        ({"head": "1000", "head_unit": "ft"}, "head", "It must be 984.2520 ft or less."),
        (
            {"flow_unit": "acre"},
            "flow",
            "“acre” is no unit of flow known here. Use one of m³/h, L/s, m³/s, L/min, US gpm, "
            "imp. gpm.",
        ),
    ],
)
def test_a_refusal_says_what_would_be_right(
    data: dict[str, str], field: str, sentence: str
) -> None:
    form = duty(**data)
    assert not form.is_valid()
    assert form.errors[field] == [sentence]


def test_a_stored_value_is_shown_in_the_field_and_is_no_change_when_sent_back() -> None:
    start = {"flow": 250 / 3600, "head": 45.7205}
    form = Duty(
        {"flow": "250", "flow_unit": "m3h", "head": "45.7205", "head_unit": "m"}, initial=start
    )
    assert 'value="250"' in str(Duty(initial=start)["flow"])
    assert form.changed_data == []
    again = Duty({"flow": "250", "flow_unit": "ls", "head": "45", "head_unit": "m"}, initial=start)
    assert again.changed_data == ["flow", "head"]


def test_the_label_leads_to_the_figure_and_the_unit_has_a_name() -> None:
    form = duty()
    assert form["flow"].id_for_label == "id_flow_0"
    html = str(form["flow"])
    assert 'inputmode="decimal"' in html
    assert 'aria-label="Unit of flow"' in html
