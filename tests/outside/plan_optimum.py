"""Solves the planner's small problems again, with a model written here for scipy.

Reads the JSON of the example `dump_small` and builds each model from the problem alone, in a
plainer form than the product's (one shortage and one surplus column per need, big-M from the
limits). The model's own optimum must agree to 0.1 %, and the plan on the scale's steps may be no
better than that optimum.
"""

import json
import math
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

AGREE = 0.001


def up(lb, step):
    return lb if step <= 0 else math.ceil(lb / step - 1e-6) * step


def down(lb, step):
    return lb if step <= 0 else math.floor(lb / step + 1e-6) * step


class Rows:
    def __init__(self):
        self.cost, self.low, self.high, self.whole = [], [], [], []
        self.rows = []

    def column(self, cost, low, high, whole=False):
        self.cost.append(cost)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(1 if whole else 0)
        return len(self.cost) - 1

    def row(self, terms, low, high):
        self.rows.append((terms, low, high))

    def solve(self):
        matrix = np.zeros((len(self.rows), len(self.cost)))
        low, high = [], []
        for r, (terms, lo, hi) in enumerate(self.rows):
            for column, factor in terms:
                matrix[r, column] += factor
            low.append(lo)
            high.append(hi)
        return milp(
            c=self.cost,
            constraints=LinearConstraint(matrix, low, high),
            bounds=Bounds(self.low, self.high),
            integrality=self.whole,
            options={"mip_rel_gap": 1e-7, "time_limit": 300},
        )


def optimum(problem):
    inf = math.inf
    m = Rows()
    options = problem["options"]
    locks = {(k["block"], k["material"]): k["lb"] for k in options["locks"]}
    penalty = {p["material"]: p["penalty_per_lb"] for p in options["prefer_less"]}
    amount, spread = {}, {}
    for block in problem["blocks"]:
        for material in problem["materials"]:
            key = (block["id"], material["id"])
            step = material["weigh_step_lb"]
            least = max(up(material["least_even_lb_per_acre"] * block["acres"], step), step)
            # No farm here spreads more than 40,000 lb per acre of anything.
            caps = [40_000.0 * block["acres"]]
            if material["most_lb_per_acre"] is not None:
                caps.append(material["most_lb_per_acre"] * block["acres"])
            for nutrient, share in material["supplies"]:
                for need in block["needs"]:
                    if need["nutrient"] == nutrient and share > 0:
                        if need["ceiling_lb_per_acre"] is not None:
                            caps.append(need["ceiling_lb_per_acre"] * block["acres"] / share)
            # The plan is weighed, so a limit may as well stand on the scale's steps.
            most = down(min(caps), step)
            if key in locks:
                low = high = locks[key]
                least, most, refused = low, high, False
            else:
                refused = material["id"] in block["refused"] or least > most
                low, high = 0.0, 0.0 if refused else most
            x = m.column(penalty.get(material["id"], 0.0), low, high)
            y = m.column(options["trip_cost"], 0, 0 if refused or high == 0 else 1, whole=True)
            m.row([(x, 1), (y, -most)], -inf, 0)
            m.row([(x, 1), (y, -least)], 0, inf)
            amount[key], spread[key] = x, y
    for material in problem["materials"]:
        terms = [(amount[b["id"], material["id"]], 1) for b in problem["blocks"]]
        for pack in material["packs"]:
            terms.append((m.column(pack["price"], 0, inf, whole=True), -pack["lb"]))
        m.row(terms, -inf, material["stock_lb"])
    for block in problem["blocks"]:
        wanted = {n["nutrient"]: n["lb_per_acre"] for n in block["needs"]}
        brings = {}
        for material in problem["materials"]:
            for nutrient, share in material["supplies"]:
                if share > 0:
                    brings.setdefault(nutrient, []).append((material["id"], share))
        for need in block["needs"]:
            lb = need["lb_per_acre"] * block["acres"]
            terms = [(amount[block["id"], i], s) for i, s in brings.get(need["nutrient"], [])]
            short = m.column(need["shortage_cost"], 0, inf)
            over = m.column(need["surplus_cost"], 0, inf)
            m.row(terms + [(short, 1), (over, -1)], lb, lb)
            if need["ceiling_lb_per_acre"] is not None and terms:
                m.row(terms, -inf, need["ceiling_lb_per_acre"] * block["acres"])
        limes = [spread[block["id"], i] for i, _ in brings.get("lime", [])]
        sours = [spread[block["id"], i] for i, _ in brings.get("sulfur", [])]
        for y in sours if wanted.get("lime", 0) > 0 else []:
            m.row([(y, 1)], 0, 0)
        for y in limes if wanted.get("sulfur", 0) > 0 else []:
            m.row([(y, 1)], 0, 0)
        for lime in limes:
            for sour in sours:
                m.row([(lime, 1), (sour, 1)], 0, 1)
    return m.solve()


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        cases = json.load(file)
    if len(cases) < 5:
        sys.exit("plan_optimum: fewer than five problems were dumped")
    wrong = 0
    for case in cases:
        plan, name = case["plan"], case["name"]
        answer = optimum(case["problem"])
        if answer.status != 0:
            print(f"plan_optimum: {name}: scipy did not finish: {answer.message}")
            wrong += 1
            continue
        theirs, ours, rounded = answer.fun, plan["model_objective"], plan["objective"]
        scale = max(abs(theirs), 1.0)
        if abs(ours - theirs) > AGREE * scale:
            print(f"plan_optimum: {name}: the planner's optimum {ours} is not scipy's {theirs}")
            wrong += 1
        if rounded < theirs - 1e-5 * scale:
            print(f"plan_optimum: {name}: the rounded plan {rounded} beats the optimum {theirs}")
            wrong += 1
        if plan["bound"] > theirs + 1e-5 * scale:
            print(f"plan_optimum: {name}: the bound {plan['bound']} is above the optimum {theirs}")
            wrong += 1
    if wrong:
        sys.exit(f"plan_optimum: {wrong} disagreements")
    print(f"plan_optimum: {len(cases)} optima agree with scipy within {AGREE:.1%}")


main()
