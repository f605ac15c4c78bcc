"""The special functions of scipy, without the parts of numpy that nobody here uses.

When scipy is first imported it copies every name that numpy lists, and numpy then fetches what it lists only for those
who ask: f2py, the test tools with unittest, polynomials and more. That costs 12 MiB for as long as the server runs and
60 ms of the first page. So those names are out of sight while scipy is imported; whoever wants one later still gets it.
Imported inside functions, as scipy itself would be.
"""

from __future__ import annotations

import sys
from types import ModuleType

import numpy


def _import_lean() -> ModuleType:
    """Import `scipy.special` while numpy lists only what it has loaded."""
    listed = vars(numpy)
    kept = {"__all__": numpy.__all__, "__dir__": numpy.__dir__}
    listed["__all__"] = [name for name in numpy.__all__ if name in listed]
    listed["__dir__"] = lambda: list(listed)
    try:
        import scipy.special as found
    finally:
        listed.update(kept)
    copied = sys.modules.get("scipy._lib.array_api_compat.numpy")
    if copied is not None and not hasattr(copied, "__getattr__"):
        vars(copied)["__getattr__"] = numpy.__getattr__  # what was out of sight is found when it is asked for
    special: ModuleType = found
    return special


_special = _import_lean()

betainc = _special.betainc
betaln = _special.betaln
chdtrc = _special.chdtrc
gammaincinv = _special.gammaincinv
gammaln = _special.gammaln
log_ndtr = _special.log_ndtr
logsumexp = _special.logsumexp
ndtr = _special.ndtr
ndtri = _special.ndtri
pdtr = _special.pdtr
stdtr = _special.stdtr
stdtrit = _special.stdtrit
