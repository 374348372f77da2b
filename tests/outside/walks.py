"""Walks through sampling places against the certain optimum.

Reads the CSV of the example `dump_walks`. Each walk is solved again as an integer programme of steps
(Dantzig, Fulkerson and Johnson, Operations Research 2 (1954) 393-410) by scipy's HiGHS: every place is
left and reached once, and rounds that do not meet all places are forbidden until none is left. A walk
that does not come back passes through a place of no distance between its end and its start.

- A walk that says it is certainly the shortest is the optimum.
- No walk of up to 40 places is more than 5 % longer than the optimum.
"""

import csv
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

MOST_OVER = 0.05


def optimum(points, back):
    n = len(points)
    far = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    if not back:
        far = np.pad(far, (0, 1))
        n += 1
    pairs = [(i, j) for i in range(n) for j in range(i)]
    cost = np.array([far[i, j] for i, j in pairs])
    low = np.zeros(len(pairs))
    if not back:
        low[pairs.index((n - 1, 0))] = 1.0

    def row(inside):
        return [1.0 if inside(i) != inside(j) else 0.0 for i, j in pairs]

    rows = [row(lambda i, k=k: i == k) for k in range(n)]
    least, most = [2.0] * n, [2.0] * n
    while True:
        answer = milp(
            c=cost,
            integrality=np.ones(len(pairs)),
            bounds=Bounds(low, np.ones(len(pairs))),
            constraints=LinearConstraint(csr_matrix(rows), least, most),
            options={"mip_rel_gap": 0.0},
        )
        if not answer.success:
            sys.exit(f"walks: the check itself failed: {answer.message}")
        used = [p for p, x in zip(pairs, answer.x) if x > 0.5]
        i, j = np.array(used).T
        graph = csr_matrix((np.ones(len(used)), (i, j)), shape=(n, n))
        count, part = connected_components(graph, directed=False)
        if count == 1:
            return answer.fun
        for k in range(count):
            rows.append(row(lambda i, k=k: part[i] == k))
            least.append(2.0)
            most.append(np.inf)


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        walks = list(csv.DictReader(file))
    if len(walks) < 30:
        sys.exit("walks: fewer than 30 walks were dumped")
    wrong, worst, exact, longest = 0, 0.0, 0, 0
    for walk in walks:
        back = walk["back"] == "true"
        points = np.array([[float(v) for v in p.split()] for p in walk["places"].split(";")])
        route = np.vstack([points, points[:1]]) if back else points
        length = np.hypot(*np.diff(route, axis=0).T).sum()
        told = float(walk["length"])
        best = optimum(points, back)
        over = length / best - 1.0
        worst, longest = max(worst, over), max(longest, len(points) - 1)
        exact += over < 1e-9
        if abs(length - told) > 1e-6 * length:
            print(f"walks: a walk of {length} is said to be {told}")
            wrong += 1
        if over > MOST_OVER or (walk["certain"] == "true" and over > 1e-9):
            print(f"walks: {walk['kind']} of {len(points) - 1}: {100 * over:.3f} % over the optimum")
            wrong += 1
        if over < -1e-9:
            print(f"walks: {length} is shorter than the optimum {best}; the check is wrong")
            wrong += 1
    if wrong:
        sys.exit(f"walks: {wrong} disagreements")
    print(
        f"walks: {exact} of {len(walks)} walks of up to {longest} places are the optimum by HiGHS, "
        f"the worst is {100 * worst:.3f} % over it"
    )


main()
