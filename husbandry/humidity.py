"""Water vapour in air: saturation pressure, deficit, dew point and grams a cubic metre.

Saturation is over liquid water at every temperature, also below 0 °C (the dew point, not the frost point), after the
six-term equation of Sonntag (Z. Meteorol. 40, 1990, 340–344), which lies within 0.01 % of IAPWS-95 from 5 to 45 °C.
No enhancement factor for air is applied: moist air at sea level holds about 0.5 % more. Relative humidity is in per
cent. Limits: −100 to 100 °C, for which the equation over water was published. Every function raises
ValueError, with a sentence, for what no air can be.
"""

import math

LOWEST, HIGHEST = -100.0, 100.0  # °C
ZERO_CELSIUS = 273.15
SONNTAG = (-6096.9385, 21.2409642, -2.711193e-2, 1.673952e-5, 2.433502)  # ln e in Pa: a/T + b + c·T + d·T² + e·ln T
VAPOUR_CONSTANT = 461.523  # J/(kg K), of water vapour


def checked_celsius(celsius: float) -> float:
    """The temperature itself. Errors: ValueError for NaN and outside −100 to 100 °C."""
    if not LOWEST <= celsius <= HIGHEST:
        raise ValueError(f"{celsius:.10g} °C is no temperature of air that can be worked with: −100 to 100 °C.")
    return float(celsius)


def checked_humidity(relative_humidity: float) -> float:
    """The relative humidity itself, in per cent. Errors: ValueError for NaN and outside 0 to 100 %."""
    if not 0 <= relative_humidity <= 100:
        raise ValueError(f"A relative humidity of {relative_humidity:.10g} % cannot be: it lies between 0 and 100 %.")
    return float(relative_humidity)


def saturation_vapour_pressure(celsius: float) -> float:
    """Pressure of saturated vapour over water, in Pa.

    >>> round(saturation_vapour_pressure(25), 1)
    3169.9
    """
    kelvin = checked_celsius(celsius) + ZERO_CELSIUS
    a, b, c, d, e = SONNTAG
    return math.exp(a / kelvin + b + c * kelvin + d * kelvin**2 + e * math.log(kelvin))


def vapour_pressure_deficit(celsius: float, relative_humidity: float) -> float:
    """How much vapour pressure is missing to saturation, in Pa: what dries an animal and its substrate."""
    return saturation_vapour_pressure(celsius) * (1 - checked_humidity(relative_humidity) / 100)


def dew_point(celsius: float, relative_humidity: float) -> float:
    """The temperature in °C to which this air must cool until dew falls, over water, by Newton's method.

    Errors: ValueError also for air so dry that its dew point lies below −100 °C, at 0 % first of all.
    """
    wanted = saturation_vapour_pressure(celsius) * checked_humidity(relative_humidity) / 100
    if wanted < saturation_vapour_pressure(LOWEST):
        raise ValueError(f"At {relative_humidity:g} % the dew point lies below −100 °C; it is not worked out.")
    log_wanted = math.log(wanted)
    point = float(celsius)
    for _ in range(50):
        kelvin = point + ZERO_CELSIUS
        step = (math.log(_pressure_at(kelvin)) - log_wanted) / _slope(kelvin)
        point -= step
        if abs(step) < 1e-10:
            break
    return point


def absolute_humidity(celsius: float, relative_humidity: float) -> float:
    """Water in a cubic metre of this air, in g/m³, as an ideal gas."""
    vapour = saturation_vapour_pressure(celsius) * checked_humidity(relative_humidity) / 100
    return vapour / (VAPOUR_CONSTANT * (celsius + ZERO_CELSIUS)) * 1000


def _pressure_at(kelvin: float) -> float:
    """The same equation without its limits: Newton's steps may overshoot them by a little."""
    a, b, c, d, e = SONNTAG
    return math.exp(a / kelvin + b + c * kelvin + d * kelvin**2 + e * math.log(kelvin))


def _slope(kelvin: float) -> float:
    """How the logarithm of the pressure grows with temperature."""
    a, _, c, d, e = SONNTAG
    return -a / kelvin**2 + c + 2 * d * kelvin + e / kelvin
