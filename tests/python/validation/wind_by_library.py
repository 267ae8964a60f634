"""Makes `wind_by_library.json`: peak velocity pressures by eurocodepy 2027.0.12.

The library wants Python 3.12 and a documentation tool chain, so that it is no dependency of the
tests. Its wind equations and its table of terrains need nothing but the standard library and are
read straight from its wheel:

    pip download --no-deps --ignore-requires-python eurocodepy==2027.0.12
    python wind_by_library.py eurocodepy-2027.0.12-py3-none-any.whl > wind_by_library.json
"""

from __future__ import annotations

import itertools
import json
import sys
import types
import zipfile

BASIC_SPEEDS_M_S = [22.5, 26.0]
HEIGHTS_M = [0.5, 4.0, 7.3, 10.0, 18.0, 60.0, 200.0]
OROGRAPHIES = [1.0, 1.15]


def main(wheel: str) -> None:
    with zipfile.ZipFile(wheel) as package:
        library = types.ModuleType("pressure")
        exec(package.read("eurocodepy/ec1/wind/pressure.py"), library.__dict__)
        wind = json.loads(package.read("eurocodepy/data/eurocodes.json"))["Eurocodes"]["Loads"]
    table = wind["Wind"]["locale"]["EU"]["terrain"]
    cases = []
    for terrain, v_b, z, c_o in itertools.product(table, BASIC_SPEEDS_M_S, HEIGHTS_M, OROGRAPHIES):
        z_0, z_min = table[terrain]["z0"], table[terrain]["zmin"]
        c_r = library.c_r(z, z_min, z_0, table["II"]["z0"])
        cases.append(
            {
                "terrain": terrain,
                "basic_speed_m_s": v_b,
                "height_m": z,
                "orography": c_o,
                "mean_speed_m_s": library.v_m(z, v_b, c_r, c_o),
                "turbulence": library.I_v(z, z_min, z_0, c_o),
                "pressure_pa": library.q_p(z, v_b, z_min, z_0, c_r, c_o),
            }
        )
    source = "eurocodepy 2027.0.12, ec1/wind/pressure.py and the terrains of its database (EU)"
    rows = ",\n    ".join(json.dumps(case) for case in cases)
    print(f'{{\n  "source": {json.dumps(source)},\n  "cases": [\n    {rows}\n  ]\n}}')


if __name__ == "__main__":
    main(sys.argv[1])
