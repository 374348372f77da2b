"""The product's conversions against the general unit library pint.

Reads the JSON of the example `dump_units`: a list of what was converted, from and to in words
that pint knows, and the number that came out.
"""

import json
import sys

import pint

# Pint's acre is the US survey acre; the product's, by definition, the international one.
AGREE = 1e-9


def main():
    units = pint.UnitRegistry()
    units.define("international_acre = 43560 * foot ** 2")
    with open(sys.argv[1], encoding="utf-8") as file:
        rows = json.load(file)
    if len(rows) < 25:
        sys.exit("units: fewer than 25 conversions were dumped")
    wrong = 0
    for row in rows:
        ratio = units.parse_expression(row["from"]) / units.parse_expression(row["to"])
        expected = row["value"] * ratio.to("dimensionless").magnitude
        if not abs(row["result"] - expected) <= AGREE * abs(expected):
            print(f"units: {row['value']} {row['from']} is {expected} {row['to']}, not {row['result']}")
            wrong += 1
    if wrong:
        sys.exit(f"units: {wrong} disagreements")
    print(f"units: {len(rows)} conversions agree with pint")


main()
