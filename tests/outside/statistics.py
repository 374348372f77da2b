"""The doubt of tests and trends against scipy.

Reads the CSV of the example `dump_statistics`.
"""

import csv
import math
import sys

from scipy import stats

AGREE = 1e-6


def expected(kind, inputs):
    if kind == "t":
        percent, freedom = map(float, inputs.split(";"))
        return stats.t.ppf(0.5 + percent / 200, freedom), 0.0
    if kind == "interval":
        value, cv, percent = map(float, inputs.split(";"))
        sigma = math.sqrt(math.log(1 + cv * cv))
        ends = stats.lognorm(sigma, scale=value).interval(percent / 100)
        return ends
    pairs = [tuple(map(float, p.split(":"))) for p in inputs.split(";")]
    times, values = zip(*pairs)
    p = stats.kendalltau(times, values, method="exact").pvalue
    return p, stats.theilslopes(values, times).slope


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if len(rows) < 250:
        sys.exit("statistics: fewer than 250 rows were dumped")
    wrong = 0
    for row in rows:
        for ours, theirs in zip((row["first"], row["second"]), expected(row["kind"], row["inputs"])):
            if not math.isclose(float(ours), theirs, rel_tol=AGREE, abs_tol=1e-12):
                print(f"statistics: {row['kind']} {row['inputs']}: {theirs}, not {ours}")
                wrong += 1
    if wrong:
        sys.exit(f"statistics: {wrong} disagreements")
    print(f"statistics: {len(rows)} intervals, quantiles and trends agree with scipy")


main()
