"""A lab's report as fields and rows of printed cells, and the answers worked out from what is printed.

The conversions stand here a second time, from atomic weights and definitions alone, so that the
answers do not come out of the program that they check.
"""

import json
import re
from dataclasses import dataclass, field as default

from soils import CHARGE

POUND, ACRE, FOOT = 0.45359237, 4046.8564224, 0.3048
ATOM = {"p": 30.973762, "k": 39.0983, "mg": 24.305, "ca": 40.078, "s": 32.06, "o": 15.999, "n": 14.007}
FORMS = {
    "p2o5": ("p", (2 * ATOM["p"] + 5 * ATOM["o"]) / (2 * ATOM["p"])),
    "k2o": ("k", (2 * ATOM["k"] + ATOM["o"]) / (2 * ATOM["k"])),
    "mgo": ("mg", (ATOM["mg"] + ATOM["o"]) / ATOM["mg"]),
    "cao": ("ca", (ATOM["ca"] + ATOM["o"]) / ATOM["ca"]),
    "so4": ("s", (ATOM["s"] + 4 * ATOM["o"]) / ATOM["s"]),
}
# An acre of soil to 6 2/3 in weighs 2,000,000 lb: lb/acre per ppm and inch.
PER_INCH = 2.0 / (20 / 3)
KG_HA = (1 / POUND) / (10_000 / ACRE)
RATES = {
    "lb_per_acre": 1.0,
    "ton_per_acre": 2000.0,
    "lb_per_1000_ft2": ACRE / FOOT**2 / 1000,
    "kg_per_ha": KG_HA,
}
FACTORS = {"ppm": 1, "mg_per_kg": 1, "ph": 1, "ds_per_m": 1, "mmho_per_cm": 1, "us_per_cm": 0.001, "mg_per_100g": 10, "g_per_kg": 1000}


@dataclass
class Field:
    """One printed column. `means` is a meaning's key in the reader's own list."""

    means: str
    header: str
    unit: str = ""
    unit_text: str = ""
    digits: int = 0
    extractant: str = ""
    buffer: str = ""
    form: str = ""
    basis: float = 0.0
    least: float = 0.0
    most: float = 0.0
    # the unit or method stands nowhere in the file
    unsaid: tuple = ()
    # what was printed is this many times the truth
    slip: float = 1.0
    # for the pages with a row a value
    method: str = ""

    @property
    def analyte(self):
        return self.means.split(":")[1] if self.means.startswith("value:") else ""

    @property
    def extract(self):
        """The extractant, where the value means nothing without it."""
        return self.extractant if self.analyte in EXTRACTED else ""

    @property
    def what(self):
        return self.means.split(":")[1] if self.means.startswith("recommend:") else ""


EXTRACTED = {"p", "k", "ca", "mg", "s", "na", "b", "zn", "mn", "cu", "fe", "al"}


def factor(f, depth_in, doubled, density):
    """The analyte's own unit in one printed unit."""
    a = f.analyte
    if f.unit == "lb_per_acre" or f.unit == "kg_per_ha":
        times = (KG_HA if f.unit == "kg_per_ha" else 1) / (2.0 if doubled else PER_INCH * depth_in)
    elif f.unit in ("meq_per_100g", "cmol_per_kg"):
        times = CHARGE.get(a, 1.0)
    elif f.unit == "mg_per_dm3":
        times = 1 / density
    elif f.unit == "percent":
        times = 1
    else:
        times = FACTORS[f.unit]
    if f.unit == "g_per_kg" and a == "om":
        times = 0.1
    return times / FORMS[f.form][1] if f.form else times


@dataclass
class Report:
    name: str
    form: str
    lab: str
    about: str
    fields: list
    soils: list
    needs: list = default(default_factory=list)
    number: str = "{:04}"
    first: int = 1
    date: str = ""  # printed in a column: strftime
    top_in: float = 0.0
    depth_in: float = 0.0
    depth_text: str = ""
    doubled: bool = False
    comma: bool = False
    group: str = ""
    answers: list = default(default_factory=list)
    asks: list = default(default_factory=list)
    doubts: list = default(default_factory=list)
    history: list = default(default_factory=list)
    # a cell that was printed wrongly: (sample, field's means) -> the text, and the true value
    misprints: dict = default(default_factory=dict)
    may_refuse: bool = False
    # a program without which the file may be refused
    tool: str = ""
    # other layers or groups of values of the same samples
    also: list = default(default_factory=list)
    rename: dict = default(default_factory=dict)
    producer: str = ""

    def printed(self, f, i):
        """The cell as the lab prints it."""
        soil = self.soils[i]
        name = self.rename.get(soil.name, soil.name)
        if (name, f.means) in self.misprints:
            return self.misprints[name, f.means][0]
        if f.means == "sample":
            return name
        if f.means == "lab_number":
            return self.number.format(self.first + i)
        if f.means == "date":
            return self.date
        if f.means == "depth":
            return self.depth_text
        if f.means in ("texture", "crop"):
            return getattr(soil, f.means)
        if f.means == "density":
            return self.digits(soil.density, 2)
        if f.means.startswith("ignore:sat:"):
            return self.digits(soil.saturation(f.means[11:], f.extractant), f.digits)
        if f.means == "ignore:rating":
            of = soil.by_m3[f.unit]
            return "Low" if of < 80 else "Medium" if of < 150 else "High"
        if f.means.startswith("ignore"):
            return f.unit_text if f.unit == "same" else ""
        if f.what:
            rate = soil.rate(f.what) / RATES[f.unit] / ((f.basis or 100) / 100)
            return self.digits(rate, f.digits)
        value = soil.value(f.analyte, f.extractant or None, f.buffer or None)
        if value is None:
            return ""
        number = value / self.factor(f, i) * f.slip
        if f.least and number < f.least:
            return "<" + self.digits(f.least, f.digits)
        if f.most and number > f.most:
            return ">" + self.digits(f.most, f.digits)
        return self.digits(number, f.digits)

    def factor(self, f, i):
        density = float(f"{self.soils[i].density:.2f}")
        return factor(f, self.depth_in, self.doubled, density)

    def digits(self, number, digits):
        text = f"{number:,.{digits}f}" if self.group else f"{number:.{digits}f}"
        return text.translate(str.maketrans({",": ".", ".": ","})) if self.comma else text

    def number_of(self, text):
        text = text.strip("<> ")
        text = text.replace(".", "").replace(",", ".") if self.comma else text.replace(",", "")
        return float(text)

    def rows(self):
        return [[self.printed(f, i) for f in self.fields] for i in range(len(self.soils))]

    def header(self):
        return [f.header for f in self.fields]

    def samples(self):
        """What a perfect reader finds in each sample."""
        values = [f for f in self.fields if f.analyte]
        rates = [f for f in self.fields if f.what]
        has = lambda means: any(f.means == means for f in self.fields)
        samples = []
        for i, soil in enumerate(self.soils):
            name = self.rename.get(soil.name, soil.name)
            sample = {"name": name}
            if has("lab_number"):
                sample["lab_number"] = self.number.format(self.first + i)
            if has("date"):
                sample["date"] = self.date
            if self.depth_in:
                sample["depth"] = [self.top_in, round(self.top_in + self.depth_in, 6)]
            found = {}
            for f in values:
                text = self.printed(f, i)
                if not text:
                    continue
                value = self.number_of(text) * self.factor(f, i) / f.slip
                if (name, f.means) in self.misprints:
                    text, value = self.misprints[name, f.means]
                entry = [float(f"{value:.7g}"), text]
                if text[0] in "<>":
                    entry.append("below" if text[0] == "<" else "above")
                found[key(f)] = entry
            sample["values"] = found
            if rates:
                sample["recommended"] = {
                    f.what: [self.pounds(f, self.printed(f, i)), self.printed(f, i)]
                    for f in rates
                }
            samples.append(sample)
        return samples + [s for other in self.also for s in other.samples()]

    def answers_json(self):
        """The answers as text, one sample a line."""
        samples = self.samples()
        fields = self.fields + [f for other in self.also for f in other.fields]
        measures = {
            key(f): {
                "analyte": f.analyte,
                "unit": f.unit,
                "printed_unit": f.unit_text,
                "method": f.method,
                "form": f.form or None,
                "extractant": f.extract or None,
                "buffer": f.buffer or None,
            }
            for f in fields
            if f.analyte
        }
        columns = [
            {
                "header": one_line(f.header),
                "means": "ignore" if f.means.startswith("ignore") else f.means + (f":{f.form}" if f.form else ""),
                "unit": f.unit or None,
                "extractant": f.extract or None,
                "buffer": f.buffer or None,
            }
            for f in fields
        ]
        for column in columns:
            if column["means"] == "ignore":
                column.update(unit=None)
        head = {
            "file": self.name,
            "form": self.form,
            "about": self.about,
            "lab": self.lab,
            "producer": self.producer or None,
            "needs": self.needs,
            "answers": self.known() + [unsaid(f, topic) for f in self.fields for topic in f.unsaid],
            "asks": self.asks,
            "question": self.doubts,
            "may_refuse": self.may_refuse,
            "tool": self.tool or None,
        }
        lines = [f' "{k}": {dump(v)}' for k, v in head.items()]
        block = lambda k, rows, a, b: f' "{k}": {a}\n' + ",\n".join(f"  {r}" for r in rows) + f"\n {b}"
        lines.append(block("columns", [dump(c) for c in columns], "[", "]"))
        lines.append(block("measures", [f'"{k}": {dump(v)}' for k, v in measures.items()], "{", "}"))
        lines.append(block("samples", [dump(s) for s in samples], "[", "]"))
        if self.history:
            lines.append(block("history", [dump(s) for s in self.history], "[", "]"))
        text = "{\n" + ",\n".join(lines) + "\n}\n"
        json.loads(text)
        return text

    def known(self):
        """What the grower knows of the whole file, should it be asked."""
        known = [{"topic": "decimal_mark", "of": None, "key": "comma" if self.comma else "point"}]
        if self.depth_in and not self.doubled:
            known.append({"topic": "depth", "of": None, "key": f"{self.depth_in:g}"})
        return self.answers + known

    def pounds(self, f, text):
        """lb/acre of a printed rate; none where it is lime of an unknown kind."""
        number = self.number_of(text)
        if f.what == "lime" and not f.basis:
            return None if number else 0.0
        return float(f"{number * RATES[f.unit] * (f.basis or 100) / 100:.7g}")


def unsaid(f, topic):
    answer = {"unit": f.unit, "extractant": f.extractant, "buffer": f.buffer, "lime_basis": str(f.basis or "not_stated")}
    return {"topic": topic, "of": f.means, "key": answer[topic]}


def key(f):
    return f.analyte + (f"@{f.extract or f.buffer}" if f.extract or f.buffer else "")


def one_line(text):
    return re.sub(r"\s+", " ", text).strip()


def dump(value):
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))
