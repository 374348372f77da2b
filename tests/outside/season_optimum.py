"""Solves the planner's small farms again, with a model written here for two other solvers.

Reads the JSON of the example `dump_farms` and builds each season from the problem alone, in a plainer
form than the product's: a column for each price of a pack with its range of counts, one equation for
each need, limits from the rules and none from what would be useful. Each farm is solved by SCIP and by
scipy's HiGHS; then the product's plan is put into every row of this model.

- Both solvers agree with each other, and with the plan where amounts are free, to 0.01 %.
- The plan breaks no row, and its money adds up to what it says.
- Where amounts are weighed in steps, no plan is better than the optimum without steps.
- The product's proven bound is not above the optimum; in steps, not above the plan.
"""

import json
import math
import sys
from multiprocessing import Pool

import numpy as np
from pyscipopt import Model as Scip
from pyscipopt import quicksum
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix

AGREE = 1e-4
INF = math.inf
# Without any limit of its own no farm here spreads more than this on an acre.
MOST_PER_ACRE = 40_000.0


class Rows:
    """A mixed-integer model as plain lists: columns with names, rows with names."""

    def __init__(self):
        self.names, self.cost, self.low, self.high, self.whole = [], [], [], [], []
        self.rows = []

    def column(self, name, cost, low, high, whole=False):
        self.names.append(name)
        self.cost.append(cost)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, name, terms, low, high):
        self.rows.append((name, terms, low, high))

    def by_highs(self):
        data, rows, columns = [], [], []
        for r, (_, terms, _, _) in enumerate(self.rows):
            for column, factor in terms:
                data.append(factor)
                rows.append(r)
                columns.append(column)
        matrix = csr_matrix((data, (rows, columns)), shape=(len(self.rows), len(self.cost)))
        limits = LinearConstraint(matrix, [r[2] for r in self.rows], [r[3] for r in self.rows])
        answer = milp(
            c=self.cost,
            constraints=limits if self.rows else (),
            bounds=Bounds(self.low, self.high),
            integrality=np.array(self.whole, dtype=int),
            options={"mip_rel_gap": 1e-7, "time_limit": 120},
        )
        return answer.fun if answer.status == 0 else None

    def by_scip(self):
        scip = Scip()
        scip.hideOutput()
        scip.setParam("limits/gap", 1e-7)
        scip.setParam("limits/time", 120)
        scip.setParam("numerics/feastol", 1e-8)
        columns = [
            scip.addVar(
                lb=self.low[c],
                ub=None if self.high[c] == INF else self.high[c],
                obj=self.cost[c],
                vtype="I" if self.whole[c] else "C",
            )
            for c in range(len(self.cost))
        ]
        for _, terms, low, high in self.rows:
            total = quicksum(factor * columns[c] for c, factor in terms)
            if low == high:
                scip.addCons(total == low)
                continue
            if low > -INF:
                scip.addCons(total >= low)
            if high < INF:
                scip.addCons(total <= high)
        scip.optimize()
        return scip.getObjVal() if scip.getStatus() in ("optimal", "gaplimit") else None


class Season:
    """One farm's season, from the problem alone."""

    def __init__(self, problem):
        self.problem = problem
        self.m = Rows()
        self.passes = [p["id"] for p in problem.get("passes", [])] or [""]
        self.amount, self.spread = {}, {}
        self.counts = {}
        self.values = {}
        self.ground()
        self.shed()
        for block in problem["blocks"]:
            self.needs(block)
            self.rules(block)
        self.farm()

    def brings(self, block, material, t):
        all_ = {n: s for n, s in material["supplies"]}
        for other in material.get("supplies_by_pass", []):
            if other["pass"] == t:
                all_.update({n: s for n, s in other["supplies"]})
        for here in block.get("supplies_here", []):
            if here["material"] == material["id"] and here.get("pass", "") in ("", t):
                all_[here["nutrient"]] = here["lb_per_lb"]
        return all_

    def ground(self):
        options = self.problem["options"]
        penalty = {p["material"]: p["penalty_per_lb"] for p in options["prefer_less"]}
        visit = {p["id"]: p["visit_cost"] for p in self.problem.get("passes", [])}
        self.visit = {}
        for block in self.problem["blocks"]:
            acres = block["acres"]
            highs = {n["nutrient"]: top(n) for n in block["needs"]}
            shut = [(s["material"], s["pass"]) for s in block.get("shut", [])]
            for t in self.passes:
                self.visit[block["id"], t] = self.m.column(
                    f"visit {block['id']} {t}", visit.get(t, 0.0), 0, 1, whole=True
                )
            for material in self.problem["materials"]:
                for t in self.passes:
                    key = (block["id"], material["id"], t)
                    each = [MOST_PER_ACRE]
                    each += [
                        v
                        for v in (
                            material["most_lb_per_acre"],
                            material.get("most_lb_per_acre_each_pass"),
                        )
                        if v is not None
                    ]
                    each += [
                        here["lb_per_acre"]
                        for here in block.get("most_here", [])
                        if (here["material"], here["pass"]) == (material["id"], t)
                    ]
                    low, high = material["least_even_lb_per_acre"] * acres, min(each) * acres
                    brings = self.brings(block, material, t)
                    no = (
                        material["id"] in block["refused"]
                        or (material["id"], t) in shut
                        or (material["id"], "") in shut
                        or (highs.get("lime", 0) > 0 and brings.get("sulfur", 0) > 0)
                        or (highs.get("sulfur", 0) > 0 and brings.get("lime", 0) > 0)
                    )
                    held = self.held(*key)
                    if held is not None:
                        low = high = held
                    elif no:
                        high = 0.0
                    name = " ".join(key)
                    x = self.m.column(f"lb {name}", penalty.get(material["id"], 0.0), 0, high)
                    y = self.m.column(f"spread {name}", options["trip_cost"], 0, 1, whole=True)
                    self.m.row(f"most of {name}", [(x, 1), (y, -high)], -INF, 0)
                    self.m.row(f"least of {name}", [(x, 1), (y, -low)], 0, INF)
                    if held:
                        self.m.row(f"held {name}", [(x, 1)], held, held)
                    visited = self.visit[block["id"], t]
                    self.m.row(f"visit for {name}", [(y, 1), (visited, -1)], -INF, 0)
                    self.amount[key], self.spread[key] = x, y

    def held(self, block, material, t):
        for lock in self.problem["options"]["locks"]:
            if (lock["block"], lock["material"]) == (block, material):
                if lock.get("pass", "") in ("", t):
                    return lock["lb"]
        return None

    def shed(self):
        spent = []
        suppliers = {s["id"]: s for s in self.problem.get("suppliers", []) if s["delivery"] > 0}
        orders = {s: [] for s in suppliers}
        bought = {s: [] for s in suppliers}
        acres = sum(b["acres"] for b in self.problem["blocks"])
        for material in self.problem["materials"]:
            used = [(self.amount[k], 1) for k in self.amount if k[1] == material["id"]]
            stock = material["stock_lb"] + sum(lot["lb"] for lot in material.get("lots", []))
            for p, pack in enumerate(material["packs"]):
                prices = [(max(pack.get("least_count", 0), 1), pack["price"])]
                prices += [(b["from_count"], b["price"]) for b in pack.get("breaks", [])]
                most = math.ceil(MOST_PER_ACRE * acres / pack["lb"]) + 1000
                tiers = []
                for i, (start, price) in enumerate(prices):
                    end = prices[i + 1][0] - 1 if i + 1 < len(prices) else most
                    name = f"{material['id']} {pack['label']} from {start}"
                    count = self.m.column(f"packs of {name}", price, 0, end, whole=True)
                    taken = self.m.column(f"price of {name}", 0, 0, 1, whole=True)
                    self.m.row(f"no more of {name}", [(count, 1), (taken, -end)], -INF, 0)
                    self.m.row(f"no fewer of {name}", [(count, 1), (taken, -start)], 0, INF)
                    self.counts[material["id"], p, start, end] = (count, taken)
                    tiers.append((taken, 1))
                    used.append((count, -pack["lb"]))
                    spent.append((count, price))
                    supplier = pack.get("supplier", "")
                    if supplier in suppliers:
                        orders[supplier].append((count, price))
                        bought[supplier].append(taken)
                self.m.row(f"one price for {material['id']} {pack['label']}", tiers, 0, 1)
            self.m.row(f"mass of {material['id']}", used, -INF, stock)
        self.trucks = {}
        for s, supplier in suppliers.items():
            pays = self.m.column(f"delivery {s}", supplier["delivery"], 0, 1, whole=True)
            terms, free = [(pays, -1)], None
            if supplier["free_from"] is not None:
                free = self.m.column(f"free delivery {s}", 0, 0, 1, whole=True)
                large = orders[s] + [(free, -supplier["free_from"])]
                self.m.row(f"order for a free delivery {s}", large, 0, INF)
                terms.append((free, -1))
            for taken in bought[s]:
                self.m.row(f"truck of {s}", [(taken, 1)] + terms, -INF, 0)
            spent.append((pays, supplier["delivery"]))
            self.trucks[s] = (pays, free)
        budget = self.problem["options"].get("budget")
        self.over = None
        if budget:
            if budget.get("over_cost") is not None:
                self.over = self.m.column("over the budget", budget["over_cost"], 0, INF)
                spent.append((self.over, -1))
            self.m.row("budget", spent, -INF, budget["money"])

    def needs(self, block):
        acres = block["acres"]
        self.stands = getattr(self, "stands", {})
        for need in block["needs"]:
            n, name = need["nutrient"], f"{need['nutrient']} on {block['id']}"
            terms = []
            for material in self.problem["materials"]:
                for t in self.passes:
                    share = self.brings(block, material, t).get(n, 0.0)
                    if share:
                        terms.append((self.amount[block["id"], material["id"], t], share))
            low, high = bottom(need) * acres, top(need) * acres
            band = need.get("band")
            short = self.m.column(f"short of {name}", need["shortage_cost"], 0, INF)
            within = self.m.column(
                f"within band of {name}", band["between_cost"] if band else 0, 0, high - low
            )
            over = self.m.column(f"over in {name}", need["surplus_cost"], 0, INF)
            self.m.row(f"need of {name}", terms + [(short, 1), (within, 1), (over, -1)], high, high)
            self.stands[block["id"], n] = (terms, low, high, short, within, over)
            if need["ceiling_lb_per_acre"] is not None and terms:
                self.m.row(f"ceiling of {name}", terms, -INF, need["ceiling_lb_per_acre"] * acres)

    def rules(self, block):
        b = block["id"]
        options = self.problem["options"]
        limes, sours, kinds = [], [], []
        self.kinds = getattr(self, "kinds", {})
        for material in self.problem["materials"]:
            i = material["id"]
            year = [(self.amount[b, i, t], 1) for t in self.passes]
            if material["most_lb_per_acre"] is not None:
                most = material["most_lb_per_acre"] * block["acres"]
                self.m.row(f"year of {i} on {b}", year, -INF, most)
            kind = self.m.column(f"uses {i} on {b}", 0, 0, 1, whole=True)
            self.kinds[b, i] = kind
            kinds.append((kind, 1))
            for t in self.passes:
                self.m.row(f"uses {i} on {b} {t}", [(self.spread[b, i, t], 1), (kind, -1)], -INF, 0)
                brings = self.brings(block, material, t)
                if brings.get("lime", 0) > 0:
                    limes.append(self.spread[b, i, t])
                if brings.get("sulfur", 0) > 0:
                    sours.append(self.spread[b, i, t])
        for lime in limes:
            for sour in sours:
                self.m.row(f"lime against acid on {b}", [(lime, 1), (sour, 1)], 0, 1)
        for clash in options.get("incompatible", []):
            for t in self.passes:
                pair = [self.spread.get((b, clash[s], t)) for s in ("a", "b")]
                if None not in pair and clash["a"] != clash["b"]:
                    self.m.row(f"clash on {b} {t}", [(pair[0], 1), (pair[1], 1)], 0, 1)
        most = options.get("most_materials_per_block")
        if most is not None:
            self.m.row(f"materials on {b}", kinds, -INF, most)

    def farm(self):
        options = self.problem["options"]
        self.opened, all_ = {}, []
        for material in self.problem["materials"]:
            i = material["id"]
            opened = self.m.column(f"opens {i}", options.get("material_cost", 0.0), 0, 1, whole=True)
            for block in self.problem["blocks"]:
                uses = self.kinds[block["id"], i]
                self.m.row(f"opens {i} for {block['id']}", [(uses, 1), (opened, -1)], -INF, 0)
            self.opened[i] = opened
            all_.append((opened, 1))
        if options.get("most_materials") is not None:
            self.m.row("materials of the farm", all_, -INF, options["most_materials"])

    def put(self, plan):
        """The plan as values of every column."""
        at = np.zeros(len(self.m.cost))
        for amount in plan["amounts"]:
            key = (amount["block"], amount["material"], amount.get("pass", ""))
            at[self.amount[key]] = amount["lb"]
            at[self.spread[key]] = 1
            at[self.visit[key[0], key[2]]] = 1
            at[self.kinds[key[0], key[1]]] = 1
            at[self.opened[key[1]]] = 1
        for purchase in plan["purchases"]:
            for (m, p, start, end), (count, taken) in self.counts.items():
                material = next(x for x in self.problem["materials"] if x["id"] == m)
                pack = material["packs"][p]
                same = (m, pack["label"]) == (purchase["material"], purchase["pack"])
                if same and start <= purchase["count"] <= end:
                    at[count], at[taken] = purchase["count"], 1
        for delivery in plan.get("deliveries", []):
            if delivery["supplier"] in self.trucks:
                pays, free = self.trucks[delivery["supplier"]]
                if delivery["charge"] > 0:
                    at[pays] = 1
                elif free is not None:
                    at[free] = 1
        if self.over is not None:
            at[self.over] = plan.get("over_budget", 0.0)
        for terms, low, high, short, within, over in self.stands.values():
            there = sum(factor * at[c] for c, factor in terms)
            at[short] = max(low - there, 0)
            at[within] = max(high - max(there, low), 0)
            at[over] = max(there - high, 0)
        return at

    def broken(self, at):
        """Rows and limits of columns that the values do not keep."""
        said = []
        for c, value in enumerate(at):
            room = 1e-6 * max(1.0, abs(value))
            if value < self.m.low[c] - room or value > self.m.high[c] + room:
                said.append(f"{self.m.names[c]} = {value}")
        for name, terms, low, high in self.m.rows:
            sizes = [abs(factor * at[c]) for c, factor in terms]
            value = sum(factor * at[c] for c, factor in terms)
            room = 1e-6 * max([1.0] + sizes)
            if value < low - room or value > high + room:
                said.append(f"{name}: {value} is not within {low} to {high}")
        return said


def bottom(need):
    band = need.get("band")
    return band["low_lb_per_acre"] if band else need["lb_per_acre"]


def top(need):
    band = need.get("band")
    return band["high_lb_per_acre"] if band else need["lb_per_acre"]


def weighed(problem):
    return any(m["weigh_step_lb"] > 0 for m in problem["materials"])


def check(case):
    """What is wrong with one case, and how its plan stands to the optimum."""
    name, plan, season = case["name"], case["plan"], Season(case["problem"])
    wrong = []
    highs, scip = season.m.by_highs(), season.m.by_scip()
    if highs is None or scip is None:
        return [f"{name}: a solver did not finish (HiGHS {highs}, SCIP {scip})"], 0.0, False
    scale = max(abs(scip), 1.0)
    if abs(highs - scip) > AGREE * scale:
        wrong.append(f"{name}: SCIP says {scip}, HiGHS {highs}")
    at = season.put(plan)
    wrong += [f"{name}: {said}" for said in season.broken(at)]
    money = float(np.dot(season.m.cost, at))
    if abs(money - plan["objective"]) > 1e-6 * max(abs(money), 1.0):
        wrong.append(f"{name}: the plan's money is {money} here and {plan['objective']} there")
    steps = weighed(case["problem"])
    behind = (plan["objective"] - scip) / scale
    if behind < -AGREE:
        wrong.append(f"{name}: the plan {plan['objective']} is better than the optimum {scip}")
    if not steps and behind > AGREE:
        wrong.append(f"{name}: the plan {plan['objective']} is not the optimum {scip}")
    # In steps the least and the most of a material are a little narrower than here.
    if plan["bound"] > (plan["objective"] if steps else scip) + AGREE * scale:
        wrong.append(f"{name}: the bound {plan['bound']} is above the optimum {scip}")
    return wrong, behind, steps


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        cases = json.load(file)
    if len(cases) < 200:
        sys.exit(f"season_optimum: {len(cases)} farms were dumped, not 200")
    if sum(bool(c["plan"]["amounts"]) for c in cases) < 150:
        sys.exit("season_optimum: most plans are empty")
    with Pool(2) as pool:
        answers = pool.map(check, cases, chunksize=5)
    wrong = [said for answer in answers for said in answer[0]]
    for said in wrong:
        print(f"season_optimum: {said}")
    if wrong:
        sys.exit(f"season_optimum: {len(wrong)} disagreements")
    stepped = [behind for _, behind, steps in answers if steps]
    free = len(answers) - len(stepped)
    print(
        f"season_optimum: {free} optima agree with SCIP and with scipy's HiGHS within {AGREE:.2%}; "
        f"{len(stepped)} plans in the scale's steps are {np.mean(stepped):.2%} above the optimum without "
        f"steps in the mean, {max(stepped):.2%} at most; no plan breaks a row"
    )


if __name__ == "__main__":
    main()
