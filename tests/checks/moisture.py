"""Water vapour in the air above a bottle."""

from labstock.chemistry.moisture import absolute_humidity_mg_per_L, vapour_pressure_Pa
from tests.checks.row import Check, near

ASHRAE = "ASHRAE Handbook of Fundamentals 2017, ch. 1 table 3; Magnus may be 0.31 % off"
MAGNUS = "Magnus formula with 611.2, 17.62 and 243.12, hand calculation"
BOTH = "PsychroLib 2.5.0 with the ideal gas law, and CoolProp 8.0.0; ± 0.7 %"


def humidity_g_per_m3(celsius: float, percent: float) -> float:
    """Return the water in air [g/m³]."""
    return float(absolute_humidity_mg_per_L(celsius, percent).n)


CHECKS: list[Check] = [
    *(near("9.1", f"saturation pressure at {t} °C", printed, round(0.0035 * printed, 1), lambda t=t: vapour_pressure_Pa(t), ASHRAE, "Pa") for t, printed in ((5, 872.6), (25, 3169.7))),
    *(near("9.2", f"Magnus at {t} °C", printed, 0.01, lambda t=t: vapour_pressure_Pa(t), MAGNUS, "Pa") for t, printed in ((20, 2332.60), (25, 3160.06))),
    *(near("9.4", f"saturated air at {t} °C", printed, round(0.007 * printed, 3), lambda t=t: humidity_g_per_m3(t, 100), BOTH, "g/m³") for t, printed in ((20, 17.29), (25, 23.03), (30, 30.35))),
    *(
        near(number, f"air at {t} °C and {rh} %", printed, round(0.007 * printed, 3), lambda t=t, rh=rh: humidity_g_per_m3(t, rh), BOTH, "g/m³")
        for number, t, rh, printed in (("9.5", 20, 50, 8.64), ("9.6", 25, 60, 13.82), ("9.7", 40, 75, 38.3), ("9.8", 30, 65, 19.73), ("9.9", 5, 60, 4.08))
    ),
    *(
        near(number, f"vapour pressure at {t} °C and {rh} %", printed, round(0.0035 * printed), lambda t=t, rh=rh: rh / 100 * vapour_pressure_Pa(t), BOTH, "Pa")
        for number, t, rh, printed in (("9.5", 20, 50, 1169), ("9.6", 25, 60, 1902), ("9.7", 40, 75, 5538))
    ),
]  # fmt: skip
