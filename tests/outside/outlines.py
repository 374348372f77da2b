"""Areas inside corners against the geodesic library geographiclib.

Reads the CSV of the examples `dump_outlines` and `dump_drawn`: corners, metres around, square metres
inside; of the second as they were typed for the drawing.
"""

import csv
import sys

from geographiclib.geodesic import Geodesic

# Each side of an outline adds the area down to the equator and the sum cancels it again, so that two
# libraries differ by some square millimetres however small the outline; a square centimetre is allowed.
AGREE = 1e-6
FLOOR = {"around": 1e-6, "inside": 1e-4}


def main():
    with open(sys.argv[1], encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if len(rows) < 100:
        sys.exit("outlines: fewer than 100 outlines were dumped")
    wrong = 0
    for row in rows:
        polygon = Geodesic.WGS84.Polygon()
        for corner in row["corners"].split(";"):
            lat, lon = corner.split(",")
            polygon.AddPoint(float(lat), float(lon))
        _, around, inside = polygon.Compute()
        inside = abs(inside)
        for name, ours, theirs in (
            ("around", float(row["around_m"]), around),
            ("inside", float(row["inside_m2"]), inside),
        ):
            if not abs(ours - theirs) <= max(AGREE * theirs, FLOOR[name]):
                print(f"outlines: {row['corners']}: {name} is {theirs}, not {ours}")
                wrong += 1
    if wrong:
        sys.exit(f"outlines: {wrong} disagreements")
    print(f"outlines: {len(rows)} areas on the ellipsoid agree with geographiclib")


main()
