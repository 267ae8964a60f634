import numpy as np

given("8 kHz", "50 m", "1 dB, 3 dB or 8 dB", "500 Hz", "40 m", "331.3 m/s", "0 °C")
per_km = {
    name: 1000
    * ha.air_absorption_db_per_m(
        [500.0, 8000.0], temperature_c=air.temperature_c, humidity_percent=air.humidity_percent
    )
    for name, air in evenings.items()
}
(low_cold, high_cold), (low_warm, high_warm) = per_km.values()
states(
    f"{0.05 * high_cold:.1f} dB over 50 m on the dry cold",
    f"{0.05 * high_warm:.1f} dB on the humid warm",
)
states("neither evening takes 2 dB in half a kilometre")
assert max(low_cold, low_warm) / 2 < 2.0
# Along one line of sight at equal wavelengths absorption is all of the difference.
cold_c, warm_c = (ha.acoustics.sound_speed_m_s(air) for air in (cold, warm))
states(f"{40e3 / cold_c - 40e3 / warm_c:.1f} ms")
assert 0.995 < warm_c / cold_c / np.sqrt((28 + 273.15) / (8 + 273.15)) < 1.006
lost = seats.band_level_db.values
assert np.polyfit(distance_m.values, lost, 1)[0] > 0.05
alone = distance_m.values * (high_cold - high_warm) / 1000
assert np.median(np.abs(lost - alone)) < 1.0
