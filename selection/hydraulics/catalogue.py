"""The catalogue as the search sees it: impellers with their tests, packed into arrays once."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from selection.hydraulics.affinity import (
    ImpellerFamily,
    TrimLaw,
    learn_law,
    learn_many,
    points_at_speed,
    practice_law,
)
from selection.hydraulics.curves import CurvePoints, PumpCurve
from selection.hydraulics.door import (
    DIAMETER_CEILING_MM,
    Bools,
    Floats,
    Ints,
    Words,
    number,
    positive,
)
from selection.hydraulics.errors import DisagreeingTests, NothingGiven, OutsideMethod
from selection.hydraulics.hermite import peaked_slopes, shape_preserving_slopes
from selection.hydraulics.many import Cubics, Marks
from selection.hydraulics.mechanics import Mechanics
from selection.hydraulics.specific_speed import specific_speed, suction_specific_speed
from selection.hydraulics.viscosity import ViscousFactors, viscous_factors, viscous_points


@dataclass(frozen=True, eq=False, kw_only=True)
class CatalogueImpeller:
    """One impeller pattern in one casing, with what the checks need to know of both.

    key : unique in the catalogue
    casing : the casing's name
    pattern : the impeller pattern's number
    tests : the catalogue's own curves, each at its own diameter, at least one; as-tested curves
        of orders' units do not belong here
    diameter_min_mm, diameter_max_mm : between which it may be turned [mm]
    purposes : what the pattern was made for, e.g. "continuous", "fire"
    speed_max_rpm : of the casing and bearings, > 0 [rev/min]
    casing_pressure_max_pa : allowed for the casing, gauge, > 0 [Pa]
    impeller_metal : class of metal for the tip speed, a name of `checks.TIP_SPEED_LIMITS`
    double_suction : two eyes
    volutes : 1 or 2 [-]
    allowable_low, allowable_high : allowable region as shares of best-efficiency flow [-]
    suction_nozzle_mm, discharge_nozzle_mm : bores; None when unknown [mm]
    mechanics : shaft, bearings and widths; None when unknown
    law : trim law; None learns it from the tests, or takes the practice value
    viscous_factors : by which its water curves were corrected; None when they are water's
    viscous_refusal : why the curves could not be corrected for a viscous liquid; mostly empty
    """

    key: str
    casing: str
    pattern: str
    tests: tuple[CurvePoints, ...]
    diameter_min_mm: float
    diameter_max_mm: float
    purposes: frozenset[str] = frozenset({"continuous"})
    speed_max_rpm: float = 3600.0
    casing_pressure_max_pa: float = 1.6e6
    impeller_metal: str = "bronze"
    double_suction: bool = True
    volutes: int = 1
    allowable_low: float = 0.5
    allowable_high: float = 1.25
    suction_nozzle_mm: float | None = None
    discharge_nozzle_mm: float | None = None
    mechanics: Mechanics | None = None
    law: TrimLaw | None = None
    viscous_factors: ViscousFactors | None = None
    viscous_refusal: str = ""

    def __post_init__(self) -> None:
        if not self.tests:
            raise NothingGiven(what=f"curve of impeller {self.key}")
        positive(self.diameter_max_mm, "largest diameter", "mm", DIAMETER_CEILING_MM)
        number(self.diameter_min_mm, "least diameter", "mm", 1.0, self.diameter_max_mm)
        positive(self.speed_max_rpm, "highest speed", "rev/min", 10_000.0)
        positive(self.casing_pressure_max_pa, "casing's allowed pressure", "Pa", 1e8)
        number(self.volutes, "number of volutes", "-", 1, 2)
        number(self.allowable_low, "start of the allowable region", "-", 0.0, 1.0)
        number(self.allowable_high, "end of the allowable region", "-", 1.0, 3.0)
        sizes = sorted(test.diameter_mm for test in self.tests)
        for small, large in pairwise(sizes):
            if large - small <= 1e-9 * large:
                raise DisagreeingTests(
                    reason=f"two of {self.key}'s are at {large:g} mm; merge them first"
                )

    @cached_property
    def trim_law(self) -> TrimLaw:
        """The law in use: stated, learned, or the practice value for its specific speed."""
        if self.law is not None:
            return self.law
        largest = PumpCurve.through(max(self.tests, key=lambda test: test.diameter_mm))
        n_q = specific_speed(largest.bep_flow_m3s, largest.bep_head_m, largest.speed_rpm, self.eyes)
        return learn_law(self.tests, otherwise=practice_law(float(n_q)))

    @property
    def eyes(self) -> int:
        """Number of eyes [-]."""
        return 2 if self.double_suction else 1

    def on_viscous(self, viscosity_m2s: float, speed_rpm: float) -> "CatalogueImpeller":
        """Give the impeller with its curves corrected for a viscous liquid at a speed.

        viscosity_m2s : kinematic [m2/s]
        speed_rpm : > 0 [rev/min]
        returns : itself where the correction is nought; where the method does not hold, itself
            with the reason
        source : ANSI/HI 9.6.7
        """
        tests, factors = [], None
        try:
            for test in sorted(self.tests, key=lambda test: test.diameter_mm):
                at = points_at_speed(test, speed_rpm)
                curve = PumpCurve.through(at)
                factors = viscous_factors(
                    curve.bep_flow_m3s, curve.bep_head_m, speed_rpm, viscosity_m2s, self.eyes
                )
                tests.append(viscous_points(at, factors, curve.bep_flow_m3s))
        except OutsideMethod as refusal:
            return replace(self, viscous_refusal=str(refusal))
        if factors is None or factors.parameter <= 1.0:
            return self
        law = self.trim_law
        return replace(self, tests=tuple(tests), law=law, viscous_factors=factors)

    @cached_property
    def _family(self) -> ImpellerFamily:
        return ImpellerFamily(tests=self.tests, law=self.trim_law)

    def family(self) -> ImpellerFamily:
        """Give the impeller's curves at any diameter and speed."""
        return self._family


@dataclass(frozen=True, eq=False, kw_only=True)
class Catalogue:
    """Impellers packed into arrays; make one with `pack` and keep it until the catalogue changes.

    impellers : (m,) as given
    laws : (m,) the trim law in use for each
    head, efficiency, npshr : (c, k) fits of all tests, each impeller's by rising diameter, at
        the impeller's reference speed [m, -, m]; npshr is NaN-valued where not measured
    marks : (c,) figures of the tests
    first, count : (m,) where an impeller's tests start and how many they are [-]
    test_diameter_mm : (c,) [mm]
    reference_rpm : (m,) speed of the packed curves [rev/min]
    flow_exponent, head_exponent, efficiency_loss : (m,) of the trim law [-]
    diameter_min_mm, diameter_max_mm : (m,) [mm]
    n_q_total, n_q_eye, suction_speed : (m,) specific speed on total flow and per eye at full
        diameter, suction specific speed per eye at the largest test; NaN where unknown
        [rev/min, m3/s, m]
    columns, texts : numbers and words of the impellers asked for so far, by name
    """

    impellers: tuple[CatalogueImpeller, ...]
    laws: tuple[TrimLaw, ...]
    head: Cubics
    efficiency: Cubics
    npshr: Cubics
    marks: Marks
    first: Ints
    count: Ints
    test_diameter_mm: Floats
    reference_rpm: Floats
    flow_exponent: Floats
    head_exponent: Floats
    efficiency_loss: Floats
    diameter_min_mm: Floats
    diameter_max_mm: Floats
    n_q_total: Floats
    n_q_eye: Floats
    suction_speed: Floats
    columns: dict[str, Floats] = field(default_factory=dict)
    texts: dict[str, Words] = field(default_factory=dict)

    def column(self, name: str) -> Floats:
        """Give one number of every impeller as an array, NaN where it is None.

        name : field of CatalogueImpeller, or of its mechanics as "mechanics.FIELD"
        returns : (m,) [as the field]
        """
        if name not in self.columns:
            self.columns[name] = np.array(
                [_number_of(impeller, name) for impeller in self.impellers], dtype=np.float64
            )
        return self.columns[name]

    @cached_property
    def learned(self) -> Bools:
        """(m,) the trim law was learned from tests."""
        return np.array([law.learned for law in self.laws])

    def told(self, name: str, make: Callable[[CatalogueImpeller], float]) -> Floats:
        """Give a number of every impeller that is found by asking it, made once.

        name : what the numbers are kept under
        make : gives the number of one impeller
        returns : (m,) [as made]
        """
        if name not in self.columns:
            self.columns[name] = np.array([make(impeller) for impeller in self.impellers], float)
        return self.columns[name]

    def words(self, name: str, make: Callable[[CatalogueImpeller], str]) -> Words:
        """Give a word or two of every impeller as an array, made once.

        name : what the words are kept under
        make : gives them for one impeller
        returns : (m,) texts
        """
        if name not in self.texts:
            texts = np.empty(len(self.impellers), dtype=object)
            texts[:] = [make(impeller) for impeller in self.impellers]
            self.texts[name] = texts
        return self.texts[name]


def _number_of(impeller: CatalogueImpeller, name: str) -> float:
    thing: object = impeller
    for part in name.split("."):
        thing = None if thing is None else getattr(thing, part)
    return float("nan") if thing is None else float(thing)  # type: ignore[arg-type]


def pack(impellers: Sequence[CatalogueImpeller]) -> Catalogue:
    """Pack impellers into arrays.

    impellers : at least one
    returns : the catalogue for `search`
    raises : NothingGiven
    """
    if not impellers:
        raise NothingGiven(what="impeller in the catalogue")
    count = np.array([len(impeller.tests) for impeller in impellers], dtype=np.intp)
    first = np.cumsum(count) - count
    tests: list[CurvePoints] = []
    for impeller in impellers:
        tests.extend(sorted(impeller.tests, key=lambda test: test.diameter_mm))
    reference = np.array([test.speed_rpm for test in tests])[first + count - 1]
    ratio = np.repeat(reference, count) / np.array([test.speed_rpm for test in tests])
    flat = np.ones_like(ratio)
    head = _fitted(tests, "head_m").scaled(ratio, ratio**2)
    efficiency = _fitted(tests, "efficiency", peaked=True).scaled(ratio, flat)
    npshr = _fitted(tests, "npshr_m").scaled(ratio, ratio**2)
    diameter = np.array([test.diameter_mm for test in tests])
    full = np.array([impeller.diameter_max_mm for impeller in impellers])
    eyes = np.array([impeller.eyes for impeller in impellers])
    largest = first + count - 1
    marks = Marks.of(head, efficiency)
    bep = marks.bep_flow[largest]
    best = bep, marks.bep_head[largest], npshr.rows(largest).at(bep)
    n_q_test = specific_speed(best[0] / eyes, best[1], reference)
    lessons = learn_many(head, efficiency, diameter, first)
    laws = tuple(
        impeller.law or lessons.law(at, practice_law(float(n_q_test[at])))
        for at, impeller in enumerate(impellers)
    )
    flow_exponent = np.array([law.flow_exponent for law in laws])
    head_exponent = np.array([law.head_exponent for law in laws])
    grown = full / diameter[largest]
    n_q = specific_speed(best[0] * grown**flow_exponent, best[1] * grown**head_exponent, reference)
    return Catalogue(
        impellers=tuple(impellers),
        laws=laws,
        head=head,
        efficiency=efficiency,
        npshr=npshr,
        marks=marks,
        first=first,
        count=count,
        test_diameter_mm=diameter,
        reference_rpm=reference,
        flow_exponent=flow_exponent,
        head_exponent=head_exponent,
        efficiency_loss=np.array([law.efficiency_loss for law in laws]),
        diameter_min_mm=np.array([impeller.diameter_min_mm for impeller in impellers]),
        diameter_max_mm=full,
        n_q_total=n_q,
        n_q_eye=n_q / np.sqrt(eyes),
        suction_speed=suction_specific_speed(best[0] / eyes, best[2], reference),
    )


def _fitted(tests: Sequence[CurvePoints], quantity: str, *, peaked: bool = False) -> Cubics:
    """Fit one quantity of all tests against flow, those with equally many points together.

    Where the quantity was not measured at all the row is NaN-valued over the test's range.
    """
    points: list[tuple[Floats, Floats]] = []
    for test in tests:
        flow, values = test.flow_m3s, getattr(test, quantity)
        if values is None:
            points.append((flow[[0, -1]], np.full(2, np.nan)))
        else:
            known = np.isfinite(values)
            points.append((flow, values) if known.all() else (flow[known], values[known]))
    sizes = np.array([len(x) for x, _ in points])
    shape = (len(tests), int(sizes.max()))
    knots, values, slopes = np.full(shape, np.inf), np.zeros(shape), np.zeros(shape)
    for size in np.unique(sizes):
        rows = np.flatnonzero(sizes == size)
        x = np.array([points[row][0] for row in rows])
        y = np.array([points[row][1] for row in rows])
        knots[rows, :size], values[rows, :size] = x, y
        values[rows, size:] = y[:, -1:]
        if size > 2:
            fit = peaked_slopes if peaked else shape_preserving_slopes
            slopes[rows, :size] = fit(x, y)
    return Cubics(knots, values, slopes, sizes - 1)
