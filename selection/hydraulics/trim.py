"""The diameter at which each impeller meets the duty, for thousands at once."""

from dataclasses import dataclass
from types import ModuleType

import numpy as np

from selection.hydraulics.catalogue import Catalogue
from selection.hydraulics.door import Bools, Floats, Ints
from selection.hydraulics.question import Alone, Fit, Question


@dataclass(frozen=True, eq=False)
class Trims:
    """Diameters found: arrays as in `Solved`."""

    diameter_mm: Floats
    fit: Ints
    lower: Ints
    upper: Ints
    share: Floats
    converged: Bools

    def taken(self, at: Ints) -> "Trims":
        """Take some of them.

        at : (m,) places [-]
        returns : (m,) trims
        """
        return Trims(
            self.diameter_mm[at],
            self.fit[at],
            self.lower[at],
            self.upper[at],
            self.share[at],
            self.converged[at],
        )


def settled_trims(catalogue: Catalogue, impeller: Ints, diameter: Floats) -> Trims:
    """Take diameters as they are, between the tests that they lie between."""
    first, count = catalogue.first[impeller], catalogue.count[impeller]
    tested = catalogue.test_diameter_mm
    below = np.zeros(impeller.shape, dtype=np.intp)
    for test in range(int(count.max())):
        at = first + np.minimum(test, count - 1)
        below += (test < count) & (tested[at] <= diameter)
    lower = first + np.maximum(below - 1, 0)
    upper = first + np.minimum(below, count - 1)
    gap = np.where(lower != upper, tested[upper] - tested[lower], 1.0)
    share = np.where(lower != upper, (diameter - tested[lower]) / gap, 0.0)
    meets = np.zeros(impeller.shape, dtype=np.intp)
    return Trims(diameter, meets, lower, upper, share, np.ones(impeller.shape, dtype=bool))


@dataclass(frozen=True, eq=False)
class _Asked:
    """What a trim is sought for, at the tests' speed."""

    lower: Ints
    upper: Ints
    flow: Floats
    head: Floats
    flow_power: Floats
    head_power: Floats
    low_mm: Floats
    high_mm: Floats


def best_trims(catalogue: Catalogue, question: Question, impeller: Ints, speed: Floats) -> Trims:
    """Find the diameter at which each impeller's head at the duty's flow is the duty's."""
    ratio = speed / catalogue.reference_rpm[impeller]
    flow, head = question.flow_m3s / ratio, question.head_m / ratio**2
    first, count = catalogue.first[impeller], catalogue.count[impeller]
    least, most = catalogue.diameter_min_mm[impeller], catalogue.diameter_max_mm[impeller]
    below = np.zeros(impeller.shape, dtype=np.intp)
    for test in range(int(count.max())):
        at = first + np.minimum(test, count - 1)
        makes = catalogue.head.rows(at).held(flow)
        below += (test < count) & (makes <= head)
    lower = first + np.maximum(below - 1, 0)
    upper = first + np.minimum(below, count - 1)
    tested = catalogue.test_diameter_mm
    low = np.clip(np.where(below == 0, least, tested[lower]), least, most)
    high = np.clip(np.where(below == count, most, tested[upper]), least, most)

    mixed = lower != upper
    diameter = np.empty(impeller.shape)
    fit = np.empty(impeller.shape, dtype=np.intp)
    converged = np.empty(impeller.shape, dtype=bool)
    for at, find in (
        (np.flatnonzero(~mixed), _from_one),
        (np.flatnonzero(mixed), _between),
    ):
        if at.size:
            asked = _Asked(
                lower[at],
                upper[at],
                flow[at],
                head[at],
                catalogue.flow_exponent[impeller[at]],
                catalogue.head_exponent[impeller[at]],
                low[at],
                high[at],
            )
            diameter[at], fit[at], converged[at] = find(catalogue, asked)
    gap = np.where(mixed, tested[upper] - tested[lower], 1.0)
    share = np.where(mixed, (diameter - tested[lower]) / gap, 0.0)
    return Trims(diameter, fit, lower, upper, share, converged)


def _between(catalogue: Catalogue, asked: _Asked) -> tuple[Floats, Ints, Bools]:
    """Diameter between two tested ones at which the mixed curve makes the head."""
    curves = catalogue.head
    found: tuple[Floats, Ints, Bools] = kernels().trim_between(
        curves.knots,
        curves.values,
        curves.slopes,
        curves.last,
        catalogue.test_diameter_mm,
        asked.lower,
        asked.upper,
        asked.flow,
        asked.head,
        asked.flow_power,
        asked.head_power,
        asked.low_mm,
        asked.high_mm,
    )
    return found


def _from_one(catalogue: Catalogue, asked: _Asked) -> tuple[Floats, Ints, Bools]:
    """Diameter at which one curve carried by the trim law makes the head.

    With d/d0 = r the carried curve passes through (q, h) where the test's own curve makes
    h·(x/q)^(m/a) at x = q/r^a: the test meets a curve through the origin, as it would a system.
    Beyond the test's range its end's head holds, so the trim stays a continuous question.
    """
    power = asked.head_power / asked.flow_power
    rows = catalogue.head.rows(asked.lower)
    x, state, _, settled = kernels().meet(
        rows.knots,
        rows.values,
        rows.slopes,
        rows.last,
        np.zeros_like(power),
        asked.head / np.power(asked.flow, power),
        power,
    )
    meets = state == Alone.MEETS
    end_head = np.where(
        state == Alone.TOO_LITTLE_HEAD, rows.values[:, 0], np.maximum(rows.held(rows.high), 1e-9)
    )
    ratio = np.where(
        meets,
        np.power(asked.flow / np.where(meets, x, 1.0), 1.0 / asked.flow_power),
        np.power(asked.head / end_head, 1.0 / asked.head_power),
    )
    wanted = ratio * catalogue.test_diameter_mm[asked.lower]
    # A diameter that misses a limit by rounding alone is the limit.
    hair = 1e-12 * wanted
    fit = np.where(
        wanted > asked.high_mm + hair,
        Fit.SHORT_OF_HEAD,
        np.where(wanted < asked.low_mm - hair, Fit.TOO_MUCH_HEAD, Fit.MEETS),
    )
    return np.clip(wanted, asked.low_mm, asked.high_mm), fit, settled


def kernels() -> ModuleType:
    """Load the compiled loops, at the first search; see `kernels` why not before."""
    from selection.hydraulics import kernels as loaded

    return loaded
