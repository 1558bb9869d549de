"""Generated tests with a known true curve: the verdict is known by construction.

Each seed makes a pump, a test of 13 points at speeds that differ, and guarantees that the true
pump meets or misses by a known margin. Near a limit noise decides, and there the share of wrong
verdicts has to be what the stated uncertainty says.
"""

import math

import numpy as np
import pytest

from quality.acceptance.chances import (
    EarlierTest,
    Prediction,
    chance_of_passing_first,
    chance_verdict_is_wrong,
)
from quality.acceptance.errors import NotANumber, TooFewMeasurements
from quality.acceptance.evidence import Outcome
from quality.acceptance.grades import Guarantee
from quality.acceptance.performance import judge
from quality.acceptance.propagation import (
    Measuring,
    Spread,
    deviation_uncertainty,
    shares_at,
    sources_of,
)
from quality.acceptance.verdicts import CrossRule, Settings
from tests.quality.acceptance.builders import grade, limits
from tests.quality.acceptance.generated import DENSITY, TruePump, pump, readings

SHARES = (0.0, 0.3, 0.5, 0.7, 0.82, 0.91, 0.95, 0.98, 1.02, 1.06, 1.1, 1.2, 1.3)
BOTH = Settings(cross=CrossRule.BOTH)


def promise(true: TruePump, *, head: float = 0.0, efficiency: float | None = None) -> Guarantee:
    """A guarantee at the best flow, from which the true pump deviates by the shares given."""
    guaranteed = float(true.head(true.best_flow)) / (1 + head)
    plain = Guarantee(
        flow_m3s=true.best_flow,
        head_m=guaranteed,
        speed_rpm=true.rated_rpm,
        density_kg_m3=DENSITY,
    )
    if efficiency is None:
        return plain
    there = float(true.efficiency(true.on_the_line(plain)))
    return Guarantee(
        flow_m3s=plain.flow_m3s,
        head_m=guaranteed,
        speed_rpm=true.rated_rpm,
        density_kg_m3=DENSITY,
        efficiency=there / (1 + efficiency),
    )


def judged(true, guarantee, rng, *, name="1B", settings=None, **noise):
    points = readings(true, SHARES, rng, **noise)
    tolerances = grade(name, of=guarantee, shaft_power_w=1e6)
    return points, judge(points, guarantee, tolerances, limits=limits(), settings=settings)


@pytest.mark.parametrize("seed", range(70))
def test_deviations_of_a_clean_test_are_those_of_the_true_curve(seed):
    true = pump(seed)
    rng = np.random.default_rng(seed + 1000)
    head, efficiency = rng.uniform(-0.02, 0.02), rng.uniform(-0.02, 0.02)
    guarantee = promise(true, head=head, efficiency=efficiency)
    _, verdict = judged(true, guarantee, rng)
    assert verdict.of("head").deviation == pytest.approx(head, abs=4e-4)
    assert verdict.of("efficiency").deviation == pytest.approx(efficiency, abs=6e-4)
    at_head = true.flow_at(guarantee.head_m) / guarantee.flow_m3s - 1
    if verdict.of("flow").deviation is not None:
        assert verdict.of("flow").deviation == pytest.approx(at_head, abs=2e-3)


CASES = [
    # head, efficiency, grade, verdict known by construction
    (0.00, 0.00, "1B", Outcome.PASSED),
    (0.025, 0.0, "1B", Outcome.PASSED),
    (-0.025, 0.0, "1B", Outcome.PASSED),
    (0.00, -0.025, "1B", Outcome.PASSED),
    (0.00, -0.035, "1B", Outcome.FAILED),
    (0.00, -0.005, "1E", Outcome.FAILED),
    (0.00, 0.005, "1E", Outcome.PASSED),
    (0.045, 0.0, "2B", Outcome.PASSED),
    (-0.045, -0.045, "2B", Outcome.PASSED),
    (0.0, -0.055, "2B", Outcome.FAILED),
    (0.055, 0.005, "1U", Outcome.PASSED),
    (-0.01, 0.005, "1U", Outcome.FAILED),
    (0.09, 0.0, "2U", Outcome.PASSED),
    (-0.065, -0.065, "3B", Outcome.PASSED),
    (0.0, -0.075, "3B", Outcome.FAILED),
]


@pytest.mark.parametrize(("head", "efficiency", "name", "outcome"), CASES)
@pytest.mark.parametrize("seed", range(5))
def test_a_verdict_well_clear_of_the_limit_survives_noise(seed, head, efficiency, name, outcome):
    true = pump(200 + seed)
    guarantee = promise(true, head=head, efficiency=efficiency)
    _, verdict = judged(
        true,
        guarantee,
        np.random.default_rng(seed),
        name=name,
        flow_noise=2e-4,
        head_noise=4e-4,
        power_noise=4e-4,
        speed_off=0.05,
    )
    assert verdict.outcome is outcome, verdict.reasons


@pytest.mark.parametrize("seed", range(10))
def test_both_bars_together_decide_when_the_setting_says_so(seed):
    """A head 2.5 % high lies far beyond 5 % of flow wherever the curve is flat."""
    true = pump(300 + seed)
    guarantee = promise(true, head=0.025)
    flow = true.flow_at(guarantee.head_m) / guarantee.flow_m3s - 1
    _, verdict = judged(true, guarantee, np.random.default_rng(seed), settings=BOTH)
    assert flow > 0.052 or flow < 0.048
    assert verdict.outcome is (Outcome.PASSED if flow < 0.05 else Outcome.FAILED)


def linearised(true, guarantee, measuring, **settings):
    rng = np.random.default_rng(5)
    points = readings(true, SHARES, rng)
    tolerances = grade("1B", of=guarantee, shaft_power_w=1e6)
    return deviation_uncertainty(
        points,
        sources_of(points, measuring),
        guarantee,
        tolerances,
        settings.get("settings", Settings()),
    )


NOISE = {"flow_noise": 0.004, "head_noise": 0.004, "power_noise": 0.005}
MEASURED = Measuring(
    flow=Spread(random_share=0.008),
    head=Spread(random_share=0.008),
    power=Spread(random_share=0.010),
)


@pytest.mark.slow
def test_the_propagated_uncertainty_is_the_scatter_of_many_tests():
    true = pump(7)
    guarantee = promise(true, efficiency=0.0)
    rng = np.random.default_rng(17)
    drawn = [judged(true, guarantee, rng, **NOISE)[1] for _ in range(1500)]
    found = linearised(true, guarantee, MEASURED)
    for quantity in ("flow", "head", "efficiency"):
        deviations = [verdict.of(quantity).deviation for verdict in drawn]
        scatter = np.std([d for d in deviations if d is not None])
        # The scatter of 1500 draws is known to 1/√3000 = 1.8 %; the curve's bending adds some.
        assert scatter == pytest.approx(found.standard(quantity), rel=0.08)


def test_a_common_error_moves_every_point_and_does_not_average_out():
    true = pump(7)
    guarantee = promise(true, efficiency=0.0)
    meter = Measuring(flow=Spread(systematic_share=0.01))
    found = linearised(true, guarantee, meter)
    # One standard uncertainty is 0.5 % of flow: efficiency at a given Q follows in full.
    biased = judged(true, guarantee, np.random.default_rng(5), flow_bias=0.005)[1]
    clean = judged(true, guarantee, np.random.default_rng(5))[1]
    for quantity in ("flow", "head", "efficiency"):
        moved = biased.of(quantity).deviation - clean.of(quantity).deviation
        assert found.standard(quantity) == pytest.approx(abs(moved), rel=0.02)
    assert found.random.max() == 0
    assert found.systematic[0] > 0


def wrong_share(margin_in_u: float, draws: int, settings=None) -> tuple[float, float]:
    """Share of verdicts that contradict the true pump, and what theory says."""
    true = pump(21)
    quantity_margin = margin_in_u
    base = promise(true, efficiency=-0.03)
    u = linearised(true, base, MEASURED).standard("efficiency")
    # The true efficiency lies `margin` standard uncertainties inside the limit of −3 %.
    guarantee = promise(true, efficiency=-0.03 + quantity_margin * u)
    rng = np.random.default_rng(int(1000 * margin_in_u) + 77)
    wrong = 0
    for _ in range(draws):
        _, verdict = judged(true, guarantee, rng, settings=settings, **NOISE)
        wrong += verdict.of("efficiency").outcome is not Outcome.PASSED
    return wrong / draws, 0.5 * math.erfc(margin_in_u / math.sqrt(2))


@pytest.mark.slow
@pytest.mark.parametrize("margin", [0.0, 0.5, 1.0, 1.6])
def test_near_the_limit_the_share_of_wrong_verdicts_is_what_theory_says(margin):
    """2,000 seeded draws in all; three standard deviations of a binomial are allowed."""
    draws = 500
    share, theory = wrong_share(margin, draws)
    allowed = 3 * math.sqrt(theory * (1 - theory) / draws) + 0.01
    assert share == pytest.approx(theory, abs=allowed)


@pytest.mark.slow
def test_the_stated_chance_of_a_wrong_verdict_is_right_on_average():
    """Of many pumps near the limit, the stated chances add up to the verdicts that were wrong.

    The pumps' true efficiencies are spread evenly over the limit, as the statement assumes.
    """
    true = pump(33)
    u = linearised(true, promise(true, efficiency=-0.03), MEASURED).standard("efficiency")
    rng = np.random.default_rng(4)
    stated, wrong, draws = 0.0, 0, 600
    for _ in range(draws):
        off = rng.uniform(-4, 4) * u
        guarantee = promise(true, efficiency=-0.03 + off)
        points, verdict = judged(true, guarantee, rng, **NOISE)
        uncertainty = deviation_uncertainty(
            points, sources_of(points, MEASURED), guarantee, verdict.tolerances, verdict.settings
        )
        chance = chance_verdict_is_wrong(verdict, uncertainty)
        assert chance is not None
        stated += chance.value
        wrong += (verdict.outcome is Outcome.PASSED) is not (off >= 0)
    assert wrong == pytest.approx(stated, abs=3 * math.sqrt(stated))


def test_the_same_test_gets_the_same_chance_twice():
    true = pump(3)
    guarantee = promise(true, head=0.028, efficiency=0.0)
    _, verdict = judged(true, guarantee, np.random.default_rng(2))
    uncertainty = linearised(true, guarantee, MEASURED)
    first = chance_verdict_is_wrong(verdict, uncertainty)
    assert first == chance_verdict_is_wrong(verdict, uncertainty)
    assert first is not None
    assert "For the engineer" in first.sentence


def test_a_test_that_was_not_judged_has_no_chance_of_being_wrong():
    true = pump(3)
    guarantee = promise(true)
    points = readings(true, SHARES[:4], np.random.default_rng(1))
    tolerances = grade("1B", of=guarantee, shaft_power_w=1e6)
    verdict = judge(points, guarantee, tolerances, limits=limits())
    uncertainty = deviation_uncertainty(
        points, sources_of(points, MEASURED), guarantee, tolerances, Settings()
    )
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert chance_verdict_is_wrong(verdict, uncertainty) is None
    assert uncertainty.standard("head") is None


def test_shares_at_the_guarantee_point_combine_systematic_and_random_parts():
    true = pump(3)
    points = readings(true, SHARES, np.random.default_rng(1), speed_off=0.0)
    measuring = Measuring(
        flow=Spread(systematic_share=0.015, random_share=0.008),
        head=Spread(systematic_share=0.01),
        power=Spread(systematic_share=0.01, random_share=0.005),
    )
    shares = shares_at(points, sources_of(points, measuring), true.best_flow)
    alone = shares_at(points, sources_of(points, measuring), true.best_flow, systematic=True)
    assert alone["flow"] == pytest.approx(0.015)
    assert shares["flow"] == pytest.approx(math.hypot(0.015, 0.008))
    expected = math.sqrt(0.015**2 + 0.008**2 + 0.01**2 + 0.01**2 + 0.005**2)
    assert shares["efficiency"] == pytest.approx(expected)


def earlier(count, sigma, seed=1):
    rng = np.random.default_rng(seed)
    return [
        EarlierTest(head=1 + sigma * a, efficiency=1 + sigma * b)
        for a, b in rng.normal(0, 1, (count, 2))
    ]


def test_the_chance_of_passing_first_is_that_of_the_normal_distribution_for_many_tests():
    # Head fails beyond ±3 % and its bar of flow beyond 5 %, which a flat curve never decides.
    sigma = 0.02
    chance = chance_of_passing_first(
        earlier(4000, sigma),
        Prediction(head=1.0, efficiency=None, steepness=0.3),
        grade("1B", shaft_power_w=1e6),
    )
    theory = math.erf(0.03 / sigma / math.sqrt(2))
    assert chance.value == pytest.approx(theory, abs=0.02)


def test_few_tests_leave_more_doubt_than_many():
    few = chance_of_passing_first(
        [EarlierTest(head=1 + d, efficiency=1.0 + d / 3) for d in (-0.02, -0.01, 0, 0.01, 0.02)],
        Prediction(head=1.0, efficiency=1.02, steepness=0.5),
        grade("1B", shaft_power_w=1e6),
    )
    many = chance_of_passing_first(
        [
            EarlierTest(head=1 + d, efficiency=1.0 + d / 3)
            for d in (-0.02, -0.01, 0, 0.01, 0.02) * 40
        ],
        Prediction(head=1.0, efficiency=1.02, steepness=0.5),
        grade("1B", shaft_power_w=1e6),
    )
    assert few.value < many.value


def test_more_efficiency_in_hand_raises_the_chance():
    def chance(efficiency):
        return chance_of_passing_first(
            earlier(30, 0.015),
            Prediction(head=1.01, efficiency=efficiency, steepness=0.8),
            grade("1B", shaft_power_w=1e6),
        ).value

    assert chance(0.97) < chance(0.99) < chance(1.02)


def test_too_few_earlier_tests_are_refused():
    with pytest.raises(TooFewMeasurements, match="at least 5 values; there are 4"):
        chance_of_passing_first(
            earlier(4, 0.01),
            Prediction(head=1.0, efficiency=1.0, steepness=0.5),
            grade("1B"),
        )


def test_a_curve_without_fall_is_refused():
    with pytest.raises(NotANumber, match="steepness"):
        Prediction(head=1.0, efficiency=1.0, steepness=0.0)
