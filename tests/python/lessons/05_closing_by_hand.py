"""Every number of the lesson with moments and levers, and the library's to all printed digits."""

from math import cos, hypot, isclose, radians, sin

g = hang.gravity_m_s2
given("0°", "−2°", "−6°", "2° and 4°", "2° down", "2° + 4° = 6° down", "4° up", "2° up")


def turned(x, z, phi_deg):
    phi = radians(phi_deg)
    return x * cos(phi) - z * sin(phi), x * sin(phi) + z * cos(phi)


def plus(p, q):
    return p[0] + q[0], p[1] + q[1]


hinge1 = turned(0.0, -0.40, 0.0)
hinge2 = plus(hinge1, turned(0.0, -0.40, -2.0))
hinge3 = plus(hinge2, turned(0.0, -0.40, -6.0))
cg1 = plus(hinge1, turned(-0.30, -0.20, -2.0))
cg2 = plus(hinge2, turned(-0.30, -0.20, -6.0))
cg3 = plus(hinge3, turned(-0.40, -0.10, -6.0))
upper = (-0.80, 0.0)
lower = plus(hinge3, turned(-0.80, -0.05, -6.0))
for point in (hinge2, hinge3, lower, cg1, cg2, cg3):
    states(f"({point[0]:.4f}, {point[1]:.4f})")
for by_hand, library in (
    (hinge1, placed.hinge_m[1]),
    (hinge2, placed.hinge_m[2]),
    (lower, placed.chain_m[1]),
):
    assert all(isclose(a, b, abs_tol=1e-12) for a, b in zip(by_hand, library, strict=True))

moment2 = g * (60 * (hinge2[0] - cg2[0]) + 20 * (hinge2[0] - cg3[0]))
moment1 = -g * (60 * cg1[0] + 60 * cg2[0] + 20 * cg3[0])
assert isclose(moment1, moment_nm[1], rel_tol=1e-12) and isclose(
    moment2, moment_nm[2], rel_tol=1e-12
)
states(f"{-cg2[0]:.4f} − {-hinge2[0]:.4f} = {hinge2[0] - cg2[0]:.4f} m")
states(f"{-cg3[0]:.4f} − {-hinge2[0]:.4f} = {hinge2[0] - cg3[0]:.4f} m")
states(f"{moment1:.1f} N m", f"{moment2:.1f} N m")

dx, dz = lower[0] - upper[0], lower[1] - upper[1]
length = hypot(dx, dz)
lever1, lever2 = (
    ((lower[0] - h[0]) * dz - (lower[1] - h[1]) * dx) / length for h in (hinge1, hinge2)
)
states(f"dx = {dx:.4f} m, dz = {dz:.4f} m, length {length:.4f} m")
states(f"Lever about hinge 1: {abs(lever1):.4f} m", f"Lever about hinge 2: {abs(lever2):.4f} m")
force1, force2 = moment1 / abs(lever1), moment2 / abs(lever2)
assert isclose(force1, closing.straight_line_force_n[1], rel_tol=1e-9)
assert isclose(force2, closing.straight_line_force_n[2], rel_tol=1e-9)
assert isclose(max(force1, force2), closing.closing_force_n, rel_tol=1e-9)
assert closing.governing_joint == 1
states(f"{force1:.0f} N", f"{force2:.0f} N", f"571.3 × 0.8240 = {force1 * abs(lever2):.1f} N m")
straight_n = ha.close(ha.lesson.small_hang(3), 0).closing_force_n
states(f"from {straight_n:.0f} to {force1:.0f} N", f"{straight_n:.0f} N")

upper_pin = plus(hinge2, turned(-0.5, 0.05, -2.0))
lower_pin = plus(hinge2, turned(-0.5, -0.05, -6.0))
px, pz = upper_pin[0] - lower_pin[0], upper_pin[1] - lower_pin[1]
pin_lever = abs((lower_pin[0] - hinge2[0]) * pz - (lower_pin[1] - hinge2[1]) * px) / hypot(px, pz)
stop2 = (force1 * abs(lever2) - moment2) / pin_lever
assert isclose(stop2, closing.stop_force_n[2], rel_tol=1e-9)
states(f"{pin_lever:.4f} m", f"{stop2:.0f} N")
states(f"(470.7 − 276.1)/{pin_lever:.4f} = {stop2:.0f} N")

assert list(closing.free_angle_deg[1:3]) == [-2.0, -2.0]
assert isclose(length, closing.chain_closed_m, rel_tol=1e-12)
states(f"{closing.chain_free_m:.3f} m", f"{closing.chain_closed_m:.3f} m")
assert closing.order == (2, 1)
