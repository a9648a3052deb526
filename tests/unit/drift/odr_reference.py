#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""odr_reference.py FILE [--write] : series with errors in both coordinates,
fitted by scipy.odr (ODRPACK, orthogonal distance regression).

Compares FILE with what scipy gives; --write makes it anew. The unit test
compares its own fit with FILE. Needs numpy and scipy.
"""
import json
import sys

try:
    import numpy as np
    import scipy.odr
except ImportError:
    print("scipy is not installed")
    sys.exit(1)

SEED = 20240817
# Coefficients about 25 degrees in ppm, per K, per K^2, per K^3; the range in
# degrees, the number of points, u of the temperature in K, u of the error in
# ppm. Not rounded to real parts: temperature errors are made to matter.
CASES = {
    "line": ([120.0, 300.0], -10.0, 60.0, 12, 0.8, 40.0),
    "parabola": ([3.0, -0.1, -0.035], -20.0, 70.0, 14, 0.7, 0.5),
    "cubic": ([1.0, -0.6, -0.00045, 0.0001086], -40.0, 85.0, 16, 1.0, 0.2),
}


def curve(beta, t):
    return np.polyval(beta[::-1], np.asarray(t) - 25.0)


def fit(beta, t, y, ut, uy):
    data = scipy.odr.RealData(t, y, sx=ut, sy=uy)
    run = scipy.odr.ODR(data, scipy.odr.Model(curve), beta0=beta,
                        sstol=1e-15, partol=1e-15, maxit=1000)
    # Derivatives by central differences: forward ones leave 1e-8 of error.
    run.set_job(fit_type=0, deriv=1)
    out = run.run()
    # cov_beta is without the residual variance: for stated uncertainties.
    return {"beta": list(out.beta), "sd": list(np.sqrt(np.diag(out.cov_beta))),
            "chi_squared": float(out.sum_square)}


def case(random, beta, low, high, count, ut, uy):
    true = np.linspace(low, high, count)
    # Every second point is known half as well.
    worse = 1.0 + np.arange(count) % 2
    t = np.round(true + random.normal(0.0, ut * worse), 3)
    y = np.round(curve(beta, true) + random.normal(0.0, uy * worse), 4)
    made = {"temperature_c": list(t), "error_ppm": list(y),
            "u_temperature_c": list(ut * worse), "u_ppm": list(uy * worse)}
    return made | fit(beta, t, y, ut * worse, uy * worse)


def close(a, b):
    # Nine digits: what ODRPACK's numerical derivatives leave.
    return all(abs(x - y) <= 1e-7 * abs(y) for x, y in zip(a, b))


def main(path, write):
    random = np.random.default_rng(SEED)
    made = {name: case(random, *row) for name, row in CASES.items()}
    if write:
        with open(path, "w", encoding="utf-8") as file:
            json.dump({"source": "scipy.odr (ODRPACK), by "
                                 "tests/unit/drift/odr_reference.py",
                       "cases": made}, file, indent=1)
            file.write("\n")
        return 0
    with open(path, encoding="utf-8") as file:
        stored = json.load(file)["cases"]
    wrong = 0
    for name, now in made.items():
        for key, value in now.items():
            was = stored[name][key]
            pair = (value, was) if isinstance(value, list) else ([value], [was])
            if len(pair[0]) != len(pair[1]) or not close(*pair):
                print(f"{name}: {key} is {was}, scipy gives {value}")
                wrong = 1
    print("compared", ", ".join(made))
    return wrong


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], "--write" in sys.argv[2:]))
