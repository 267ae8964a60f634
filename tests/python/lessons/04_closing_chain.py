import math

import numpy as np

G = 9.80665
given("2°, 3°, 4° and 5°", "60 kg", "20 kg", "0.30 m", "0.40 m", "0.80 m", "0.50 m")
assert closing.ended == "closed" and closing.closing_force_n > 0
assert closing.order == (4, 3, 2, 1)
states(f"{1000 * (closing.chain_free_m - closing.chain_closed_m):.0f} mm")
states(f"{closing.closing_force_n:.0f} N")
states(f"{(ha.pose(hang, 0).mass_kg - hang.frame.mass_kg) * G:.0f} N")
two = ha.close(ha.lesson.small_hang(2), 0)
moment_nm = G * (60 * 0.30 + 20 * 0.40)
states(f"9.80665 × (60 × 0.30 + 20 × 0.40) = {moment_nm:.0f} N m")
assert math.isclose(two.closing_force_n, moment_nm / 0.80, rel_tol=1e-9)
states(f"{moment_nm:.0f}/0.80 = {two.closing_force_n:.0f} N")
by_hand = [G * (60 * n * 0.30 + 20 * 0.40) / 0.80 for n in (3, 2, 1)]
assert np.allclose(four.straight_line_force_n[1:4], by_hand, rtol=1e-9)
assert math.isclose(four.closing_force_n, max(by_hand), rel_tol=1e-9)
states(f"{four.closing_force_n:.0f} N")
states(f"(760 − 319) × 0.80/0.50 = {four.stop_force_n[3]:.0f} N")
assert math.isclose(four.stop_force_n[3], (by_hand[0] - by_hand[2]) * 0.80 / 0.50, rel_tol=1e-9)
assert abs(four.stop_force_n[1]) < 1e-9 * four.closing_force_n
# The slider's last picture is the closed hang at its closing force.
slider = ha.lesson.closing(hang, 0)
assert f"{closing.closing_force_n:.0f} N; 4 of 4" in slider.states[-1][0]
