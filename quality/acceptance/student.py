"""Student's distribution, for bands and for judging scatter among few readings.

Written out here because the web process would wait seconds for the library that has it, and for
whole degrees of freedom it is a short sum. The tests compare it with that library.
"""

import math
from functools import lru_cache
from statistics import NormalDist

_NORMAL = NormalDist()

NORMAL_FROM = 400
"""So many degrees of freedom and more are taken by the expansion about the normal distribution."""


def student_cdf(t: float, freedom: int) -> float:
    """Chance that a variable of Student's distribution stays below t.

    t : any [-]
    freedom : degrees of freedom, >= 1 [-]
    returns : 0 to 1 [-]
    source : Abramowitz and Stegun, 26.7.3 and 26.7.4 (exact sums for whole degrees of freedom)
    """
    angle = math.atan2(t, math.sqrt(freedom))
    cosine2 = math.cos(angle) ** 2
    if freedom % 2:
        term = math.cos(angle)
        total = term if freedom > 1 else 0.0
        for j in range(3, freedom - 1, 2):
            term *= cosine2 * (j - 1) / j
            total += term
        inside = (angle + math.sin(angle) * total) * 2 / math.pi
    else:
        term = total = 1.0
        for j in range(2, freedom - 1, 2):
            term *= cosine2 * (j - 1) / j
            total += term
        inside = math.sin(angle) * total
    return (1 + inside) / 2


@lru_cache(maxsize=512)
def student_quantile(chance: float, freedom: float) -> float:
    """The value below which a variable of Student's distribution stays with a chance.

    chance : above 0 and below 1 [-]
    freedom : degrees of freedom, >= 1, rounded down; may be infinite [-]
    returns : t [-]
    source : bisection of `student_cdf`; beyond 400 degrees the Cornish-Fisher expansion,
        Abramowitz and Stegun 26.7.5
    """
    from_normal = normal_quantile(chance)
    if freedom >= NORMAL_FROM:
        z = from_normal
        return (
            z
            + (z**3 + z) / (4 * freedom)
            + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
            + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * freedom**3)
        )
    if chance == 0.5:
        return 0.0
    whole = max(1, math.floor(freedom))
    # The tails are at least as heavy as the normal ones, so double until it is enclosed.
    far = abs(from_normal) + 1
    target = max(chance, 1 - chance)
    while student_cdf(far, whole) < target:
        far *= 2
    low, high = 0.0, far
    while high - low > 1e-12 * high:
        middle = (low + high) / 2
        if student_cdf(middle, whole) < target:
            low = middle
        else:
            high = middle
    return math.copysign((low + high) / 2, chance - 0.5)


def normal_quantile(chance: float) -> float:
    """The value below which a normal variable stays with a chance.

    chance : above 0 and below 1 [-]
    returns : z [-]
    """
    return _NORMAL.inv_cdf(chance)


def normal_cdf(z: float) -> float:
    """Chance that a normal variable stays below z.

    z : any [-]
    returns : 0 to 1 [-]
    """
    return 0.5 * math.erfc(-z / math.sqrt(2))
