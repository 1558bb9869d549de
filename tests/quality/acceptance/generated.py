"""Performance tests with a known true curve, so that the right verdict is known beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quality.acceptance.grades import Guarantee
from quality.acceptance.readings import STANDARD_GRAVITY, Point

DENSITY = 998.2


@dataclass(frozen=True, kw_only=True)
class TruePump:
    """A pump whose curves at rated speed are known exactly.

    H(Q) = shutoff · (1 − fall · (Q/Q_b)^shape), η(Q) = best · (2x − x²) with x = Q/Q_b.
    """

    best_flow: float
    shutoff: float
    fall: float
    shape: float
    best: float
    rated_rpm: float

    def head(self, flow):
        return self.shutoff * (1 - self.fall * (flow / self.best_flow) ** self.shape)

    def efficiency(self, flow):
        x = flow / self.best_flow
        return self.best * (2 * x - x**2)

    def power(self, flow):
        # At the shut valve the limit of ρ g Q H / η is finite: η falls with Q.
        x = np.maximum(flow / self.best_flow, 1e-6)
        return DENSITY * STANDARD_GRAVITY * self.best_flow * self.head(flow) / (self.best * (2 - x))

    def on_the_line(self, guarantee: Guarantee) -> float:
        """Flow where the line from the origin meets the true curve."""
        slope = guarantee.head_m / guarantee.flow_m3s
        low, high = 0.0, 2.0 * self.best_flow
        for _ in range(200):
            middle = (low + high) / 2
            if self.head(middle) > slope * middle:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    def flow_at(self, head: float) -> float:
        return self.best_flow * ((1 - head / self.shutoff) / self.fall) ** (1 / self.shape)


def pump(seed: int) -> TruePump:
    rng = np.random.default_rng(seed)
    return TruePump(
        best_flow=float(rng.uniform(0.02, 0.8)),
        shutoff=float(rng.uniform(20, 120)),
        fall=float(rng.uniform(0.15, 0.4)),
        shape=float(rng.uniform(1.8, 2.6)),
        best=float(rng.uniform(0.7, 0.9)),
        rated_rpm=float(rng.choice([980, 1480, 2960])),
    )


def readings(
    true: TruePump,
    shares: Sequence[float],
    rng: np.random.Generator,
    *,
    flow_noise: float = 0.0,
    head_noise: float = 0.0,
    power_noise: float = 0.0,
    flow_bias: float = 0.0,
    head_bias: float = 0.0,
    power_bias: float = 0.0,
    speed_off: float = 0.01,
) -> tuple[Point, ...]:
    """Points at test speed, each with a speed of its own and noise on what is read."""
    made = []
    for number, share in enumerate(shares, start=1):
        flow = share * true.best_flow
        ratio = 1 + float(rng.uniform(-speed_off, speed_off))
        noise = rng.normal(0, 1, 3)
        made.append(
            Point(
                number=number,
                flow_m3s=flow * ratio * (1 + flow_bias + flow_noise * noise[0]),
                head_m=float(true.head(flow)) * ratio**2 * (1 + head_bias + head_noise * noise[1]),
                speed_rpm=true.rated_rpm * ratio,
                shaft_power_w=float(true.power(flow))
                * ratio**3
                * (1 + power_bias + power_noise * noise[2]),
                density_kg_m3=DENSITY,
            )
        )
    return tuple(made)
