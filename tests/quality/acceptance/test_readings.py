"""Readings become points of the pump; what is odd about them is said, nothing is dropped."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from quality.acceptance.errors import BadSetUp, MissingQuantity, NonPositiveSpeed
from quality.acceptance.readings import (
    Liquid,
    MotorCurve,
    Reading,
    SetUp,
    Tapping,
    points_of,
    total_head,
)
from quality.acceptance.remarks import Kind, Remark, Weight, look_over
from quality.acceptance.units import Unit

SUCTION = Tapping(height_m=-0.4, bore_m=0.30)
DISCHARGE = Tapping(height_m=0.6, bore_m=0.25)
BED = SetUp(
    density_kg_m3=998.2,
    suction=SUCTION,
    discharge=DISCHARGE,
    motor=MotorCurve(inputs_w=(20e3, 60e3, 120e3), efficiencies=(0.88, 0.93, 0.94)),
)
M3H = {
    "flow_m3s": Unit(symbol="m³/h", factor=1 / 3600),
    "shaft_power_w": Unit(symbol="kW", factor=1000),
}


def curve(flow_m3h: float) -> tuple[float, float]:
    """Head and shaft power of a plain pump."""
    share = flow_m3h / 540
    return 76 - 14 * share**2, 55e3 + 53e3 * share - 0.5e3 * share**2


def readings(count: int = 9, **changes: Any) -> list[Reading]:
    """A clean test, then single values changed: head_m={3: 99.0} changes reading 3."""
    made = []
    for number, flow in enumerate(np.linspace(0, 720, count), start=1):
        head, power = curve(float(flow))
        made.append(
            Reading(
                number=number,
                flow_m3s=float(flow) / 3600,
                speed_rpm=1487 - number,
                head_m=head,
                shaft_power_w=power,
                temperature_k=291.0,
                taken_at_s=600.0 * number,
            )
        )
    for field, values in changes.items():
        for number, value in values.items():
            changed: dict[str, Any] = {field: value}
            made[number - 1] = replace(made[number - 1], **changed)
    return made


def remarks(taken: list[Reading], units: dict[str, Unit] | None = None) -> tuple[Remark, ...]:
    return look_over(taken, BED, units or M3H)


def kinds(taken: list[Reading]) -> set[Kind]:
    return {remark.kind for remark in remarks(taken)}


def test_a_clean_test_gives_no_remark():
    assert remarks(readings()) == ()


@pytest.mark.parametrize("count", [5, 6, 7, 10, 13, 20])
def test_a_clean_test_of_any_length_gives_no_remark(count):
    assert remarks(readings(count)) == ()


def test_the_published_curve_gives_no_suspicion():
    # Hydraulic Institute engineering data tool, published pump curve (retrieved text).
    flows = [0, 22.7, 45.4, 68.1, 90.8, 113.6, 136.3, 159, 181.7, 204.4, 227.1, 249.8, 272.5]
    heads = [61, 60.7, 59.7, 58.5, 57.9, 56.7, 54.9, 53.3, 50.3, 47.2, 42.7, 38.1, 30.5]
    taken = [
        Reading(number=i, flow_m3s=q / 3600, head_m=h, speed_rpm=2950 - i)
        for i, (q, h) in enumerate(zip(flows, heads, strict=True), start=1)
    ]
    assert look_over(taken, BED) == ()


@pytest.mark.parametrize("seed", range(20))
def test_ordinary_scatter_of_one_per_cent_gives_no_suspicion(seed):
    noise = np.random.default_rng(seed).normal(0, 0.01, (13, 2))
    taken = [
        replace(r, head_m=r.head_m * (1 + a), shaft_power_w=r.shaft_power_w * (1 + b))
        for r, (a, b) in zip(readings(13), noise, strict=True)
    ]
    assert not {Kind.OFF_THE_CURVE, Kind.MISTYPED, Kind.SWAPPED} & kinds(taken)


@pytest.mark.parametrize("value", [math.nan, math.inf])
@pytest.mark.parametrize("field", ["flow_m3s", "head_m", "speed_rpm", "shaft_power_w"])
def test_a_value_that_is_no_number_stops_and_says_where(field, value):
    changes: dict[str, Any] = {field: {4: value}}
    found = remarks(readings(**changes))
    assert found[0].kind is Kind.NOT_A_NUMBER
    assert found[0].weight is Weight.STOPS
    assert found[0].readings == (4,)


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("flow_m3s", -0.01, "flow is -36 m³/h; it must be 0 m³/h or more"),
        ("speed_rpm", 0.0, "speed is 0 rev/min; it must be above 0 rev/min"),
        ("head_m", 0.0, "head is 0 m; it must be above 0 m"),
        ("shaft_power_w", -5e3, "shaft power is -5 kW; it must be above 0 kW"),
        ("temperature_k", 18.0, "degrees Celsius"),
    ],
)
def test_zero_and_negative_values_stop_with_what_would_be_right(field, value, says):
    changes: dict[str, Any] = {field: {3: value}}
    (found,) = [r for r in remarks(readings(**changes)) if r.weight is Weight.STOPS]
    assert says in found.sentence
    assert found.quantity == field


def test_a_reading_without_head_stops():
    found = remarks(readings(head_m={2: None}))
    assert found[0].kind is Kind.MISSING
    assert "both gauge pressures" in found[0].sentence


def test_an_efficiency_above_one_is_impossible():
    found = remarks(readings(shaft_power_w={7: 9e3}))
    assert found[0].kind is Kind.IMPOSSIBLE
    assert found[0].readings == (7,)


def test_a_line_typed_twice_is_asked_about():
    taken = readings()
    taken.insert(4, replace(taken[3], number=20, taken_at_s=2450.0))
    (found,) = [r for r in remarks(taken) if r.kind is Kind.REPEATED]
    assert found.readings == (4, 20)
    assert found.weight is Weight.ASKS


def test_two_lines_of_one_number_stop():
    taken = readings()
    taken[5] = replace(taken[5], number=5)
    assert any(r.weight is Weight.STOPS and r.kind is Kind.REPEATED for r in remarks(taken))


def test_readings_out_of_order_are_said_and_kept():
    taken = readings()
    taken[2], taken[6] = taken[6], taken[2]
    found = remarks(taken)
    assert {r.kind for r in found} == {Kind.UNSORTED}
    assert any("earlier time" in r.sentence for r in found)


def test_a_test_taken_from_run_out_down_is_in_order():
    taken = [replace(r, taken_at_s=None) for r in reversed(readings())]
    assert remarks(taken) == ()


def test_heads_from_gauges_and_heads_as_shown_are_mixed():
    found = remarks(readings(suction_pa={2: 1e4}, discharge_pa={2: 7.3e5}))
    assert any("head in readings 1, 2" in r.sentence for r in found if r.kind is Kind.MIXED)


def test_powers_missing_in_some_readings_are_said():
    found = list(remarks(readings(shaft_power_w={3: None, 4: None})))
    assert [r.readings for r in found if r.kind is Kind.MIXED] == [(3, 4)]


def test_a_stuck_head_is_noticed_while_the_flow_moves():
    (found,) = [
        r for r in remarks(readings(13, head_m={5: 70.0, 6: 70.0, 7: 70.0})) if r.kind is Kind.STUCK
    ]
    assert found.readings == (5, 6, 7)
    assert found.quantity == "head_m"


def test_a_stuck_flow_meter_is_noticed_while_the_head_moves():
    flow = 300 / 3600
    found = remarks(readings(flow_m3s={4: flow, 5: flow, 6: flow}))
    assert any(r.kind is Kind.STUCK and r.quantity == "flow_m3s" for r in found)


def test_three_readings_at_one_setting_of_the_valve_are_not_stuck():
    taken = [replace(readings()[4], number=i, taken_at_s=None) for i in range(1, 4)]
    assert Kind.STUCK not in kinds(taken)


def test_a_speed_that_never_moves_is_told():
    found = remarks([replace(r, speed_rpm=1480.0) for r in readings()])
    assert [(r.kind, r.weight) for r in found] == [(Kind.STUCK, Weight.TELLS)]


def test_swapped_gauges_are_noticed():
    taken = [
        replace(r, head_m=None, suction_pa=2e4, discharge_pa=2e4 + 9789 * (r.head_m or 0))
        for r in readings()
    ]
    taken[3] = replace(taken[3], suction_pa=taken[3].discharge_pa, discharge_pa=2e4)
    found = remarks(taken)
    assert {r.kind for r in found} >= {Kind.SWAPPED, Kind.IMPOSSIBLE}
    assert "swapped" in found[0].sentence


def test_a_decimal_mark_in_the_wrong_place_is_explained():
    head, _ = curve(360)
    (found,) = remarks(readings(head_m={5: head / 10}))
    assert found.kind is Kind.MISTYPED
    assert f"was {head:.6g} m meant (decimal mark one place too far left)?" in found.sentence


def test_two_digits_exchanged_are_explained():
    # 69.8 typed as 96.8.
    impossible, found = remarks(readings(head_m={5: 96.8}))
    assert impossible.kind is Kind.IMPOSSIBLE
    assert found.kind is Kind.MISTYPED
    assert "was 69.8 m meant (two digits exchanged)?" in found.sentence


def test_two_heads_exchanged_are_explained():
    taken = readings()
    third, eighth = taken[2].head_m, taken[7].head_m
    found = remarks(readings(head_m={3: eighth, 8: third}))[-1]
    assert found.kind is Kind.SWAPPED
    assert set(found.readings) == {3, 8}


def test_a_power_off_the_curve_is_asked_about_without_an_explanation():
    _, power = curve(450)
    (found,) = remarks(readings(shaft_power_w={6: power * 1.37}))
    assert found.kind is Kind.OFF_THE_CURVE
    assert found.readings == (6,)
    assert found.weight is Weight.ASKS


def test_a_speed_difference_alone_is_not_suspicious():
    taken = [
        replace(
            r,
            speed_rpm=r.speed_rpm * f,
            flow_m3s=r.flow_m3s * f,
            head_m=r.head_m * f**2,
            shaft_power_w=r.shaft_power_w * f**3,
        )
        for r, f in zip(readings(), np.linspace(0.9, 1.1, 9).tolist(), strict=True)
    ]
    assert remarks(taken) == ()


def test_total_head_takes_in_height_and_velocity_at_each_tapping():
    # H = (p2−p1)/ρg + (z2−z1) + (v2²−v1²)/2g; Hydraulic Institute engineering data 1.A.3–1.A.6.
    flow, density = 0.15, 998.2
    v1, v2 = flow / (math.pi / 4 * 0.30**2), flow / (math.pi / 4 * 0.25**2)
    by_hand = 5.5e5 / (density * 9.80665) + 1.0 + (v2**2 - v1**2) / (2 * 9.80665)
    head = total_head(
        suction_pa=0.5e5,
        discharge_pa=6.0e5,
        flow_m3s=flow,
        suction=SUCTION,
        discharge=DISCHARGE,
        density_kg_m3=density,
    )
    assert head == pytest.approx(by_hand, rel=1e-12)
    assert head - 5.5e5 / (density * 9.80665) - 1 == pytest.approx(0.2465, abs=1e-4)


def test_power_comes_from_torque_or_from_the_motors_efficiency():
    torque = Reading(number=1, flow_m3s=0.1, speed_rpm=1480, head_m=70, torque_nm=600.0)
    electric = Reading(number=2, flow_m3s=0.1, speed_rpm=1480, head_m=70, electric_power_w=90e3)
    by_torque, by_motor = points_of([torque, electric], BED)
    assert by_torque.shaft_power_w == pytest.approx(600 * 2 * math.pi * 1480 / 60)
    assert by_motor.shaft_power_w == pytest.approx(90e3 * 0.935)


def test_a_motor_is_never_extrapolated():
    beyond = Reading(number=1, flow_m3s=0.1, speed_rpm=1480, head_m=70, electric_power_w=130e3)
    with pytest.raises(BadSetUp, match="20000 to 120000 W"):
        points_of([beyond], BED)
    assert any(r.kind is Kind.OUT_OF_BOUNDS and r.weight is Weight.STOPS for r in remarks([beyond]))


def test_electric_power_without_the_motor_is_refused():
    taken = Reading(number=1, flow_m3s=0.1, speed_rpm=1480, head_m=70, electric_power_w=90e3)
    with pytest.raises(MissingQuantity, match="motor's efficiency"):
        points_of([taken], SetUp(density_kg_m3=998.2))


def test_density_follows_the_temperature_of_each_reading():
    water = Liquid(
        name="water",
        temperatures_k=(283.15, 293.15, 303.15),
        densities_kg_m3=(999.70, 998.21, 995.65),
        vapour_pressures_pa=(1228.2, 2339.2, 4246.7),
    )
    bed = replace(BED, liquid=water)
    (point,) = points_of([replace(readings()[3], temperature_k=298.15)], bed)
    assert point.density_kg_m3 == pytest.approx((998.21 + 995.65) / 2)
    # The logarithm is interpolated: IAPWS-IF97 gives 3169.7 Pa at 25 °C.
    assert water.vapour_pressure(298.15) == pytest.approx(3169.7, rel=0.006)
    with pytest.raises(BadSetUp, match="within the table"):
        water.density(310.0)


def test_a_speed_of_nothing_is_refused():
    with pytest.raises(NonPositiveSpeed, match="Reading 3"):
        points_of(readings(speed_rpm={3: 0.0}), BED)


@pytest.mark.parametrize("bore", [0.0, -0.2, math.nan])
def test_a_bore_of_nothing_is_refused(bore):
    with pytest.raises(BadSetUp, match="bore at the tapping"):
        Tapping(height_m=0.0, bore_m=bore)


@pytest.mark.parametrize(
    "changes", [{"density_kg_m3": 0.0}, {"drive_efficiency": 1.2}, {"barometer_pa": -1.0}]
)
def test_a_set_up_that_cannot_be_is_refused(changes):
    with pytest.raises(BadSetUp):
        replace(BED, **changes)


def test_a_motor_curve_out_of_order_is_refused():
    with pytest.raises(BadSetUp, match="above 60000 W"):
        MotorCurve(inputs_w=(60e3, 20e3), efficiencies=(0.9, 0.9))
