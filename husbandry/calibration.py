"""Salt tests of a hygrometer: what a jar over a saturated salt should read, and the correction that follows.

Humidities: L. Greenspan, J. Res. Natl. Bur. Stand. 81A (1977) 89–96, polynomials in °C; his printed table cuts the
second decimal off, so these values lie up to 0.01 % above it, on purpose. Uncertainties: the same table, interpolated.
The figures are for pure salt; nothing is known of table salt with additives. Relative humidity is in per cent.

The sensor's own unrest, resolution and hysteresis together, is taken as ±0.5 % a reading, and a gain that one jar
cannot show as right to a tenth: both are assumptions. Parts are added as independent.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

READING = 0.5  # % RH, assumption: what one reading of a settled sensor may be off by chance
UNTRIED_GAIN = 0.1  # assumption: after a test in one jar the gain may be wrong by so much
UNTESTED = 5.0  # % RH, assumption: a common sensor that was never tested
LEAST_APART = 7.0  # % RH: nearer, READING in both jars leaves the gain as doubtful as untried (√2 · 0.5 / 7 = 0.1)
PLAUSIBLE_GAIN = (0.5, 2.0)  # beyond, the sensor is broken, or the salts were mixed up


@dataclass(frozen=True)
class _Salt:
    """Coefficients of rising powers of t, the highest t in °C of the fit, and ± every five degrees from 0 on."""

    powers: tuple[float, ...]
    until: float
    plus_minus: tuple[float, ...]


# fmt: off
_SALTS = {
    "LiCl": _Salt((11.2323, 0.00824245, -2.1489e-4), 80,
                  (.54, .47, .41, .35, .31, .27, .24, .22, .21, .21, .22, .23, .26, .28, .33, .38, .44)),
    "MgCl2": _Salt((33.6686, -0.00797397, -1.08988e-3), 100,
                   (.33, .28, .24, .21, .18, .16, .14, .13, .13, .13, .14, .16, .18, .21, .25, .29, .34, .39, .46, .52,
                    .60)),
    "K2CO3": _Salt((43.1315, 0.00147523), 30, (.66, .50, .39, .33, .33, .39, .50)),
    "Mg(NO3)2": _Salt((60.3514, -0.298153), 50, (.55, .43, .33, .27, .23, .22, .24, .29, .37, .47, .60)),
    "NaCl": _Salt((75.5164, 0.0398321, -2.65459e-3, 2.848e-5), 80,
                  (.34, .27, .22, .18, .14, .12, .11, .12, .13, .16, .19, .24, .30, .37, .45, .55, .65)),
    "KCl": _Salt((88.619, -0.19334, 8.99706e-4), 90,
                 (.53, .45, .39, .33, .29, .26, .25, .25, .25, .28, .31, .35, .41, .48, .57, .66, .77, .89, 1.0)),
    "K2SO4": _Salt((98.7792, -0.0590502), 50, (1.1, .91, .76, .63, .53, .45, .40, .38, .38, .40, .45)),
}
# fmt: on
SALTS = tuple(_SALTS)


@dataclass(frozen=True)
class SaltPoint:
    """The relative humidity over a saturated salt and its uncertainty, both in per cent."""

    relative_humidity: float
    uncertainty: float


@dataclass(frozen=True)
class Correction:
    """From what a sensor shows to what is: gain × shown + offset. `points` are the jars: (shown, true, ± of true)."""

    gain: float
    offset: float
    points: tuple[tuple[float, float, float], ...] = ()

    def correct(self, shown: float) -> float:
        """The relative humidity that the sensor means, kept within 0 and 100 %. Errors: ValueError."""
        return min(max(self.gain * _checked(shown) + self.offset, 0.0), 100.0)

    def beyond(self, shown: float) -> bool:
        """Whether a reading lies outside the tested jars, where the correction is only carried on."""
        return bool(self.points) and not self.points[0][0] <= _checked(shown) <= self.points[-1][0]

    def uncertainty(self, shown: float) -> float:
        """± of the corrected value in per cent; it grows with the distance from the jars.

        Without jars: that of a sensor that was never tested.
        """
        _checked(shown)
        if not self.points:
            return UNTESTED
        reading = self.gain * READING
        jars = [math.hypot(of_salt, reading) for _, _, of_salt in self.points]
        if len(self.points) == 1:
            return math.hypot(jars[0], reading, UNTRIED_GAIN * (shown - self.points[0][0]))
        (low, *_), (high, *_) = self.points
        share = (shown - low) / (high - low)
        return math.hypot((1 - share) * jars[0], share * jars[1], reading)


NONE = Correction(1.0, 0.0)


def salt_range(salt: str) -> tuple[float, float]:
    """The temperatures in °C for which the salt's figures hold. Errors: ValueError for a salt that is not listed."""
    return 0.0, _known(salt).until


def salt_humidity(salt: str, celsius: float) -> SaltPoint:
    """Relative humidity over a saturated solution. Errors: ValueError for an unknown salt, and outside its range.

    >>> round(salt_humidity("NaCl", 25).relative_humidity, 3)
    75.298
    """
    known = _known(salt)
    if not 0 <= celsius <= known.until:
        raise ValueError(f"The figures of {salt} hold from 0 to {known.until:g} °C; {celsius:g} °C lies outside.")
    humidity = sum(factor * celsius**power for power, factor in enumerate(known.powers))
    step, rest = divmod(celsius / 5, 1)
    below = known.plus_minus[int(step)]
    above = known.plus_minus[min(int(step) + 1, len(known.plus_minus) - 1)]
    return SaltPoint(humidity, below + (above - below) * rest)


def one_point(shown: float, salt: str, celsius: float) -> Correction:
    """The correction from one jar: an offset. Errors: ValueError."""
    true = salt_humidity(salt, celsius)
    point = (_checked(shown), true.relative_humidity, true.uncertainty)
    return Correction(1.0, true.relative_humidity - shown, (point,))


def two_point(shown_1: float, salt_1: str, shown_2: float, salt_2: str, celsius: float) -> Correction:
    """The correction from two jars at one temperature, in either order: a gain and an offset.

    Errors: ValueError for one salt twice, jars too near each other, and readings that no working sensor shows.
    """
    jars = [(_checked(shown), salt_humidity(salt, celsius)) for shown, salt in ((shown_1, salt_1), (shown_2, salt_2))]
    (s1, first), (s2, second) = sorted(jars, key=lambda jar: jar[1].relative_humidity)
    apart = second.relative_humidity - first.relative_humidity
    if apart < LEAST_APART:
        raise ValueError(f"{salt_1} and {salt_2} are too near each other to tell a gain. Take salts further apart.")
    if s2 <= s1:
        raise ValueError("It showed no more over the damper salt than over the drier one. Were the jars mixed up?")
    gain = apart / (s2 - s1)
    if not PLAUSIBLE_GAIN[0] <= gain <= PLAUSIBLE_GAIN[1]:
        raise ValueError(
            f"By these readings {s2 - s1:g} % on the sensor are {apart:.1f} % in the air. That is no drift: "
            "the jars had not settled, or the sensor is broken."
        )
    points = tuple((shown, true.relative_humidity, true.uncertainty) for shown, true in ((s1, first), (s2, second)))
    return Correction(gain, first.relative_humidity - gain * s1, points)


def corrections_in_force(instants: Sequence[int], since: Sequence[int]) -> list[int]:
    """For each instant the index of the latest of `since` (ascending) that has begun, or −1 before the first."""
    from bisect import bisect_right

    return [bisect_right(since, instant) - 1 for instant in instants]


def _known(salt: str) -> _Salt:
    if salt not in _SALTS:
        raise ValueError(f"No figures for {salt}. Known are {', '.join(SALTS)}.")
    return _SALTS[salt]


def _checked(shown: float) -> float:
    if not 0 <= shown <= 100:
        raise ValueError(f"A sensor that shows {shown:g} % is out of order: humidity lies between 0 and 100 %.")
    return float(shown)
