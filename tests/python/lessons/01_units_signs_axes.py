import numpy as np

given("+3°", "2° and 4°")
assert np.allclose(placed.axis_deg, [3, 1, -3], atol=1e-12)
states("3, then 3 − 2 = 1, then 1 − 4 = −3")
states(f"{1000 / 9.80665:.0f} kg")
assert hang.gravity_m_s2 == 9.80665
assert placed.mass_kg == 70 + 3 * 60 + 20
assert np.isclose(weight_n, 270 * 9.80665)
