import math

import numpy as np

given(
    "70 kg",
    "60 kg",
    "0.35 m",
    "0.30 m",
    "−0.20 m",
    "1°, 10° or 45°",
    "+0.1 m",
    "−0.7 m",
    "−0.314 m",
)
x_m, z_m = placed.cg_m
states(f"{-x_m:.3f} m")
assert math.isclose(-x_m, (70 * 0.35 + 180 * 0.30) / 250, rel_tol=1e-12)
tilt_deg = ha.hanging_tilt(hang, -0.2).tilt_deg
states(f"by {tilt_deg:.1f}°", f"tan {tilt_deg:.1f}° = 0.114/0.604")
states(f"{0.2 - z_m:.3f} m above", f"{-0.2 - x_m:.3f} m ahead")
assert math.isclose(math.tan(math.radians(tilt_deg)), (-0.2 - x_m) / (0.2 - z_m), rel_tol=1e-9)
steps = -np.diff([ha.hanging_tilt(hang, x).tilt_deg for x in hang.frame.pick_x_m])
states("6° to 9°")
assert steps.min() > 6 and steps.max() < 9.5
states(f"{0.1 - x_m:.3f} m from the front hoist", f"{x_m + 0.7:.3f} m from the rear")
front_n, rear_n = ha.hoist_loads(hang, 0, [0.1, -0.7]).load_n
states(f"{rear_n:.0f} N at the rear", f"{front_n:.0f} N in front")
weight_n = 250 * 9.80665
assert math.isclose(rear_n, weight_n * (0.1 - x_m) / 0.8, rel_tol=1e-12)
assert math.isclose(front_n + rear_n, weight_n, rel_tol=1e-12)
assert np.all(np.diff([front for front, _ in loads]) >= 0)
