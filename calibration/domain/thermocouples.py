"""Thermocouples of types K, J, N and T: emf of a temperature, temperature of an emf, cold junction, sensitivity.

Units throughout: temperatures in degrees Celsius (t90), emf in mV against a reference junction at 0 degrees Celsius.
Every function takes one number and returns a float, or an array of any shape and returns an array of that shape.
Source: NIST Standard Reference Database 60, the functions of IEC 60584-1. Floats: the functions are defined to about
1e-4 mV, a float carries them to 1e-14.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.domain.its90_coefficients import FORWARD, INVERSE, K_BUMP, Bump

Floats = NDArray[np.float64]
KINDS = ("K", "J", "N", "T")
BLOCK = 8192
"""Values worked on at once: a block with its in-between results stays in the processor's cache."""
CLOSE_K = 1e-5
"""A Newton step this small leaves an error of its square times E''/2E', below 1e-11 K: no further step is taken."""
MOST_STEPS = 40
NOISE_MV = 1e-9
"""An emf this little beyond the end of the range is the end itself: floats do not compute it more closely."""


class ThermocoupleError(ValueError):
    """The thermocouple cannot be computed; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A type's one function from `low_c` to `high_c`, its emf at both, and the inverse's first guess."""

    low_c: float
    high_c: float
    low_mv: float
    high_mv: float
    forward: tuple[float, ...]
    slope: tuple[float, ...]
    guess: tuple[float, ...]
    bump: Bump | None

    def emf(self, t: Floats) -> Floats:
        """Return the emf in mV of temperatures inside the stretch."""
        made = _polynomial(self.forward, t)
        if self.bump is not None:
            made += _bump(self.bump, t)
        return made

    def sensitivity(self, t: Floats) -> Floats:
        """Return the derivative of the emf, in mV/K."""
        made = _polynomial(self.slope, t)
        if self.bump is not None:
            made += _bump(self.bump, t) * (2 * self.bump.a1 * (t - self.bump.a2_c))
        return made

    def temperature(self, emf: Floats) -> Floats:
        """Return the temperature whose emf this is: the published inverse as first guess, then Newton's steps.

        The emf rises with the temperature all along a stretch, and below -200 degrees Celsius, where no inverse is
        published, it is convex: from -200 the steps come down on the answer without passing it.
        """
        t = _polynomial(self.guess, emf)
        for _ in range(MOST_STEPS):
            step, slope = self._emf_and_slope(t)
            step -= emf
            step /= slope
            t -= step
            if np.abs(step, out=step).max() < CLOSE_K:
                return np.clip(t, self.low_c, self.high_c, out=t)
        raise ThermocoupleError("The temperature could not be found to a millionth of a kelvin.")

    def _emf_and_slope(self, t: Floats) -> tuple[Floats, Floats]:
        emf, slope = _polynomial(self.forward, t), _polynomial(self.slope, t)
        if self.bump is not None:
            bump = _bump(self.bump, t)
            emf += bump
            bump *= t - self.bump.a2_c
            bump *= 2 * self.bump.a1
            slope += bump
        return emf, slope


@overload
def emf_mv(kind: str, temperature_c: float) -> float: ...
@overload
def emf_mv(kind: str, temperature_c: Floats) -> Floats: ...
def emf_mv(kind: str, temperature_c: ArrayLike) -> float | Floats:
    """Return the emf in mV of a junction at `temperature_c`, the reference junction at 0 degrees Celsius.

    Raises ThermocoupleError outside the range of the type, for NaN and for infinity; nothing is extrapolated.
    """
    return _piecewise(kind, temperature_c, _at_temperature, Piece.emf)


@overload
def temperature_c(kind: str, emf_mv: float) -> float: ...
@overload
def temperature_c(kind: str, emf_mv: Floats) -> Floats: ...
def temperature_c(kind: str, emf_mv: ArrayLike) -> float | Floats:
    """Return the temperature in degrees Celsius at which `emf_mv` gives this emf in mV.

    Better than 1e-9 K; below -200 degrees Celsius a float knows type T's polynomial of degree 14 only to 1e-10 mV,
    which is up to 1e-7 K where its emf hardly changes any more.
    Raises ThermocoupleError for an emf no temperature of the type's range has, for NaN and for infinity.
    """
    return _piecewise(kind, emf_mv, _at_emf, Piece.temperature)


@overload
def sensitivity(kind: str, temperature_c: float) -> float: ...
@overload
def sensitivity(kind: str, temperature_c: Floats) -> Floats: ...
def sensitivity(kind: str, temperature_c: ArrayLike) -> float | Floats:
    """Return how much the emf rises per kelvin at `temperature_c`, in mV/K; raises as `emf_mv` does."""
    return _piecewise(kind, temperature_c, _at_temperature, Piece.sensitivity)


@overload
def temperature_from_reading(kind: str, emf_mv: float, junction_c: float) -> float: ...
@overload
def temperature_from_reading(kind: str, emf_mv: Floats, junction_c: Floats | float) -> Floats: ...
def temperature_from_reading(kind: str, emf_mv: ArrayLike, junction_c: ArrayLike) -> float | Floats:
    """Return the temperature of the tip from the emf measured in mV with the reference junction at `junction_c`.

    The emf of the reference junction is added to what was measured, and the sum turned into a temperature: millivolts
    are added, never temperatures. Arrays are matched as numpy does. Raises ThermocoupleError as the two functions do.
    """
    cold = _piecewise(kind, junction_c, _at_temperature, Piece.emf)
    return _piecewise(kind, np.asarray(emf_mv, dtype=np.float64) + cold, _at_emf, Piece.temperature)


def range_c(kind: str) -> tuple[float, float]:
    """Return the lowest and the highest temperature a type is defined for, in degrees Celsius."""
    pieces = _pieces(kind)
    return pieces[0].low_c, pieces[-1].high_c


@cache
def _pieces(kind: str) -> tuple[Piece, ...]:
    """Return a type's stretches from cold to hot, cut wherever the function or its published inverse changes."""
    if kind not in KINDS:
        raise ThermocoupleError(f"There are functions for the types {', '.join(KINDS)}; “{kind}” is none of them.")
    lowest = INVERSE[kind][0].low_c
    guesses = [((one.low_c, one.high_c), one.coefficients) for one in INVERSE[kind]]
    guesses.insert(0, ((FORWARD[kind][0].low_c, lowest), (lowest,)))
    return tuple(
        _piece(kind, max(low, one.low_c), min(high, one.high_c), one.coefficients, guess)
        for (low, high), guess in guesses
        for one in FORWARD[kind]
        if max(low, one.low_c) < min(high, one.high_c)
    )


def _piece(kind: str, low: float, high: float, forward: tuple[float, ...], guess: tuple[float, ...]) -> Piece:
    slope = tuple(power * value for power, value in enumerate(forward))[1:]
    bump = K_BUMP if kind == "K" and low >= 0 else None
    bare = Piece(low, high, 0.0, 0.0, forward, slope, guess, bump)
    low_mv, high_mv = (float(one) for one in bare.emf(np.array([low, high])))
    return Piece(low, high, low_mv, high_mv, forward, slope, guess, bump)


def _piecewise(
    kind: str,
    values: ArrayLike,
    ends: Callable[[Piece], tuple[float, float, str]],
    work: Callable[[Piece, Floats], Floats],
) -> float | Floats:
    pieces = _pieces(kind)
    given = np.asarray(values, dtype=np.float64)
    flat = given.reshape(-1)
    low, _, unit = ends(pieces[0])
    _check_inside(kind, flat, low, ends(pieces[-1])[1], unit)
    cuts = [ends(piece)[0] for piece in pieces[1:]]
    made = np.empty_like(flat)
    for block in _blocks(flat.size):
        _work_block(pieces, cuts, flat[block], made[block], work)
    return float(made[0]) if given.ndim == 0 else made.reshape(given.shape)


def _work_block(
    pieces: tuple[Piece, ...],
    cuts: list[float],
    values: Floats,
    made: Floats,
    work: Callable[[Piece, Floats], Floats],
) -> None:
    """Fill `made`, piece by piece; a value on a cut belongs to the hotter piece."""
    first, last = np.searchsorted(cuts, [values.min(), values.max()], side="right")
    if first == last:
        made[:] = work(pieces[first], values)
        return
    which = np.searchsorted(cuts, values, side="right")
    for number in range(first, last + 1):
        chosen = np.flatnonzero(which == number)
        if chosen.size:
            made[chosen] = work(pieces[number], values[chosen])


def _check_inside(kind: str, values: Floats, low: float, high: float, unit: str) -> None:
    """Refuse what is no number or outside, naming the first such value."""
    wrong = ~((values >= low) & (values <= high))
    if not wrong.any():
        return
    at = int(np.argmax(wrong))
    place = f" (value {at + 1} of {values.size})" if values.size > 1 else ""
    if not np.isfinite(values[at]):
        raise ThermocoupleError(f"{values[at]} is not a number a thermocouple can have{place}.")
    raise ThermocoupleError(
        f"Type {kind} is defined from {_shown(low)} to {_shown(high)} {unit}; {_shown(values[at])} {unit} is outside"
        f"{place}, and nothing is extrapolated."
    )


def _at_temperature(piece: Piece) -> tuple[float, float, str]:
    return piece.low_c, piece.high_c, "°C"


def _at_emf(piece: Piece) -> tuple[float, float, str]:
    return piece.low_mv - NOISE_MV, piece.high_mv + NOISE_MV, "mV"


def _blocks(size: int) -> Iterator[slice]:
    return (slice(start, start + BLOCK) for start in range(0, size, BLOCK))


def _polynomial(coefficients: tuple[float, ...], x: Floats) -> Floats:
    """Return the polynomial by Horner's rule, in one array."""
    made = np.full_like(x, coefficients[-1])
    for coefficient in coefficients[-2::-1]:
        made *= x
        made += coefficient
    return made


def _bump(bump: Bump, t: Floats) -> Floats:
    made = t - bump.a2_c
    made *= made
    made *= bump.a1
    np.exp(made, out=made)
    made *= bump.a0_mv
    return made


def _shown(value: float) -> str:
    return f"{value:.5f}".rstrip("0").rstrip(".")
