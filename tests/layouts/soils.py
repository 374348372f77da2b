"""The soils of the invented farm Pipit Lane, drawn once: what every made report is about.

The cations follow from CEC, pH and the share of each base; the acidity is what is left of the CEC,
and a buffer's pH falls with it. The slopes below are invented for this farm: plausible, no oracle.
"""

import random

SEED = 20261014

BLOCKS = [
    # name, texture, crop, pH, CEC, organic matter
    ("Barn Field", "silt loam", "sweet corn", 6.0, 10.4, 3.1),
    ("Creek Field", "loam", "winter squash", 5.5, 11.9, 3.8),
    ("Road Field", "sandy loam", "potato", 5.4, 7.2, 1.9),
    ("Upper Field East", "loam", "cabbage", 6.3, 10.1, 3.4),
    ("Upper Field West", "loam", "carrot", 6.6, 10.6, 3.6),
    ("Lower Field 1", "silt loam", "onion", 6.4, 11.8, 4.4),
    ("Lower Field 2", "silt loam", "lettuce", 6.2, 11.5, 4.0),
    ("Garlic Patch", "sandy loam", "garlic", 6.1, 7.0, 2.2),
    ("Tunnel 1", "loam", "tomato", 7.0, 18.2, 6.8),
    ("Tunnel 2", "loam", "cucumber", 6.7, 15.3, 5.9),
    ("Kitchen Beds", "sandy loam", "chard", 6.9, 17.1, 7.4),
    ("Herb Beds", "sandy loam", "parsley", 6.8, 14.2, 6.1),
    ("Asparagus Row", "sandy loam", "asparagus", 6.5, 8.3, 2.8),
    ("Blueberry Row", "sandy loam", "blueberry", 5.0, 8.0, 3.3),
]

# mg/kg of the element in 1 meq/100 g, from standard atomic weights.
CHARGE = {"ca": 40.078 / 2 * 10, "mg": 24.305 / 2 * 10, "k": 390.983, "na": 229.898}

# Of a nutrient by Mehlich 3, the part that another extract pulls; invented.
PULLS = {
    "mehlich3": {},
    "mehlich1": {"p": 0.48, "k": 0.9, "ca": 0.88, "mg": 0.9, "zn": 0.8, "mn": 0.5, "b": 0.8},
    "modified_morgan": {"p": 0.09, "k": 0.9, "ca": 0.92, "mg": 0.93, "zn": 0.4, "mn": 0.2, "cu": 0.2,
                        "fe": 0.05, "s": 0.9, "b": 0.3, "al": 0.06},
    "ammonium_acetate": {"k": 0.98, "ca": 1.0, "mg": 1.0, "na": 1.0},
    "bray_p1": {"p": 0.86},
    "olsen": {"p": 0.45},
    "dtpa": {"zn": 0.55, "mn": 0.3, "cu": 0.5, "fe": 0.4},
    "hot_water": {"b": 0.9},
    "calcium_phosphate": {"s": 0.8},
}

# A buffer's start and its fall per meq/100 g of acidity; invented, in the order of the real ones.
BUFFERS = {
    "smp": (7.05, 0.13),
    "sikora": (7.1, 0.13),
    "mehlich": (6.6, 0.11),
    "modified_mehlich": (6.55, 0.1),
    "adams_evans": (7.95, 0.1),
}
# Labs read the buffer of acid soils only.
BUFFER_BELOW_PH = 6.6


class Soil:
    """One block's soil: what a perfect lab would find."""

    def __init__(self, row, draw):
        self.name, self.texture, self.crop, self.ph, self.cec, self.om = row
        span = lambda low, high: low + (high - low) * draw.random()
        rich = (self.om - 1.5) / 6
        bases = min(1.0, 0.45 + 0.29 * (self.ph - 5.0))
        share = {"k": span(0.02, 0.05), "mg": span(0.09, 0.15), "na": span(0.004, 0.011)}
        share["ca"] = bases - sum(share.values())
        self.bases = bases
        self.acidity = self.cec * (1 - bases)
        self.by_m3 = {n: self.cec * s * CHARGE[n] for n, s in share.items()}
        self.by_m3 |= {
            "p": 25 + 250 * rich * span(0.6, 1.1),
            "s": span(9, 18) + 25 * rich,
            "b": 0.25 + 1.2 * rich * span(0.7, 1.2),
            "zn": 1.4 + 11 * rich * span(0.7, 1.2),
            "mn": span(22, 65),
            "cu": span(1.1, 3.5),
            "fe": span(90, 240),
            "al": 1150 - 110 * (self.ph - 5) - 40 * rich * span(0, 9),
        }
        self.no3n = span(4, 38)
        self.nh4n = span(1, 7)
        self.salts = 0.12 + 0.9 * rich * span(0.6, 1.2)
        self.density = 1.28 - 0.05 * self.om + span(-0.04, 0.04)

    def value(self, analyte, extractant=None, buffer=None):
        """In the unit of the analyte: ppm, %, meq/100 g, dS/m or pH; none where no lab would read it."""
        if analyte == "buffer_ph":
            start, fall = BUFFERS[buffer]
            return start - fall * self.acidity if self.ph < BUFFER_BELOW_PH else None
        if analyte == "ph_salt":
            return self.ph - 0.55
        if analyte == "cec":
            # By summation: the lab's own cations and the acidity.
            bases = ("ca", "mg", "k", "na")
            return self.acidity + sum(self.value(b, extractant) / CHARGE[b] for b in bases)
        if analyte in self.by_m3:
            return self.by_m3[analyte] * PULLS[extractant].get(analyte, 1.0)
        return getattr(self, analyte)

    def saturation(self, base, extractant):
        """Base saturation, % of the CEC by summation."""
        cec = self.value("cec", extractant)
        part = self.acidity if base == "h" else self.value(base, extractant) / CHARGE[base]
        return 100 * part / cec

    def rate(self, what):
        """What the invented lab advises, lb/acre of pure lime, N, P2O5 or K2O."""
        if what == "lime":
            return round(max(0.0, 6.5 - self.ph) * self.cec * 0.45 * 2) * 500
        if what == "n":
            return {"asparagus": 60, "carrot": 80, "blueberry": 40}.get(self.crop, 110)
        have = self.by_m3["p" if what == "p2o5" else "k"]
        return max(0, round((190 - have) / 10) * 10) if what == "p2o5" else max(0, round((280 - have) / 10) * 10)


def farm():
    draw = random.Random(SEED)
    return [Soil(row, draw) for row in BLOCKS]
