"""The table of molar masses against the library molmass, and the oxide factors that follow.

The table is rounded, so an element may differ by what its last printed digit hides.
"""

import csv
import sys

from molmass import Formula

AGREE = 2e-4
# Element to the form in which needs are counted: atoms of the element in one unit of the form.
FORMS = [("P", "P2O5", 2), ("K", "K2O", 2), ("Ca", "CaCO3", 1), ("Mg", "MgO", 1), ("S", "SO4", 1), ("N", "NO3", 1)]


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        table = {row["formula"]: float(row["g_per_mol"]) for row in csv.DictReader(file)}
    if len(table) < 25:
        sys.exit("molar: the table has fewer than 25 rows")
    wrong = 0
    for formula, mass in table.items():
        expected = Formula(formula).mass
        if not abs(mass - expected) <= AGREE * expected:
            print(f"molar: {formula} is {expected}, not {mass}")
            wrong += 1
    for element, form, atoms in FORMS:
        ours = table[form] / (atoms * table[element])
        theirs = Formula(form).mass / (atoms * Formula(element).mass)
        if not abs(ours - theirs) <= AGREE * theirs:
            print(f"molar: {element} to {form} is x {theirs}, not x {ours}")
            wrong += 1
    if wrong:
        sys.exit(f"molar: {wrong} disagreements")
    print(f"molar: {len(table)} masses and {len(FORMS)} factors agree with molmass")


main()
