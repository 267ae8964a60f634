import math

import numpy as np

given("0.30 m", "0.50 m", "2° and 4°")
cut = {force.name: force for force in ha.lesson.forces_below(hang, 0, 1)}
states(f"{cut['weight'].size_n:.0f} N × 0.30 m = link × 0.50 m")
states(f"{cut['rear link'].size_n:.0f} N", f"{cut['front hinge'].size_n:.0f} N")
assert math.isclose(cut["rear link"].size_n, 120 * 9.80665 * 0.3 / 0.5, rel_tol=1e-12)
link_n = [ha.joint_loads(hang, tilt).rear_link_n[1] for tilt in (0, 10, 20, 30, 40)]
assert np.all(np.diff(link_n) < 0)
assert link_n[-1] < 0 < link_n[-2]
states("+40°")
# The CG of what hangs below lies 0.30 m behind and 0.40 m below the hinge: plumb at 36.9°.
at_plumb = ha.joint_loads(hang, math.degrees(math.atan2(0.30, 0.40))).rear_link_n[1]
assert abs(at_plumb) < 1e-9
closing = ha.close(closed, 0)
assert closing.stop_force_n[2] > 0
