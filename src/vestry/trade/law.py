"""A law: the distribution that a measured quantity is drawn from, as a lead writes it in a file.

Numbers only. Nothing here draws; the amounts do (`vestry.contact`). A law's unit is its record's, not its own.
"""

from __future__ import annotations

from math import exp, inf, log, sqrt
from statistics import NormalDist
from typing import Literal

from pydantic import model_validator

from vestry.trade.values import Value

Kind = Literal["fixed", "uniform", "log-uniform", "triangular", "beta", "normal", "log-normal"]

NEEDS: dict[str, tuple[str, ...]] = {
    "fixed": ("value",),
    "uniform": ("low", "high"),
    "log-uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "beta": ("alpha", "beta"),
    "normal": ("mean", "sd"),
    "log-normal": ("median", "gsd"),
}
MAY_HAVE: dict[str, tuple[str, ...]] = {"normal": ("low", "high"), "log-normal": ("low", "high")}
PARAMETERS = ("value", "low", "mode", "high", "alpha", "beta", "mean", "sd", "median", "gsd")


class Law(Value):
    """One distribution; which fields it has follows from `kind`.

    fixed        `value`
    uniform      `low` to `high`
    log-uniform  the logarithm is uniform between those of `low` and `high`, both above 0
    triangular   `low`, `mode` (most likely), `high`
    beta         `alpha`, `beta`; between 0 and 1
    normal       `mean`, `sd`; cut off at `low` and `high` where given (drawn from what is left, not piled up there)
    log-normal   `median`, `gsd` (geometric standard deviation, above 1); cut off likewise

    ValidationError says which field is missing, does not belong, or is out of order.
    """

    kind: Kind
    value: float | None = None
    low: float | None = None
    mode: float | None = None
    high: float | None = None
    alpha: float | None = None
    beta: float | None = None
    mean: float | None = None
    sd: float | None = None
    median: float | None = None
    gsd: float | None = None

    @model_validator(mode="after")
    def _fields_of_its_kind(self) -> Law:
        needs, may = NEEDS[self.kind], MAY_HAVE.get(self.kind, ())
        given = {name for name in PARAMETERS if getattr(self, name) is not None}
        missing = [name for name in needs if name not in given]
        foreign = [name for name in PARAMETERS if name in given and name not in (*needs, *may)]
        wrong = []
        if missing:
            wrong.append(f"{', '.join(missing)} missing")
        if foreign:
            wrong.append(f"{', '.join(foreign)} does not belong to it")
        if wrong:
            optional = f" (and may have {', '.join(may)})" if may else ""
            raise ValueError(f"a {self.kind} law has {', '.join(needs)}{optional}: {'; '.join(wrong)}")
        for holds, what in self._order():
            if not holds:
                raise ValueError(f"a {self.kind} law needs {what}")
        return self

    def _order(self) -> list[tuple[bool, str]]:
        low = -inf if self.low is None else self.low
        high = inf if self.high is None else self.high
        rules = [(low < high, "low below high")]
        if self.kind == "log-uniform":
            rules.append((low > 0, "low above 0"))
        if self.mode is not None:
            rules.append((low <= self.mode <= high, "mode between low and high"))
        for name in ("alpha", "beta", "sd", "median"):
            number = getattr(self, name)
            rules.append((number is None or number > 0, f"{name} above 0"))
        rules.append((self.gsd is None or self.gsd > 1, "gsd above 1"))
        if self.kind == "log-normal":
            rules.append((high > 0 and (self.low is None or low >= 0), "low and high not below 0"))
        return rules

    def parameters(self) -> dict[str, float]:
        """The fields that are given, without `kind`."""
        return {name: getattr(self, name) for name in PARAMETERS if getattr(self, name) is not None}

    @property
    def support(self) -> tuple[float, float]:
        """Lowest and highest value that can be drawn; infinite where nothing bounds it."""
        if self.kind == "fixed":
            return _sure(self.value), _sure(self.value)
        if self.kind == "beta":
            return 0.0, 1.0
        lowest = 0.0 if self.kind == "log-normal" else -inf
        return lowest if self.low is None else self.low, inf if self.high is None else self.high

    @property
    def central(self) -> float:
        """The median; for a beta law the mean, which needs no special function."""
        match self.kind:
            case "fixed":
                return _sure(self.value)
            case "uniform":
                return (_sure(self.low) + _sure(self.high)) / 2
            case "log-uniform":
                return sqrt(_sure(self.low) * _sure(self.high))
            case "triangular":
                return _triangular_median(_sure(self.low), _sure(self.mode), _sure(self.high))
            case "beta":
                return _sure(self.alpha) / (_sure(self.alpha) + _sure(self.beta))
            case "normal":
                return _cut_off_median(NormalDist(_sure(self.mean), _sure(self.sd)), self.low, self.high)
            case "log-normal":
                low = log(self.low) if self.low else None
                high = None if self.high is None else log(self.high)
                return exp(_cut_off_median(NormalDist(log(_sure(self.median)), log(_sure(self.gsd))), low, high))


def _sure(number: float | None) -> float:
    assert number is not None, "the law was checked when it was read"
    return number


def _triangular_median(low: float, mode: float, high: float) -> float:
    if mode >= (low + high) / 2:
        return low + sqrt((high - low) * (mode - low) / 2)
    return high - sqrt((high - low) * (high - mode) / 2)


def _cut_off_median(law: NormalDist, low: float | None, high: float | None) -> float:
    below = 0.0 if low is None else law.cdf(low)
    upto = 1.0 if high is None else law.cdf(high)
    middle = (below + upto) / 2
    if middle <= 0 and high is not None:  # so far out that no mass is left in double precision
        return high
    if middle >= 1 and low is not None:
        return low
    return law.inv_cdf(middle)
