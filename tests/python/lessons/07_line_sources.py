import numpy as np
from scipy.special import fresnel

given(
    "6 dB",
    "3 dB",
    "4 m",
    "5 to 10 m",
    "200 to 400 m",
    "1 kHz",
    "4 kHz",
    "40°",
    "5 m",
    "50 m",
    "0.25 m",
    "3 kHz",
    "20°",
)
c = ha.acoustics.sound_speed_m_s()
for f in (1000, 4000):
    states(f"{border_m[f]:.0f} m")
    # Fresnel's integrals (Born & Wolf, 8.7), from four lengths on (paraxial).
    away = distance_m > 16
    r, wave = distance_m[away], c / f
    s, co = fresnel(2 * np.sqrt(2 / (wave * r)))
    law_db = 20 * np.log10(np.sqrt(wave * r / 2) * 2 * np.hypot(s, co) / r * 16 / 4)
    # The lessons' line is in 16 pieces.
    assert np.abs(level_db[f][away] - law_db).max() < 0.1
    far = np.diff(np.interp([200, 400], distance_m, level_db[f]))[0]
    assert abs(far + 6.02) < 0.2
    fall = np.polyfit(
        np.log2(distance_m[(distance_m > 1) & (distance_m < border_m[f] / 2)]),
        level_db[f][(distance_m > 1) & (distance_m < border_m[f] / 2)],
        1,
    )[0]
    assert -4.0 < fall < -2.0, fall
# Round the arc the level hardly changes within its 20°, and falls beyond.
inside = np.abs(np.linspace(-40, 40, 161)) < 15
arc_around = ha.lesson.pattern_db(arc, np.linspace(-40, 40, 161), band_hz, 100)
assert arc_around[inside].min() > -4 and arc_around[inside].max() < 4
assert arc_around[np.abs(np.linspace(-40, 40, 161)) > 30].max() < -8
radius_m = 4 / np.radians(40)
out = (distance_m > 3) & (distance_m < 60)
arc_law_db = -10 * np.log10(distance_m[out] * (1 + distance_m[out] / radius_m))
off_db = arc_db[out] - arc_law_db
assert np.std(off_db) < 0.6
for fill in (0.8, 0.6):
    gapped = ha.lesson.line_source(length_m=3, count=12, fill=fill)
    (measured,) = ha.lesson.pattern_db(gapped, [lobe_deg], [3000], 500)
    theory = 20 * np.log10(np.sinc(fill))
    assert abs(measured - theory) < 0.05
    states(f"{theory:.1f} dB")
states("80 %", "60 %")
assert np.interp(lobe_deg, angle_deg, around["100% radiates"]) < -40
