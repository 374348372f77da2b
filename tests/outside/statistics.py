"""The doubt of tests and trends against scipy and pymannkendall.

Reads the CSV of the example `dump_statistics`.
"""

import csv
import functools
import math
import sys

import pymannkendall
from scipy import stats

AGREE = 1e-6
EXACT_UP_TO = 10


@functools.cache
def orders(left):
    """How many orders of values, `left[k]` of the k-th smallest, have each sum of signs."""
    if not any(left):
        return {0: 1}
    counts = {}
    for k, n in enumerate(left):
        if n == 0:
            continue
        rest = left[:k] + (n - 1,) + left[k + 1 :]
        sign = sum(rest[k + 1 :]) - sum(rest[:k])
        for s, count in orders(rest).items():
            counts[s + sign] = counts.get(s + sign, 0) + count
    return counts


def series(pairs):
    """Two-sided p by counting every order up to ten tests, by pymannkendall above; slope by scipy."""
    if len(pairs) < 3:
        return "none", "none"
    times, values = zip(*pairs)
    slope = stats.theilslopes(values, times).slope
    if len(pairs) > EXACT_UP_TO:
        return pymannkendall.original_test(values).p, slope
    alike = tuple(values.count(v) for v in sorted(set(values)))
    counts = orders(alike)
    s = sum((b > a) - (b < a) for i, a in enumerate(values) for b in values[i + 1 :])
    p = sum(n for t, n in counts.items() if abs(t) >= abs(s)) / sum(counts.values())
    if len(alike) == len(values):
        # Without ties scipy counts too.
        theirs = stats.kendalltau(times, values, method="exact").pvalue
        assert math.isclose(p, theirs, rel_tol=AGREE), (p, theirs)
    return p, slope


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
    if kind == "series":
        return series(pairs)
    times, values = zip(*pairs)
    p = stats.kendalltau(times, values, method="exact").pvalue
    return p, stats.theilslopes(values, times).slope


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if len(rows) < 1300 or sum(row["kind"] == "series" for row in rows) < 1000:
        sys.exit("statistics: fewer than 1,300 rows, 1,000 of them series, were dumped")
    wrong = 0
    for row in rows:
        for ours, theirs in zip((row["first"], row["second"]), expected(row["kind"], row["inputs"])):
            if theirs == "none" or ours == "none":
                if ours != theirs:
                    print(f"statistics: {row['inputs']}: {theirs}, not {ours}")
                    wrong += 1
            elif not math.isclose(float(ours), theirs, rel_tol=AGREE, abs_tol=1e-12):
                print(f"statistics: {row['kind']} {row['inputs']}: {theirs}, not {ours}")
                wrong += 1
    if wrong:
        sys.exit(f"statistics: {wrong} disagreements")
    print(f"statistics: {len(rows)} intervals, quantiles and trends agree with scipy and pymannkendall")


main()
