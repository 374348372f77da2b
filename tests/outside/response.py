"""What is learned of a ground's answer against the integral by scipy.

The level of the first test is free, so the likelihood is that of the tests' contrasts; the size of their
scatter is integrated out by its closed form, which leaves one integral over the answer. Reads the CSV of
the example `dump_response`: what the published scatter is worth, the share of odd ground and how many times as
far it scatters, the prior's standard deviation, then
expected:measured:sd of each test; and the mean, the standard deviation and the ends of four of five found.
"""

import csv
import math
import sys

import numpy as np
from scipy import integrate, optimize

AGREE = 1e-5


def expected(inputs):
    worth, share, times, prior, *tests = inputs.split(";")
    worth, share, times, prior = float(worth), float(share), float(times), float(prior)
    x, y, sd = np.array([[float(v) for v in t.split(":")] for t in tests]).T
    w = sd**-2.0
    x = x - np.average(x, weights=w)
    y = y - np.average(y, weights=w)
    sxx = float(w @ x**2)
    own = float(w @ (x * y)) / sxx
    left = float(w @ (y - own * x) ** 2)
    power = (worth + len(tests) - 1) / 2

    def before(f):
        # The logarithm of one normal, or for odd ground a wider one.
        usual = math.log((1 - share) / prior) - 0.5 * ((f - 1) / prior) ** 2
        odd = math.log(share / (times * prior)) - 0.5 * ((f - 1) / (times * prior)) ** 2
        return max(usual, odd) + math.log1p(math.exp(-abs(usual - odd)))

    def log(f):
        # Inverse gamma scatter about 1, worth so many tests, integrated out: a power of the misfit.
        misfit = worth + left + sxx * (f - own) ** 2
        return before(f) - power * math.log(misfit)

    low, high = min(1, own), max(1, own)
    ends = (low - 12 * times * prior, high + 12 * times * prior)
    grid = np.linspace(low, high, 4001)
    best = max(log(f) for f in grid)
    width = math.sqrt((worth + left) / (2 * power) / sxx)
    marks = sorted({1.0, own, *(c + k * s for c in (1.0, own) for k in (-40, -8, -3, -1, 1, 3, 8, 40) for s in (prior, times * prior, width))})
    marks = [m for m in marks if ends[0] < m < ends[1]]

    def area(of, until=ends[1]):
        edges = [ends[0], *(m for m in marks if m < until), until]
        return sum(
            integrate.quad(lambda f: of(f) * math.exp(log(f) - best), a, b, epsabs=1e-13, epsrel=1e-11, limit=200)[0]
            for a, b in zip(edges, edges[1:])
        )

    whole = area(lambda f: 1.0)
    mean = area(lambda f: f) / whole
    var = area(lambda f: (f - mean) ** 2) / whole
    sd = math.sqrt(var)

    def quantile(p):
        return optimize.brentq(lambda q: area(lambda f: 1.0, q) / whole - p, mean - 10 * sd, mean + 10 * sd, xtol=1e-9)

    return mean, sd, quantile(0.1), quantile(0.9)


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if len(rows) < 60:
        sys.exit("response: fewer than 60 rows were dumped")
    for row in rows:
        found = [float(row[k]) for k in ("mean", "sd", "low", "high")]
        theirs = expected(row["inputs"])
        for ours, other in zip(found, theirs):
            if not math.isclose(ours, other, rel_tol=AGREE, abs_tol=AGREE):
                sys.exit(f"response: {row['inputs']}: {theirs}, not {found}")
    print(f"response: {len(rows)} learned answers agree with scipy")


main()
