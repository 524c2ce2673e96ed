"""Predicted heat strain (ISO 7933) by pythermalcomfort, only inside the ranges that the model was checked in.

Impermeable suits lie outside by the standard's own scope: for them there is no figure here, only what was measured.
The library's defaults are not taken where they flatter: nobody is taken as used to heat, nothing as reflective.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import cache
from math import exp, isfinite
from threading import Lock
from typing import Any, Literal

from vestry.trade.operations import Operations
from vestry.trade.operations_values import FieldHeat, ModelRange

Edition = Literal["iso-7933-2004", "iso-7933-2023"]
Posture = Literal["standing", "sitting", "crouching"]
W_M2_IN_MET = 58.15
CORE_LIMIT = 38.0
MINUTES = 480
BODY_KG = 75
# Share of the body's mass in water that may be lost: the average person, and all but 5 in 100.
LOSS: dict[Edition, tuple[float, float]] = {"iso-7933-2004": (0.075, 0.05), "iso-7933-2023": (0.05, 0.05)}
# The library runs its kernel in parallel threads, which must not be entered from two at once.
_ONE_AT_A_TIME = Lock()


@dataclass(frozen=True)
class Conditions:
    """The surroundings, the work and the clothing.

    air, radiant      degrees Celsius; radiant None: as the air
    humidity, vapour  relative humidity in percent, or vapour pressure in kPa: one of them
    speed             of the air, m/s
    metabolic         W per square metre
    clothing          insulation in clo;  permeability  its moisture permeability index, static
    impermeable       a suit that lets no vapour through: outside the model, whatever its index is said to be
    reflective        share of the body under reflecting cloth, with its emissivity
    minutes           how far it is reckoned
    """

    air: float
    speed: float
    metabolic: float
    clothing: float
    humidity: float | None = None
    vapour: float | None = None
    radiant: float | None = None
    posture: Posture = "standing"
    acclimatised: bool = False
    permeability: float = 0.38
    impermeable: bool = False
    reflective: float = 0.0
    emissivity: float | None = None
    edition: Edition = "iso-7933-2023"
    minutes: int = MINUTES


@dataclass(frozen=True)
class Reason:
    """Why there is no prediction: which quantity, what it is, and between which it would have to lie.

    what   `not-a-number`, `out-of-range`, `impermeable`, `give-one` (of humidity and vapour pressure)
    """

    what: Literal["not-a-number", "out-of-range", "impermeable", "give-one"]
    quantity: str
    value: float | None = None
    low: float | None = None
    high: float | None = None


class Outside(ValueError):
    """The model does not hold here; `.reasons` says why, all of them."""

    def __init__(self, reasons: tuple[Reason, ...]) -> None:
        self.reasons = reasons
        super().__init__("; ".join(f"{one.quantity}: {one.what}" for one in reasons))


@dataclass(frozen=True)
class Limit:
    """When a limit is reached; None when it is not within the minutes that were reckoned."""

    minutes: int | None


@dataclass(frozen=True)
class Predicted:
    """What the model says.

    core         the rectal temperature reaches 38.0 degrees
    loss_half    an average person has lost the water that may be lost;  loss_most  all but 5 in 100 have not
    at the end of `minutes`: rectal and core temperature, and sweat in grams. Beyond the limit the model runs on without
    a bound: a temperature there is arithmetic and no forecast.
    """

    conditions: Conditions
    core: Limit
    loss_half: Limit
    loss_most: Limit
    rectal_at_end: float
    core_at_end: float
    sweat_grams: float


def vapour_of(conditions: Conditions) -> float | None:
    """Vapour pressure in kPa; None when neither it nor the humidity is given. As the edition has it."""
    if conditions.vapour is not None:
        return conditions.vapour
    if conditions.humidity is None:
        return None
    return conditions.humidity / 100 * _saturated(conditions.air)


def _saturated(celsius: float) -> float:
    return 0.6105 * exp(17.27 * celsius / (celsius + 237.3))


def outside(conditions: Conditions, operations: Operations) -> tuple[Reason, ...]:
    """Every reason why the model does not hold for these conditions; empty when it does."""
    reasons = [*_no_numbers(conditions)]
    if conditions.impermeable:
        reasons.append(Reason("impermeable", "clothing"))
    if (conditions.humidity is None) == (conditions.vapour is None):
        reasons.append(Reason("give-one", "humidity"))
    if reasons:
        return tuple(reasons)
    radiant = conditions.air if conditions.radiant is None else conditions.radiant
    values = {
        "air": conditions.air,
        "radiant-over-air": radiant - conditions.air,
        "speed": conditions.speed,
        "clothing": conditions.clothing,
        "metabolic": conditions.metabolic,
        "vapour": vapour_of(conditions) if conditions.air > -200 else None,
        "permeability": conditions.permeability,
    }
    ranges = [one for one in operations.all(ModelRange) if one.model == conditions.edition]
    for one in ranges:
        value = values[one.quantity]
        if value is not None and not one.low - 1e-9 <= value <= one.high + 1e-9:
            reasons.append(Reason("out-of-range", one.quantity, value, one.low, one.high))
    for name, value, low, high in (
        ("humidity", conditions.humidity, 0, 100),
        ("reflective", conditions.reflective, 0, 1),
        ("emissivity", conditions.emissivity, 0, 1),
        ("minutes", conditions.minutes, 1, MINUTES),
    ):
        if value is not None and not low <= value <= high:
            reasons.append(Reason("out-of-range", name, value, low, high))
    return tuple(reasons)


def _no_numbers(conditions: Conditions) -> list[Reason]:
    names = ("air", "radiant", "humidity", "vapour", "speed", "metabolic", "clothing", "permeability")
    given = {name: getattr(conditions, name) for name in (*names, "reflective", "emissivity")}
    return [Reason("not-a-number", name) for name, value in given.items() if value is not None and not isfinite(value)]


def predict(conditions: Conditions, operations: Operations) -> Predicted:
    """The prediction. Outside with every reason where the model does not hold, or where it gives no number."""
    reasons = outside(conditions, operations)
    if reasons:
        raise Outside(reasons)
    found = _run(conditions)
    numbers = {name: float(getattr(found, name)) for name in ("t_re", "t_cr", "sweat_loss_g")}
    limits = {name: float(getattr(found, name)) for name in ("d_lim_t_re", "d_lim_loss_50", "d_lim_loss_95")}
    broken = [name for name, value in {**numbers, **limits}.items() if not isfinite(value)]
    if broken:
        raise Outside(tuple(Reason("not-a-number", name) for name in broken))
    half, most = (share * BODY_KG * 1000 for share in LOSS[conditions.edition])
    last = conditions.minutes
    return Predicted(
        conditions=conditions,
        core=_limit(limits["d_lim_t_re"], last, numbers["t_re"] >= CORE_LIMIT),
        loss_half=_limit(limits["d_lim_loss_50"], last, numbers["sweat_loss_g"] >= half),
        loss_most=_limit(limits["d_lim_loss_95"], last, numbers["sweat_loss_g"] >= most),
        rectal_at_end=numbers["t_re"],
        core_at_end=numbers["t_cr"],
        sweat_grams=numbers["sweat_loss_g"],
    )


def _limit(minutes: float, last: int, reached_at_end: bool) -> Limit:
    """The library gives the whole duration back for a limit that is never reached: that is no limit."""
    return Limit(int(minutes) if minutes < last or reached_at_end else None)


def _run(conditions: Conditions) -> Any:
    phs = _library()
    humidity = conditions.humidity
    if humidity is None:
        humidity = 100 * (conditions.vapour or 0.0) / _saturated_as_library(conditions)
    more = {} if conditions.emissivity is None else {"f_r": conditions.emissivity}
    with _ONE_AT_A_TIME, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return phs(
            tdb=conditions.air,
            tr=conditions.air if conditions.radiant is None else conditions.radiant,
            v=conditions.speed,
            rh=humidity,
            met=conditions.metabolic / W_M2_IN_MET,
            clo=conditions.clothing,
            posture=conditions.posture,
            model=conditions.edition.removeprefix("iso-"),
            i_mst=conditions.permeability,
            a_p=conditions.reflective,
            acclimatized=100 if conditions.acclimatised else 0,
            duration=conditions.minutes,
            weight=BODY_KG,
            round_output=False,
            limit_inputs=False,  # the ranges were looked at above, with a reason for each
            **more,
        )


@cache
def _library() -> Any:
    """Two to ten seconds at the first call of a process: brought in only where it is needed."""
    from pythermalcomfort.models import phs  # type: ignore[import-untyped]

    return phs


def _saturated_as_library(conditions: Conditions) -> float:
    if conditions.edition == "iso-7933-2023":
        return _saturated(conditions.air)
    from pythermalcomfort.psychrometrics import p_sat  # type: ignore[import-untyped]

    return float(p_sat(conditions.air)) / 1000


def measured(operations: Operations) -> tuple[FieldHeat, ...]:
    """What was found on people in suits that the model does not cover."""
    return operations.all(FieldHeat)
