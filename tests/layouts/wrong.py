"""Reports with a mistake in them: the reader must ask or doubt, never keep the number in silence."""

from report import Report
from soils import farm
from text import M3, role, several, value, wide

LAB = "Marl Bank Laboratory"


def last_year(soils, analytes="p k ca mg"):
    """The same blocks a year before by Mehlich 3, a little off as two samplings are."""
    off = lambda i, a: 1 + ((i * 7 + ord(a[0])) % 11 - 5) / 100
    return [
        {
            "name": s.name,
            "date": "2025-10-12",
            "values": {f"{a}@{M3}": float(f"{s.value(a, M3) * off(i, a):.0f}") for a in analytes.split()},
        }
        for i, s in enumerate(soils)
    ]


def doubts(*analytes):
    return [{"sample": None, "analyte": a} for a in analytes]


def acre_as_ppm():
    soils = farm()[:10]
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         *several("p k ca mg", "{} (ppm)", "lb_per_acre", "ppm", M3)]
    r = Report("wrong-01-acre-as-ppm.csv", "csv", LAB, "the header says ppm, the numbers are lb/acre: about twice last year's",
               f, soils, needs=["history"], doubled=True, history=last_year(soils), doubts=doubts("p", "k", "ca", "mg"))
    return r, wide(r, [LAB, "Mehlich 3 extract"]).encode()


def swapped():
    # Blocks in which P and K are far apart; where they are alike nobody could tell.
    soils = [s for s in farm() if not 0.6 < s.by_m3["p"] / s.by_m3["k"] < 1.7]
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         value("k", "P (ppm)", "ppm", "ppm", 0, M3), value("p", "K (ppm)", "ppm", "ppm", 0, M3),
         *several("ca mg", "{} (ppm)", "ppm", "ppm", M3)]
    r = Report("wrong-02-p-k-swapped.csv", "csv", LAB, "P stands under K and K under P",
               f, soils, needs=["history"], history=last_year(soils), doubts=doubts("p", "k"))
    return r, wide(r, [LAB, "Mehlich 3 extract"]).encode()


def oxide():
    soils = farm()[:10]
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         value("p", "Phosphorus (ppm)", "ppm", "ppm", 0, M3, slip=2.2914),
         *several("k ca mg", "{} (ppm)", "ppm", "ppm", M3)]
    r = Report("wrong-03-oxide-as-p.csv", "csv", LAB, "phosphorus is printed, but as P2O5: 2.29 times last year's",
               f, soils, needs=["history"], history=last_year(soils), doubts=doubts("p"))
    return r, wide(r, [LAB, "Mehlich 3 extract"]).encode()


def om_share():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         value("om", "Organic matter (%)", "percent", "%", 3, slip=0.01),
         *several("p k", "{} (ppm)", "ppm", "ppm", M3)]
    r = Report("wrong-04-om-share.csv", "csv", LAB, "organic matter as a share of one under a header in per cent",
               f, farm()[:8], needs=["om_share"], doubts=doubts("om"))
    return r, wide(r, [LAB, "Mehlich 3 extract"]).encode()


def unnamed():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         value("buffer_ph", "Buffer pH", "ph", digits=2, buffer="sikora", unsaid=("buffer",)),
         *[value(a, f"{a.capitalize()} ppm", "ppm", "ppm", 0, M3, unsaid=("extractant",)) for a in ("p", "k", "ca", "mg")]]
    r = Report("wrong-05-unnamed.csv", "csv", LAB, "neither extractant nor buffer is named",
               f, farm()[:8], asks=["extractant", "buffer"])
    return r, wide(r, [LAB]).encode()


def no_unit():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         *[value(a, a.capitalize(), "ppm", "", 0, M3, unsaid=("unit",)) for a in ("p", "k", "ca", "mg")]]
    r = Report("wrong-06-no-unit.csv", "csv", LAB, "no unit anywhere", f, farm()[:8], asks=["unit"])
    return r, wide(r, [LAB, "Extractant: Mehlich 3"]).encode()


def lost_point():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1), *several("p k", "{} (ppm)", "ppm", "ppm", M3)]
    r = Report("wrong-07-lost-point.csv", "csv", LAB, "one pH has lost its decimal point",
               f, farm()[:6], may_refuse=True, misprints={("Road Field", "value:ph"): ("54", 5.4)}, doubts=doubts("ph"))
    return r, wide(r, [LAB, "Mehlich 3 extract"]).encode()


def twice_cations():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         *several("p k ca mg", "{} (ppm)", "lb_per_acre", "ppm", M3), value("cec", "CEC (meq/100 g)", "meq_per_100g", digits=1, ext=M3)]
    r = Report("wrong-08-acre-as-ppm-cec.csv", "csv", LAB, "lb/acre under ppm, told by the CEC alone",
               f, farm()[6:14], needs=["history"], doubled=True, doubts=doubts("k", "ca", "mg"),
               history=last_year(farm()[6:14]))
    return r, wide(r, [LAB, "Mehlich 3 extract"]).encode()


def aside():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1),
         *[value(a, f"{a.capitalize()} ppm", "ppm", "ppm", 0, M3, unsaid=("extractant",)) for a in ("p", "k", "mn")]]
    r = Report("wrong-09-aside.csv", "csv", LAB, "a note names extracts that were not used",
               f, farm()[:8], asks=["extractant"])
    return r, wide(r, [LAB], ["Bray P1 and Olsen phosphorus are offered on request.", "Ask for DTPA if micronutrients are wanted."]).encode()


def offered():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1), value("p", "P ppm", "ppm", "ppm", 0, M3, unsaid=("extractant",))]
    r = Report("wrong-10-converted.csv", "csv", LAB, "a note names the extract to which numbers could be converted",
               f, farm()[:8], asks=["extractant"])
    return r, wide(r, [LAB], ["These numbers can be converted to Bray P1; ask the laboratory."]).encode()


ALL = [aside, offered, acre_as_ppm, swapped, oxide, om_share, unnamed, no_unit, lost_point, twice_cations]
