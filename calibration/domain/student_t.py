"""Student's t: the factor that holds a given share of the distribution, from the incomplete beta function."""

from math import erf, exp, lgamma, log, log1p, sqrt

_TINY, _CLOSE, _MOST_STEPS = 1e-300, 1e-15, 500
_MOST_DEGREES = 10**7
"""With more degrees of freedom t is the normal distribution to 1e-7, and the gamma functions lose more than that."""


def two_sided_factor(probability: float, degrees: int) -> float:
    """Return t for which a share `probability` of the t distribution lies between -t and +t.

    `probability` is above 0 and below 1, `degrees` of freedom a whole number of at least 1; ValueError otherwise.
    Source: the distribution function by the incomplete beta function, Abramowitz and Stegun 26.7.1 with 26.5.8;
    the root by halving an interval that holds it, to the last digits a float has.
    """
    if not 0 < probability < 1 or degrees < 1:
        raise ValueError("a share between 0 and 1 and at least one degree of freedom are needed")
    low, high = 0.0, 1.0
    while held_within(high, degrees) < probability:
        low, high = high, 2 * high
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if held_within(middle, degrees) < probability else (low, middle)
    return high


def held_within(t: float, degrees: int) -> float:
    """Return the share of the t distribution between -t and +t, for t >= 0."""
    if not _TINY < t * t < 1 / _TINY:
        return 0.0 if t < 1 else 1.0
    if degrees > _MOST_DEGREES:
        return erf(t / sqrt(2))
    return _incomplete_beta(0.5, degrees / 2, t * t / (degrees + t * t), degrees / (degrees + t * t))


def _incomplete_beta(a: float, b: float, x: float, rest: float) -> float:
    """The regularised incomplete beta function; from the side on which its fraction runs out sooner.

    `rest` is 1 - x, given because a float keeps only one of the two where the other is all but 1.
    """
    log_rest = log1p(-x) if x < rest else log(rest)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log_rest)
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(a, b, x) / a
    return 1 - front * _fraction(b, a, rest) / b


def _fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of 26.5.8, worked from the front (Lentz's way)."""
    upper, lower = 1.0, 1 / _off_zero(1 - (a + b) * x / (a + 1))
    whole = lower
    for n in range(1, _MOST_STEPS):
        for term in (
            n * (b - n) * x / ((a + 2 * n - 1) * (a + 2 * n)),
            -(a + n) * (a + b + n) * x / ((a + 2 * n) * (a + 2 * n + 1)),
        ):
            lower = 1 / _off_zero(1 + term * lower)
            upper = _off_zero(1 + term / upper)
            whole *= upper * lower
        if abs(upper * lower - 1) < _CLOSE:
            return whole
    return whole


def _off_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
