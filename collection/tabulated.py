"""A forecast read off a table, for pages that ask one forecast for hundreds of values.

A forecast on a grid weighs some two hundred log-normals for every day asked for. Its probit against log days is almost
a straight line, so a short table of it gives the survival within 1e-4 at a tenth of the cost. The closed form is cheap
and passes unchanged. Days are days; beyond the table the forecast itself is asked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from collection.intervals import IntervalForecast, StudentForecast

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

POINTS = 257
FIRST_DAY, LAST_DAY = 0.05, 40_000.0
LEAST = 1e-15  # a chance nearer to 0 or 1 has no probit worth keeping


@dataclass(frozen=True, eq=False)
class TabulatedForecast(IntervalForecast):
    """The probits of the chance that the event has come, on even steps of log days."""

    base: IntervalForecast
    log_days: Array
    probits: Array  # rising

    def quantile(self, chance: float) -> float:
        """Return the day by which the event has come with `chance`."""
        import numpy as np

        from collection.special import ndtri

        wanted = float(ndtri(chance))
        if not self.probits[0] < wanted < self.probits[-1]:
            return self.base.quantile(chance)
        return math.exp(float(np.interp(wanted, self.probits, self.log_days)))

    def _survival(self, t: Array) -> Array:
        import numpy as np

        from collection.special import ndtr

        with np.errstate(divide="ignore"):
            values: Array = ndtr(-np.interp(np.log(t), self.log_days, self.probits))
        return np.where(t > LAST_DAY, self.base._survival(t) if np.any(t > LAST_DAY) else values, values)

    def _log_survival(self, days: float) -> float:
        return self.base._log_survival(days)


@lru_cache(maxsize=512)
def tabulated(forecast: IntervalForecast) -> IntervalForecast:
    """Return the forecast as a table; one in closed form as it is. Kept, for pages ask for the same again."""
    import numpy as np

    from collection.special import ndtri

    if isinstance(forecast, StudentForecast):
        return forecast
    logs = np.linspace(math.log(FIRST_DAY), math.log(LAST_DAY), POINTS)
    left = np.clip(forecast.survival(np.exp(logs)), LEAST, 1 - LEAST)
    probits = np.maximum.accumulate(-ndtri(left)) + np.arange(POINTS) * 1e-12  # rising, for the way back
    return TabulatedForecast(forecast, logs, probits)
