from math import isclose

import numpy as np

given(
    "75 kg",
    "50° and 30°",
    "sin 60°",
    "sin 40°",
    "sin 80°",
    "40 lb",
    "6 m",
    "800 N/m",
    "20 mm",
    "1 %, 10 % or 50 %",
    "6 mm",
    "1 mm",
    "400 N",
)
weight = 75 * 9.81
by_hand = weight * np.sin(np.radians([60, 40])) / np.sin(np.radians(80))
crate = ha.bridle(anchors, apex_m=(0, 0), load_n=weight)
assert np.allclose(crate.force_n, by_hand, rtol=1e-9)
assert np.abs(by_hand - [647, 480]).max() < 0.6  # as printed
states(f"{crate.force_n[0]:.0f} N against {crate.force_n[1]:.0f} N")
for included in (30, 60, 90, 120, 150):
    a = np.radians(included / 2)
    legs = ha.bridle([(-np.sin(a), 0), (np.sin(a), 0)], lengths_m=[1, 1], load_n=1000)
    assert np.allclose(legs.force_n, 1000 / (2 * np.cos(a)), rtol=1e-9)
    if included == 120:
        assert isclose(legs.force_n[0], 1000, rel_tol=1e-9)
states("120°")
cable = 40 / 2 * np.sqrt(89) / 8
three = ha.bridle([(-3, -4, 8), (-3, 4, 8), (5, 0, 0)], apex_m=(0, 0, 0), load_n=40).force_n
assert np.allclose(three, [cable, cable, 2 * cable * 3 / np.sqrt(89)], rtol=1e-9)
states(f"{three[0]:.1f}, {three[1]:.1f} and {three[2]:.1f} lb")
wl = 4800
states(f"wℓ = {wl} N")
assert np.allclose(beam.reaction_n / wl, [0.4, 1.1, 1.1, 0.4], rtol=1e-9)
assert isclose(beam.moment_nm(6.0), -0.1 * wl * 6, rel_tol=1e-9)
assert isclose(beam.moment_range_nm[1][0], 0.08 * wl * 6, rel_tol=1e-9)
states("0.4, 1.1, 1.1 and 0.4 wℓ", "−0.100 wℓ²", "0.080 wℓ²")
gain = 6 * 5e6 * 0.020 / 6**3
assert np.allclose(odd.reaction_n - level.reaction_n, [-gain / 2, gain, -gain / 2], rtol=1e-6)
states(f"{gain:.0f} N", f"from {level.reaction_n[1]:.0f} to {odd.reaction_n[1]:.0f} N")
states(f"{gain / level.reaction_n[1]:.0%}".replace("%", " %"), "9600 N")
change = 4e5 * 0.006 / 4
assert np.allclose(hung.load_n, 3000 + change * np.array([1, -1, 1, -1]), rtol=1e-9)
states(f"kh/4 = {change:.0f} N")
