"""How much less the mean of a sample scatters when cores are spread evenly.

The ground is the Meuse flood plain: 155 topsoil samples (Rikken and Van Rijn 1993; the file ships with
scikit-gstat under the MIT licence; open data by way of the R packages sp and gstat). Between the samples
values run straight (Delaunay), inside the outline of all samples; 15 cores are mixed, many times over, by
each way of the example `dump_spread`. A core also has a scatter of its own that no spread can lower; it
is left out here, so that the figures show the part that the spread can change.

- The even spread has no bias: its mean over all runs is the true one within four standard errors.
- Its variance is below that of places by chance.

A zigzag is shown beside them and not judged: it always walks the same ground, so that its small scatter
hides a bias which the runs cannot average out.
"""

import csv
import importlib.util
import math
import pathlib
import subprocess
import sys

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import ConvexHull

CORES, RUNS = 15, 400
# The even spread has to lower the variance at least to this share of that by chance. How far it can go
# depends on how much of the ground's unevenness is wider than a core's share of the field.
MOST = 0.85


def meuse():
    folder = pathlib.Path(importlib.util.find_spec("skgstat").origin).parent
    with open(folder / "data" / "samples" / "meuse.txt", encoding="utf-8", newline="") as file:
        rows = [r for r in csv.DictReader(file) if r["om"] not in ("", "NA")]
    places = np.array([[float(r["x"]), float(r["y"])] for r in rows])
    values = {
        "organic matter, %": np.array([float(r["om"]) for r in rows]),
        "log zinc": np.array([math.log(float(r["zinc"])) for r in rows]),
    }
    return places, values


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    places, values = meuse()
    if len(places) < 150:
        sys.exit("spread: the data set is not the one expected")
    corners = places[ConvexHull(places).vertices]
    # A hair inside, so that every core lies between samples.
    corners = corners.mean(axis=0) + 0.999 * (corners - corners.mean(axis=0))
    outline = folder / "meuse.csv"
    outline.write_text("\n".join(f"{x},{y}" for x, y in corners), encoding="utf-8")
    text = subprocess.run(
        [program, str(outline), str(CORES), str(RUNS)], check=True, capture_output=True, text=True
    ).stdout
    cores = {}
    for row in csv.DictReader(text.splitlines()):
        cores.setdefault(row["way"], []).append((float(row["x"]), float(row["y"])))
    low, high = corners.min(axis=0), corners.max(axis=0)
    fine = np.stack(
        np.meshgrid(np.linspace(low[0], high[0], 600), np.linspace(low[1], high[1], 600)), -1
    ).reshape(-1, 2)
    wrong = 0
    for name, known in values.items():
        surface = LinearNDInterpolator(places, known)
        everywhere = surface(fine)
        # Only what lies inside the samples' outline has a value; the hair around it does not matter.
        truth = np.nanmean(everywhere)
        shown, variance = [], {}
        for way, points in cores.items():
            means = surface(np.array(points)).reshape(RUNS, CORES).mean(axis=1)
            if np.isnan(means).any():
                sys.exit("spread: a core lies outside the data")
            bias = means.mean() - truth
            variance[way] = means.var(ddof=1)
            error = np.mean((means - truth) ** 2)
            shown.append(f"{way} {variance[way]:.5f} (bias {bias:+.4f}, mean square error {error:.5f})")
            if way != "zigzag" and abs(bias) > 4 * means.std(ddof=1) / math.sqrt(RUNS):
                print(f"spread: {name}: the mean of {way} is off by {bias}")
                wrong += 1
        print(f"spread: {name}: variance of the mean of {CORES}: " + "; ".join(shown))
        ratio = variance["even"] / variance["chance"]
        print(f"spread: {name}: the even spread has {100 * ratio:.0f} % of the variance by chance")
        if ratio > MOST:
            wrong += 1
    if wrong:
        sys.exit(f"spread: {wrong} disagreements")


main()
