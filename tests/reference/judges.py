"""Other people's survival analysis, loaded when a test asks for it. Their own warnings are not ours to mend."""

import warnings
from typing import Any


def load(name: str) -> Any:
    """The module of a judge: lifelines, statsmodels.duration.survfunc, sksurv.nonparametric or sksurv.compare."""
    from importlib import import_module

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return import_module(name)
