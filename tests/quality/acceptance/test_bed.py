"""The rest of the bed: steadiness, NPSH, vibration, noise, bearings, what to take next, pasting."""

import math
from dataclasses import replace

import numpy as np
import pytest

from quality.acceptance.bearings import BearingReading, judge_bearing
from quality.acceptance.bed_standards import (
    bearing_limits,
    fluctuation_limits,
    noise_rules,
    npsh_tolerance,
    vibration_limits,
)
from quality.acceptance.errors import (
    BadTestRecord,
    CurveTooShort,
    MixedDecimalMarks,
    NoReadings,
    NoSuchRow,
    NotANumber,
    TooFewMeasurements,
)
from quality.acceptance.evidence import Certainty, Outcome
from quality.acceptance.next_point import next_reading
from quality.acceptance.noise import (
    background_correction,
    box_surface,
    energy_mean,
    judge_noise,
)
from quality.acceptance.npsh import NpshPoint, judge_npsh, npsh_available
from quality.acceptance.pasted import read_pasted
from quality.acceptance.performance import judge
from quality.acceptance.propagation import Measuring, Spread, deviation_uncertainty, sources_of
from quality.acceptance.standards import house_tables
from quality.acceptance.steadiness import Samples, judge_steadiness, swing_of
from quality.acceptance.verdicts import Settings
from quality.acceptance.vibration import Category, Region, judge_vibration
from tests.quality.acceptance.builders import grade, guarantee, limits
from tests.quality.acceptance.generated import pump, readings
from tests.quality.acceptance.test_generated import SHARES, promise

TABLES = house_tables()

# --- steadiness -------------------------------------------------------------------------------


def test_a_swing_beyond_the_class_is_not_steady():
    # ISO 9906:2012: flow ±3 % in grade 1, ±6 % in grades 2 and 3 (from memory).
    swinging = Samples(reading=3, quantity="flow", values=(100.0, 104.5, 95.5, 100.0))
    assert swing_of(swinging, fluctuation_limits(TABLES, "2")).outcome is Outcome.PASSED
    fine = judge_steadiness([swinging], fluctuation_limits(TABLES, "1"))
    assert fine.outcome is Outcome.FAILED
    assert "±4.5 %; ±3 % is allowed; wait until it is steady" in fine.swings[0].sentence


def test_the_random_uncertainty_of_a_mean_is_students():
    found = swing_of(Samples(reading=1, quantity="head", values=(50.0, 50.2, 49.8)), ())
    # t(0.975; 2) = 4.3027, s = 0.2, n = 3.
    assert found.random_share == pytest.approx(4.3027 * 0.2 / math.sqrt(3) / 50, rel=1e-4)
    assert found.limit is None
    assert found.outcome is Outcome.PASSED


def test_two_values_do_not_show_a_swing():
    with pytest.raises(TooFewMeasurements, match="at least 3 values; there are 2"):
        swing_of(Samples(reading=1, quantity="head", values=(50.0, 50.2)), ())
    with pytest.raises(NotANumber, match="finite"):
        swing_of(Samples(reading=1, quantity="head", values=(50.0, math.nan, 50.0)), ())


# --- NPSH -------------------------------------------------------------------------------------

TOLERANCE = npsh_tolerance(TABLES, "2")


def npsh_points(knee, noise=0.0, seed=0, lowest=2.0):
    """Head 200 until cavitation, which has taken 3 % of it at `knee`."""
    rng = np.random.default_rng(seed)
    made = []
    for number, npsh in enumerate(np.linspace(10, lowest, 15), start=1):
        drop = 0.03 * math.exp(-(npsh - knee) / 0.3)
        head = 200 * (1 - min(drop, 0.6)) * (1 + rng.normal(0, noise))
        made.append(NpshPoint(number=number, npsh_m=float(npsh), head_m=head))
    return made


def test_the_handbook_illustration_comes_out():
    # 200 ft falls to 194 ft: the NPSH there is NPSH3 (Hydraulic Institute engineering data).
    points = [
        NpshPoint(number=i, npsh_m=npsh, head_m=head)
        for i, (npsh, head) in enumerate(
            [(9, 200), (8, 200), (7, 200), (6, 199), (5, 194), (4.5, 180)], start=1
        )
    ]
    verdict = judge_npsh(points, guaranteed_m=5.0, tolerance=TOLERANCE)
    assert verdict.npsh3_m == pytest.approx(5.0)
    assert verdict.outcome is Outcome.PASSED
    assert verdict.head_m == 200


@pytest.mark.parametrize("knee", [3.1, 4.0, 5.7])
def test_a_known_drop_is_found(knee):
    verdict = judge_npsh(npsh_points(knee), guaranteed_m=knee, tolerance=TOLERANCE)
    assert verdict.npsh3_m == pytest.approx(knee, abs=0.08)
    assert verdict.outcome is Outcome.PASSED


def test_the_tolerance_is_the_larger_of_share_and_metres():
    # Grade 2: 6 % or 0.30 m (from memory).
    assert TOLERANCE.allowed(4.0) == pytest.approx(4.3)
    assert TOLERANCE.allowed(8.0) == pytest.approx(8.48)
    assert judge_npsh(npsh_points(4.2), guaranteed_m=4.0, tolerance=TOLERANCE).outcome is (
        Outcome.PASSED
    )
    bad = judge_npsh(npsh_points(4.5), guaranteed_m=4.0, tolerance=TOLERANCE)
    assert bad.outcome is Outcome.FAILED
    assert "beyond" in bad.reasons[0]


def test_a_drop_never_reached_proves_the_guarantee_only_if_it_went_low_enough():
    low = judge_npsh(npsh_points(1.5, lowest=3.0), guaranteed_m=3.5, tolerance=TOLERANCE)
    assert (low.outcome, low.npsh3_m, low.below_m) == (Outcome.PASSED, None, 3.0)
    high = judge_npsh(npsh_points(1.5, lowest=5.0), guaranteed_m=3.5, tolerance=TOLERANCE)
    assert high.outcome is Outcome.NOT_JUDGED
    assert "Take readings down to 3.80 m" in high.reasons[1]


def test_a_head_that_still_rises_has_no_plateau():
    points = [NpshPoint(number=i, npsh_m=i, head_m=100 + 5 * i) for i in range(1, 7)]
    verdict = judge_npsh(points, guaranteed_m=3.0, tolerance=TOLERANCE)
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "take readings at more suction head" in verdict.reasons[0]


def test_npsh_without_a_guarantee_is_reported_and_not_judged():
    verdict = judge_npsh(npsh_points(4.0), guaranteed_m=None, tolerance=TOLERANCE)
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert verdict.npsh3_m is not None


def test_too_few_or_absurd_npsh_readings_are_refused():
    with pytest.raises(CurveTooShort, match="there are 2"):
        judge_npsh(npsh_points(4.0)[:2], guaranteed_m=4.0, tolerance=TOLERANCE)
    points = npsh_points(4.0)
    points[3] = replace(points[3], npsh_m=-1.0)
    with pytest.raises(NotANumber, match="NPSH of reading 4"):
        judge_npsh(points, guaranteed_m=4.0, tolerance=TOLERANCE)


def test_npsh_available_from_a_suction_gauge_agrees_with_a_published_sum():
    # +2.4 psi gauge 1 ft above the centreline, 10 ft/s, 14.7 and 0.339 psi: 41.27 ft (published
    # pump handbook, which counts 2.31 ft to the psi).
    psi, foot = 6894.757, 0.3048
    density = psi / (2.31 * foot * 9.80665)
    found = npsh_available(
        suction_pa=2.4 * psi,
        barometer_pa=14.7 * psi,
        vapour_pressure_pa=0.339 * psi,
        density_kg_m3=density,
        gauge_height_m=1 * foot,
        velocity_head_m=100 / 64.34 * foot,
    )
    assert found / foot == pytest.approx(41.27, abs=0.005)


# --- vibration --------------------------------------------------------------------------------

VIBRATION = vibration_limits(TABLES)


def vibration(
    velocity, *, power_w=132e3, category=Category.GENERAL, region=Region.PREFERRED, **more
):
    return judge_vibration(
        {"drive end, horizontal": velocity, "outer end, vertical": 1.0},
        VIBRATION,
        category=category,
        power_w=power_w,
        region=region,
        **more,
    )


@pytest.mark.parametrize(
    ("velocity", "zone", "outcome"),
    [
        (2.0, "A", Outcome.PASSED),
        (3.2, "A", Outcome.PASSED),
        (4.0, "B", Outcome.PASSED),
        (4.3, "B", Outcome.FAILED),
        (6.0, "C", Outcome.FAILED),
        (8.6, "D", Outcome.FAILED),
    ],
)
def test_zone_and_factory_limit_follow_the_table(velocity, zone, outcome):
    # ISO 10816-7:2009, Table A.1, category II up to 200 kW (from memory).
    verdict = vibration(velocity)
    assert verdict.zone == zone
    assert verdict.record.outcome is outcome


def test_category_power_and_region_change_the_limit():
    assert vibration(4.3, power_w=250e3).record.outcome is Outcome.PASSED
    assert vibration(4.3, region=Region.ALLOWABLE).record.outcome is Outcome.PASSED
    assert vibration(3.4, category=Category.HIGH).record.outcome is Outcome.FAILED


def test_the_worst_position_is_named():
    assert vibration(3.0).worst == "drive end, horizontal"
    assert vibration(0.5).worst == "outer end, vertical"


@pytest.mark.parametrize("velocity", [-1.0, math.nan])
def test_absurd_vibration_is_refused(velocity):
    with pytest.raises(BadTestRecord, match="cannot be"):
        vibration(velocity)


def test_vibration_without_positions_or_power_is_refused():
    with pytest.raises(BadTestRecord, match="no position"):
        judge_vibration({}, VIBRATION, category=Category.HIGH, power_w=1e5, region=Region.PREFERRED)
    with pytest.raises(NoSuchRow, match="0 W"):
        vibration(1.0, power_w=0.0)


# --- noise ------------------------------------------------------------------------------------

RULES = noise_rules(TABLES)


def test_levels_are_averaged_by_energy():
    # Two equal levels stay; 80 and 90 dB make 87.4 dB.
    assert energy_mean([85.0, 85.0]) == pytest.approx(85.0)
    assert energy_mean([80.0, 90.0]) == pytest.approx(10 * math.log10((1e8 + 1e9) / 2))


@pytest.mark.parametrize(
    ("difference", "correction"),
    [(6, 1.26), (7, 0.97), (8, 0.75), (9, 0.58), (10, 0.46), (12, 0.28), (15, 0.14), (16, 0.0)],
)
def test_the_background_correction_is_that_of_the_standard(difference, correction):
    # ISO 3744: K1 = −10 lg(1 − 10^(−0.1 ΔL)), nothing above 15 dB (formula from memory).
    found, bound = background_correction(difference, RULES)
    assert found == pytest.approx(correction, abs=0.006)
    assert not bound


def test_a_loud_background_makes_an_upper_bound():
    result = judge_noise(
        [80.0], [77.0], surface_m2=20, room_db=0.0, rules=RULES, guaranteed_db=85.0
    )
    assert result.upper_bound
    assert result.background_db == pytest.approx(1.26, abs=0.006)
    assert any("upper bound" in reason for reason in result.reasons)


def test_pressure_and_power_are_stated_and_judged():
    surface = box_surface(1.2, 0.8, 1.0, 1.0)
    assert surface == pytest.approx(4 * (1.6 * 1.4 + 1.4 * 2.0 + 2.0 * 1.6))
    result = judge_noise(
        [84.0, 86.0, 85.0],
        [72.0],
        surface_m2=surface,
        room_db=1.0,
        rules=RULES,
        guaranteed_db=85.0,
    )
    measured = energy_mean([84, 86, 85])
    background = -10 * math.log10(1 - 10 ** (-(measured - 72) / 10))
    assert result.pressure_db == pytest.approx(measured - background - 1.0)
    assert result.power_db == pytest.approx(result.pressure_db + 10 * math.log10(surface))
    assert result.decision is not None
    assert result.decision.outcome is Outcome.PASSED
    assert result.rows[-1].certainty is Certainty.CONTRACT


def test_noise_records_that_contradict_themselves_are_refused():
    with pytest.raises(BadTestRecord, match="no position"):
        judge_noise([], [70.0], surface_m2=20, room_db=0, rules=RULES)
    with pytest.raises(BadTestRecord, match="3 positions have 2 background levels"):
        judge_noise([80, 81, 82], [70, 71], surface_m2=20, room_db=0, rules=RULES)
    with pytest.raises(NotANumber, match="measuring surface"):
        judge_noise([80.0], [70.0], surface_m2=0, room_db=0, rules=RULES)


# --- bearings ---------------------------------------------------------------------------------

BEARINGS = bearing_limits(TABLES)


def warming(final_rise, hours, tau=0.4, ambient=293.15):
    return [
        BearingReading(
            at_s=600.0 * i,
            bearing_k=ambient + final_rise * (1 - math.exp(-600 * i / 3600 / tau)),
            ambient_k=ambient,
        )
        for i in range(int(hours * 6) + 1)
    ]


def test_a_bearing_is_judged_once_it_is_steady():
    early = judge_bearing("drive-end bearing", warming(30, 1.0), BEARINGS)
    assert early.outcome is Outcome.NOT_JUDGED
    assert "go on" in early.reasons[0]
    late = judge_bearing("drive-end bearing", warming(30, 3.0), BEARINGS)
    assert late.outcome is Outcome.PASSED
    assert late.steady
    assert late.rise_k == pytest.approx(30, abs=0.1)


def test_a_bearing_too_hot_fails_without_waiting():
    hot = judge_bearing("drive-end bearing", warming(55, 1.0), BEARINGS)
    assert hot.outcome is Outcome.FAILED
    assert "40 K are allowed" in hot.reasons[0]
    warm_day = judge_bearing("bearing", warming(38, 3.0, ambient=320.0), BEARINGS)
    assert "82 °C are allowed" in warm_day.reasons[0]


def test_a_short_run_is_not_judged():
    verdict = judge_bearing("bearing", warming(2, 0.34), BEARINGS)
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "half an hour" in verdict.reasons[0]


def test_bearing_readings_out_of_order_or_in_celsius_are_refused():
    readings_taken = warming(30, 1.0)
    with pytest.raises(NotANumber, match="after the one before"):
        judge_bearing("bearing", readings_taken[::-1], BEARINGS)
    with pytest.raises(NotANumber, match="in kelvin"):
        judge_bearing("bearing", [replace(r, bearing_k=45.0) for r in readings_taken], BEARINGS)
    with pytest.raises(TooFewMeasurements):
        judge_bearing("bearing", readings_taken[:1], BEARINGS)


# --- what to take next ------------------------------------------------------------------------


def take_until_enough(true, name, **settings):
    """Follow the program's advice from nothing; the shares of the best flow it asked for."""
    promised = promise(true, efficiency=0.0)
    tolerances = grade(name, of=promised, shaft_power_w=1e6)
    shares: list[float] = []
    verdict = None
    for _ in range(40):
        flows = [share * true.best_flow for share in shares]
        step = next_reading(verdict, flows, promised, tolerances, **settings)
        if step.enough:
            return shares, verdict, step
        shares.append(step.flow_m3s / true.best_flow)
        if len(set(shares)) >= 2:
            points = readings(true, shares, np.random.default_rng(1), speed_off=0.0)
            verdict = judge(points, promised, tolerances, limits=limits())
    raise AssertionError(f"never enough: {shares}")


@pytest.mark.parametrize(("name", "needed"), [("1B", 5), ("2B", 3)])
def test_following_the_advice_ends_in_a_verdict(name, needed):
    shares, verdict, step = take_until_enough(pump(4), name)
    assert verdict.outcome is Outcome.PASSED
    assert sum(0.9 <= share <= 1.1 for share in shares) >= needed
    assert min(shares) == 0.0
    assert max(shares) == pytest.approx(1.3, abs=0.03)
    assert len(shares) <= needed + 7
    assert "are enough" in step.sentence


def test_a_contract_without_the_whole_curve_needs_fewer_readings():
    few, verdict, _ = take_until_enough(pump(4), "2B", whole_curve=False)
    assert verdict.outcome is Outcome.PASSED
    assert len(few) == 3


def test_the_shut_valve_comes_with_its_caution():
    true = pump(4)
    promised = promise(true)
    tolerances = grade("2B", of=promised, shaft_power_w=1e6)
    points = readings(true, (0.9, 1.0, 1.1), np.random.default_rng(1), speed_off=0.0)
    verdict = judge(points, promised, tolerances, limits=limits())
    flows = [p.flow_m3s for p in points]
    step = next_reading(verdict, flows, promised, tolerances)
    assert step.flow_m3s == 0
    assert "limit the time" in step.caution


def near_limit(measuring):
    true = pump(4)
    promised = promise(true, efficiency=-0.0295)
    tolerances = grade("1B", of=promised, shaft_power_w=1e6)
    points = readings(true, SHARES, np.random.default_rng(1), speed_off=0.0)
    verdict = judge(points, promised, tolerances, limits=limits())
    uncertainty = deviation_uncertainty(
        points, sources_of(points, measuring), promised, tolerances, Settings()
    )
    flows = [p.flow_m3s for p in points]
    return next_reading(verdict, flows, promised, tolerances, uncertainty=uncertainty)


def test_near_a_limit_scatter_is_worth_repeating_and_instruments_are_not():
    scatter = near_limit(Measuring(power=Spread(random_share=0.02)))
    assert not scatter.enough
    assert "repeat readings" in scatter.sentence
    instruments = near_limit(Measuring(power=Spread(systematic_share=0.02)))
    assert instruments.enough
    assert "better instruments would" in instruments.sentence


def test_the_first_readings_go_about_the_guarantee_point():
    promised = guarantee()
    first = next_reading(None, [], promised, grade("1B"))
    assert first.flow_m3s == pytest.approx(promised.flow_m3s)
    second = next_reading(None, [promised.flow_m3s], promised, grade("1B"))
    assert second.flow_m3s == pytest.approx(0.9 * promised.flow_m3s)


# --- pasting ----------------------------------------------------------------------------------


def test_commas_and_points_are_read_when_the_table_leaves_no_doubt():
    comma = read_pasted("Q\tH\tP\n540,5\t62,1\t108,25\n1.200,5\t60,0\t110,0\n")
    assert comma.heading == ("Q", "H", "P")
    assert comma.rows == ((540.5, 62.1, 108.25), (1200.5, 60.0, 110.0))
    assert comma.decimal_mark == ","
    point = read_pasted("540.5; 62.1\n1,200.5; 60.0")
    assert point.rows == ((540.5, 62.1), (1200.5, 60.0))
    csv = read_pasted("flow,head\n540.5,62.1\n")
    assert csv.rows == ((540.5, 62.1),)
    assert read_pasted("540 62 108\n600 60 110").rows[1] == (600, 60, 110)


def test_empty_cells_stay_empty_and_lines_keep_their_number():
    table = read_pasted("1,5\t2,5\n\n\t3,5\n−4,5\t1e3")
    assert table.rows == ((1.5, 2.5), (None, 3.5), (-4.5, 1000.0))
    assert table.lines == (1, 3, 4)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1,5\t2.5\n", "Line 1, column 2: '2.5' uses another decimal mark than '1,5'"),
        ("1.000\t20\n", "Line 1, column 1: '1.000' can be a thousand or a decimal number"),
        ("1,5\t2,5\n12x\t3,5", "Line 2, column 1: '12x' is not a number"),
        ("1,5\t2,5\n1.23\t3,5", "uses another decimal mark"),
        ("1,5\t1.2.3\n", "uses another decimal mark than the rest|has marks that no number has"),
        ("1,5\t1e999\n", "too large"),
    ],
)
def test_numbers_that_can_be_read_in_two_ways_are_refused_with_their_place(text, says):
    with pytest.raises(MixedDecimalMarks, match=says):
        read_pasted(text)


@pytest.mark.parametrize("text", ["", "\n\n", "flow\thead\n"])
def test_a_text_without_numbers_is_refused(text):
    with pytest.raises(NoReadings):
        read_pasted(text)
