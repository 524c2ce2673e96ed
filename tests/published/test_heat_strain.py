"""Predicted heat strain against the examples of ISO 7933, as the library in use reckons them within our ranges.

Tolerances were written down before the first run. 2004: those of the standard itself, 0.1 degrees and 1 percent of
sweat (recalled), and 2 minutes on a limit. 2023: those that the library states for itself, 0.3 degrees, 2.5 percent and
10 minutes; it declares row c a mismatch, and one number of it stands here as a miss.
"""

from __future__ import annotations

import pytest

from vestry.heat import Conditions, predict
from vestry.trade.operations import load_operations

pytestmark = [pytest.mark.published, pytest.mark.slow]  # the library takes seconds to come up
OPERATIONS = load_operations()
BODY = 1.938  # square metres of a body of 75 kg and 1.80 m: the 2023 examples give watts

CORE_2004, SWEAT_2004, MINUTES_2004 = 0.1, 0.01, 2
CORE_2023, SWEAT_2023, MINUTES_2023 = 0.3, 0.025, 10

# ISO 7933:2004 Annex F (values recalled; confirmed within 3 g by the test file of pythermalcomfort 2.10.0; rows 4 and 7
# read in that file). Row 10 has somebody walking in a wind, which is not asked for here:
# acclimatised, posture, air, vapour kPa, radiant, speed, W/m2, clo -> rectal, sweat g, limits: core, loss 50, loss 95
ROWS_2004 = {
    "1": (True, "standing", 40, 2.5, 40, 0.3, 150, 0.5, 37.5, 6168, 480, 439, 298),
    "2": (True, "standing", 35, 4.0, 35, 0.3, 150, 0.5, 39.8, 6935, 74, 385, 256),
    "3": (True, "standing", 30, 3.0, 50, 0.3, 150, 0.5, 37.7, 7166, 480, 380, 258),
    "4": (False, "standing", 28, 3.0, 58, 0.3, 150, 0.5, 41.2, 5807, 57, 466, 314),
    "5": (False, "sitting", 35, 3.0, 35, 1.0, 150, 0.5, 37.6, 3892, 480, 480, 463),
    "6": (True, "sitting", 43, 3.0, 43, 0.3, 103, 0.5, 37.3, 6763, 480, 401, 271),
    "7": (False, "standing", 35, 3.0, 35, 0.3, 206, 0.5, 39.2, 7236, 70, 372, 247),
    "8": (False, "standing", 34, 3.0, 34, 0.3, 150, 1.0, 41.0, 5548, 67, 480, 318),
    "9": (True, "standing", 40, 3.0, 40, 0.3, 150, 0.4, 37.5, 6684, 480, 407, 276),
}

# ISO 7933:2023 examples, as coded in the tests of pythermalcomfort 4.8.1 (seen): acclimatised, posture, air, radiant,
# humidity, speed, W, clo, reflective share, its emissivity -> core, sweat g, limits: core (None: not reached, as it is
# not printed; "": not printed, and at its edge), loss
ROWS_2023 = {
    "a": (True, "standing", 40, 40, 35, 0.3, 300, 0.5, 0, None, 37.6, 6538, None, 280),
    "b": (False, "standing", 35, 35, 60, 0.1, 300, 0.5, 0, None, 40.8, 6345, 62, 250),
    "c": (False, "standing", 30, 54.2, 35, 0.1, 300, 0.8, 0.3, 0.85, 38.7, 6419, 149, 280),
    "d": (False, "standing", 30, 30, 45, 1.0, 450, 0.5, 0, None, 38.0, 4593, "", 400),
    "e": (True, "sitting", 35, 74.6, 30, 1.0, 250, 1.0, 0.2, 0.85, 37.5, 5813, None, 310),
}
# Row c, limit by core temperature: printed 149 minutes, reckoned 181, so 32 minutes too late where 10 are allowed, and
# too late is the side that is not cautious. The library declares core temperature and limit of this row mismatches. The
# core at the end is printed 38.7 and reckoned 38.42 degrees, 0.28 too low: the tolerance of 0.3 lets that pass. Sweat
# (0.9 percent) and the limit by loss (5 minutes) hold. What in the model differs the printed example does not say.
MISSES_2023 = {"c": (149, 181)}
MISSED_BY = {"c": 32}


@pytest.mark.parametrize("row", ROWS_2004)
def test_the_examples_of_2004(row: str) -> None:
    used, posture, air, vapour, radiant, speed, work, clo, rectal, sweat, core_min, loss50, loss95 = ROWS_2004[row]
    found = predict(
        Conditions(
            edition="iso-7933-2004",
            acclimatised=used,
            posture=posture,
            air=air,
            vapour=vapour,
            radiant=radiant,
            speed=speed,
            metabolic=work,
            clothing=clo,
        ),
        OPERATIONS,
    )

    assert found.rectal_at_end == pytest.approx(rectal, abs=CORE_2004)
    assert found.sweat_grams == pytest.approx(sweat, rel=SWEAT_2004)
    for limit, printed in ((found.core, core_min), (found.loss_half, loss50), (found.loss_most, loss95)):
        if printed == 480:  # as long as the example: not reached, and no number is given
            assert limit.minutes is None
        else:
            assert limit.minutes == pytest.approx(printed, abs=MINUTES_2004)


@pytest.mark.parametrize("row", ROWS_2023)
def test_the_examples_of_2023(row: str) -> None:
    used, posture, air, radiant, humidity, speed, watts, clo, share, emits, core, sweat, core_min, loss = ROWS_2023[row]
    found = predict(
        Conditions(
            edition="iso-7933-2023",
            acclimatised=used,
            posture=posture,
            air=air,
            radiant=radiant,
            humidity=humidity,
            speed=speed,
            metabolic=watts / BODY,
            clothing=clo,
            reflective=share,
            emissivity=emits,
        ),
        OPERATIONS,
    )

    assert found.core_at_end == pytest.approx(core, abs=CORE_2023)
    assert found.sweat_grams == pytest.approx(sweat, rel=SWEAT_2023)
    assert found.loss_most.minutes == pytest.approx(loss, abs=MINUTES_2023)
    if core_min == "":
        assert found.core_at_end == pytest.approx(38.0, abs=CORE_2023)
    elif core_min is None:
        assert found.core.minutes is None
    elif row in MISSES_2023:
        printed, ours = MISSES_2023[row]
        assert core_min == printed
        assert found.core.minutes == ours
        assert ours - printed == MISSED_BY[row] > MINUTES_2023
        assert core - found.core_at_end == pytest.approx(0.28, abs=0.01)
    else:
        assert found.core.minutes == pytest.approx(core_min, abs=MINUTES_2023)
