import math

import numpy as np

given(
    "1.25 kg/m³", "15 m/s", "30 m/s", "1°, 9° or 30°", "−0.40 m", "1.40 m", "15 N, 150 N or 1500 N"
)
weight_n = ha.pose(hang, 0).mass_kg * hang.gravity_m_s2
states(f"weighs {weight_n:.0f} N")
push = {}
for speed in (15, 30):
    blown = ha.wind_loads(hang, 0, [0.1, -0.7], ha.Wind(speed_m_s=speed), top_m=8, closed=True)
    push[speed] = blown.force_n.sum()
    assert math.isclose(
        math.tan(math.radians(blown.line_deg)), push[speed] / weight_n, rel_tol=1e-9
    )
assert math.isclose(push[30], 4 * push[15], rel_tol=1e-9)
assert (
    8
    < ha.wind_loads(hang, 0, [0.1, -0.7], ha.Wind(speed_m_s=15), top_m=8, closed=True).line_deg
    < 10
)
at_limit = ha.wind_loads(
    hang, 0, [0.1, -0.7], ha.Wind(speed_m_s=speeds["line_limit_deg"]), top_m=8, closed=True
)
assert abs(at_limit.line_deg - 5) < 5e-3
profile = math.log(10 / 0.05)
exposure = (1 + 7 / profile) * (0.19 * profile) ** 2
assert math.isclose(peak.pressure_pa, exposure * 0.5 * 1.25 * 25**2, rel_tol=1e-9)
assert abs(exposure - 2.35) < 0.01  # EN 1991-1-4, figure 4.2
lever_m = ha.pose(tension, 0).cg_m[0] + 0.40
states(f"{lever_m:.3f} m", f"{pulled.force_n:.0f} N")
assert math.isclose(pulled.force_n, 250 * 9.80665 * lever_m / 1.40, rel_tol=1e-9)
assert free_deg < 0
by_hand = (9.80665 * 120 * 0.30 + pulled.force_n * 0.8) / 0.5
assert math.isclose(pulled.rear_link_n[1], by_hand, rel_tol=1e-9)
assert np.all(pulled.rear_link_n > still)
