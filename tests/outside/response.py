"""What is learned of a ground's answer against a least-squares solution by numpy.

The prior is one more observation of the answer; the level of the first test is free. Reads the CSV of
the example `dump_response`.
"""

import csv
import math
import sys

import numpy as np

AGREE = 1e-9


def expected(inputs):
    prior, *tests = inputs.split(";")
    rows = [tuple(map(float, t.split(":"))) for t in tests]
    design = [[1 / sd, x / sd] for x, _, sd in rows] + [[0, 1 / float(prior)]]
    target = [y / sd for _, y, sd in rows] + [1 / float(prior)]
    solution = np.linalg.lstsq(np.array(design), np.array(target), rcond=None)[0]
    covariance = np.linalg.inv(np.array(design).T @ np.array(design))
    return solution[1], math.sqrt(covariance[1, 1])


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if len(rows) < 300:
        sys.exit("response: fewer than 300 rows were dumped")
    for row in rows:
        for ours, theirs in zip((row["mean"], row["sd"]), expected(row["inputs"])):
            if not math.isclose(float(ours), theirs, rel_tol=AGREE):
                sys.exit(f"response: {row['inputs']}: {theirs}, not {ours}")
    print(f"response: {len(rows)} learned answers agree with numpy")


main()
