"""Text files with the habits of spreadsheets and labs: groups over columns, headers over several rows,
ratings in the cells, two extracts of one nutrient, repeated headers, empty cells at the ends."""

import copy

from report import Field, Report
from soils import farm
from text import AA, M3, long_fields, rate, role, sat, several, table, value, wide


def grouped():
    f = [
        role("sample", "Sample"), role("lab_number", "Lab No"),
        value("ph", "pH", "ph", digits=1), value("om", "OM %", "percent", "%", 1),
        *several("p k ca mg", "{}", "ppm", "ppm", M3),
        *[sat(b, b.capitalize(), M3) for b in ("k", "ca", "mg")],
    ]
    r = Report("csv-16-groups.csv", "csv", "Marl Bank Laboratory", "a row of groups over the header: K, Ca and Mg stand twice, as ppm and as base saturation",
               f, farm()[:9], number="{}", first=70)
    above = ["Marl Bank Laboratory", [""] * 4 + ["Mehlich 3 (ppm)"] + [""] * 3 + ["Base saturation (%)", "", ""]]
    return r, wide(r, above).encode()


def stacked():
    f = [
        role("lab_number", "Lab"), role("sample", "Sample"), value("ph", "Soil", "ph", digits=1, method="pH"),
        value("buffer_ph", "SMP", "ph", digits=2, buffer="smp"), value("om", "Organic", "percent", "%", 1),
        value("p", "Bray P1", "ppm", "ppm", 0, "bray_p1"), *several("k mg ca", "{}", "ppm", "ppm", AA),
        value("cec", "C.E.C.", "meq_per_100g", "meq/100g", 1, AA),
    ]
    r = Report("csv-17-stacked.csv", "csv", "Two Becks Soil Lab", "one header over three rows: organic / matter / %",
               f, farm()[3:11], number="26/{:03}", first=9)
    rows = [["Two Becks Soil Lab"], ["K, Mg, Ca: ammonium acetate"],
            ["Lab", "Sample", "Soil", "SMP", "Organic", "Bray P1", "K", "Mg", "Ca", "C.E.C."],
            ["Number", "ID", "pH", "Buffer", "Matter", "", "", "", "", ""],
            ["", "", "", "pH", "%", "ppm", "ppm", "ppm", "ppm", "meq/100g"], *r.rows()]
    for field, header in zip(f, ["Lab Number", "Sample ID", "Soil pH", "SMP Buffer pH", "Organic Matter %", "Bray P1 ppm",
                                 "K ppm", "Mg ppm", "Ca ppm", "C.E.C. meq/100g"]):
        field.header = header
    return r, table(rows).encode()


def unmerged():
    f = [
        role("sample", "Sample ID"), role("lab_number", "Lab No."), value("ph", "pH 1:1 water", "ph", digits=1),
        value("buffer_ph", "Buffer pH SMP", "ph", digits=2, buffer="smp"), value("om", "OM %", "percent", "%", 1),
        *several("p k ca mg", "{}", "ppm", "ppm", M3), value("cec", "CEC meq/100 g", "meq_per_100g", "meq/100 g", 1, M3),
    ]
    r = Report("csv-25-unmerged.csv", "csv", "Cairn Soil Laboratory", "a sheet with merged header cells saved as text: names two rows above the units",
               f, farm()[:7], number="C26-{:04}", first=61)
    rows = [["Cairn Soil Laboratory"], ["Sample ID", "Lab No.", "Acidity", "", "", "Mehlich 3 extraction, all in ppm", "", "", "", ""],
            ["", "", "pH", "Buffer pH", "OM", "P", "K", "Ca", "Mg", "CEC"], ["", "", "1:1 water", "SMP", "%", "", "", "", "", "meq/100 g"], *r.rows()]
    return r, table(rows).encode()


def rated():
    f = [
        role("sample", "Field ID"), value("ph", "pH", "ph", digits=1),
        value("om", "OM, %", "percent", "%", 1), *several("p k mg ca", "{}, ppm", "ppm", "ppm", M3),
    ]
    r = Report("csv-18-rated.csv", "csv", "Cairn Soil Laboratory", "the lab's rating in the cell behind the number",
               f, farm()[:10])
    rows = r.rows()
    for i, row in enumerate(rows):
        for c, x in enumerate(f):
            if x.extract:
                share = r.soils[i].by_m3[x.analyte] / {"p": 90, "k": 150, "ca": 1200, "mg": 130}[x.analyte]
                row[c] += " VL" if share < 0.5 else " L" if share < 0.8 else " M" if share < 1.1 else " VH"
    return r, table([["Cairn Soil Laboratory"], ["Mehlich 3 extraction"], r.header(), *rows]).encode()


def two_extracts():
    f = [
        role("sample", "Sample Name"), value("ph", "Soil pH", "ph", digits=1),
        value("p", "Bray P1 (ppm)", "ppm", "ppm", 0, "bray_p1"), value("p", "Olsen P (ppm)", "ppm", "ppm", 0, "olsen"),
        value("p", "Mehlich 3 P (ppm)", "ppm", "ppm", 0, M3),
        *several("k mg ca", "{} (ppm, NH4OAc)", "ppm", "ppm", AA), value("s", "SO4-S (ppm)", "ppm", "ppm", 0, "calcium_phosphate", unsaid=("extractant",)),
        value("salts", "Soluble Salts (mmhos/cm)", "mmho_per_cm", "mmhos/cm", 2),
    ]
    r = Report("csv-19-three-p.csv", "csv", "Two Becks Soil Lab", "phosphorus by three extracts side by side; the sulfate's extract is not said",
               f, farm()[:8], asks=["extractant"])
    return r, wide(r, ["Two Becks Soil Lab"]).encode()


def page_breaks():
    f = [role("sample", "Sample ID"), role("lab_number", "Lab No."), value("ph", "pH", "ph", digits=1),
         *several("p k ca mg", "{} ppm", "ppm", "ppm", M3)]
    r = Report("csv-20-pages.csv", "csv", "Marl Bank Laboratory", "the header again at each page, averages and notes at the end, empty cells at the ends of rows",
               f, farm(), number="{:05}", first=31)
    rows = r.rows()
    mean = ["Average", ""] + [f"{sum(float(row[c]) for row in rows) / len(rows):.1f}" for c in range(2, len(f))]
    lines = [["Marl Bank Laboratory"], ["Method: Mehlich-3 (ICP)"], [], r.header(), *rows[:6], [], r.header(), *rows[6:], [], mean,
             ["Results relate to the samples as received."]]
    return r, table([line + ["", ""] if line else line for line in lines], end="\r\n").encode("cp1252")


def sep_line():
    f = [role("sample", "Block name"), role("date", "Sampling date"), value("ph", "pH", "ph", digits=1),
         *several("p k ca mg", "{} [mg/kg]", "mg_per_kg", "mg/kg", M3),
         value("cec", "CEC [cmol(+)/kg]", "cmol_per_kg", "cmol(+)/kg", 1, M3)]
    r = Report("csv-21-sep-line.csv", "csv", "Tarn & Fell Analytical", "a first line that names the delimiter for spreadsheets, decimal comma, thousands with a point",
               f, farm()[4:13], comma=True, group=".", date="2026-10-14")
    return r, b"\xef\xbb\xbf" + wide(r, ["sep=;", "Tarn & Fell Analytical laboratory", "Mehlich 3"], delimiter=";", end="\r\n").encode().replace(b'"sep=;"', b"sep=;")


def brackets():
    f = [
        role("lab_number", "Lab#"), role("sample", "Client Sample ID"), value("ph", "pH_water", "ph", digits=1),
        value("ph_salt", "pH_CaCl2", "ph", digits=1),
        *several("p k ca mg", "M3_{}_mg/kg", "mg_per_kg", "mg/kg", M3), value("b", "HWS_B_mg/kg", "mg_per_kg", "mg/kg", 2, "hot_water"),
        *several("zn cu mn fe", "DTPA_{}_mg/kg", "mg_per_kg", "mg/kg", "dtpa", {"zn": 2, "cu": 2, "mn": 1, "fe": 1}),
        value("no3n", "NO3-N_mg/kg", "mg_per_kg", "mg/kg", 1), value("cec", "CEC_meq/100g", "meq_per_100g", "meq/100g", 1, M3),
        value("om", "OM_%", "percent", "%", 1),
    ]
    r = Report("csv-22-database.csv", "csv", "", "a database's headers: names, methods and units held together by underscores; no lab named",
               f, farm(), number="{}", first=5501)
    return r, wide(r).encode()


def acre_words():
    f = [
        role("sample", "Field"), value("ph", "pH", "ph", digits=1),
        *[value(a, n, "lb_per_acre", "lbs/acre", 0, "mehlich1") for a, n in
          (("p", "Phosphorus (P) lbs/acre"), ("k", "Potassium (K) lbs/acre"), ("ca", "Calcium (Ca) lbs/acre"), ("mg", "Magnesium (Mg) lbs/acre"))],
        Field("ignore:rating", "P Index", "p"),
        rate("lime", "Agricultural limestone needed, tons/acre", "ton_per_acre", "tons/acre", 1, unsaid=("lime_basis",)),
        rate("n", "Apply N, lb per 1000 sq ft", "lb_per_1000_ft2", "lb per 1000 sq ft", 1),
        rate("p2o5", "Apply P2O5, lb per 1000 sq ft", "lb_per_1000_ft2", "lb per 1000 sq ft", 1),
        rate("k2o", "Apply K2O, lb per 1000 sq ft", "lb_per_1000_ft2", "lb per 1000 sq ft", 1),
    ]
    r = Report("csv-23-acre-words.csv", "csv", "Marl Bank Laboratory", "names in full with the sign behind, lb/acre to a depth named above the table",
               f, farm()[:8], depth_in=6.0, asks=["lime_basis"])
    return r, wide(r, ["Marl Bank Laboratory", "Sampling depth: 0-6 inches", "Extraction: Mehlich 1 (double acid)"]).encode()


def sparse():
    f = [role("sample", "Sample"), *long_fields("Mehlich 3")[:7]]
    r = Report("csv-24-units-in-cells.csv", "csv", "Cairn Soil Laboratory", "each number with its unit in the cell",
               f, farm()[2:9])
    rows = [[c + (f" {x.unit_text}" if c and x.unit_text else "") for x, c in zip(f, row)] for row in r.rows()]
    above = [["Cairn Soil Laboratory"], ["Mehlich 3; Sikora buffer"]]
    return r, table([*above, r.header(), *rows]).encode()


def doubled_with_depth():
    f = [role("sample", "Sample"), role("depth", "Depth (in)", unit="in"), value("ph", "pH", "ph", digits=1),
         *several("p k ca mg", "{} (lb/acre)", "lb_per_acre", "lb/acre", M3)]
    r = Report("csv-26-doubled.csv", "csv", "Marl Bank Laboratory", "lb/acre as twice ppm, said below the table, though a depth is printed",
               f, farm()[:7], doubled=True, depth_text="0-8", depth_in=8.0)
    return r, wide(r, ["Marl Bank Laboratory", "Mehlich 3"], ["lb/acre = 2 x ppm"]).encode()


def layers():
    f = [role("sample", "Sample ID"), role("depth", "Depth", unit="in"), value("ph", "pH", "ph", digits=1),
         value("no3n", "NO3-N (lb/acre)", "lb_per_acre", "lb/acre", 0), value("salts", "EC (dS/m)", "ds_per_m", digits=2)]
    soils = farm()[:6]
    deep = [copy.copy(s) for s in soils]
    for s in deep:
        s.ph, s.no3n, s.salts = s.ph + 0.2, s.no3n * 0.4, s.salts * 0.7
    r = Report("csv-27-layers.csv", "csv", "Cairn Soil Laboratory", "two layers of each block, nitrate in lb/acre of its own layer",
               f, soils, depth_text="0-6 in", depth_in=6.0)
    under = Report("", "csv", "", "", f, deep, depth_text="6-24 in", depth_in=18.0, top_in=6.0)
    r.also = [under]
    rows = [row for pair in zip(r.rows(), under.rows()) for row in pair]
    return r, table([["Cairn Soil Laboratory"], r.header(), *rows]).encode()


def across():
    f = [role("sample", "Sample"), *long_fields("Mehlich 3")[:7]]
    r = Report("csv-28-across.csv", "csv", "Two Becks Soil Lab", "samples side by side, an analyte a row", f, farm()[:5], needs=["across"])
    rows = [["Test", "Unit", "Method", *[s.name for s in r.soils]]]
    for c, x in enumerate(f[1:], 1):
        rows.append([x.header, x.unit_text, x.method, *[row[c] for row in r.rows()]])
    return r, table([["Two Becks Soil Lab"], *rows]).encode()


def both_units():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1)]
    for a in ("P", "K"):
        f += [value(a.lower(), f"{a} ppm", "ppm", "ppm", 0, M3), Field("ignore:again", f"{a} lbs/A", "same", a.lower())]
    r = Report("csv-29-both-units.csv", "csv", "Two Becks Soil Lab", "each nutrient twice, in ppm and in lb/acre", f, farm()[:8])
    rows = [[row[c - 1] and str(int(row[c - 1]) * 2) if x.means == "ignore:again" else row[c] for c, x in enumerate(f)] for row in r.rows()]
    return r, table([["Two Becks Soil Lab"], ["Mehlich 3 extraction"], r.header(), *rows]).encode()


def oxide_stock():
    f = [role("sample", "Field"), value("ph", "pH", "ph", digits=1),
         value("p", "P2O5 lb/acre", "lb_per_acre", "lb/acre", 0, M3, form="p2o5"),
         value("k", "K2O lb/acre", "lb_per_acre", "lb/acre", 0, M3, form="k2o")]
    r = Report("csv-30-oxide-stock.csv", "csv", "Marl Bank Laboratory", "what the soil holds as lb/acre of P2O5 and K2O, which could be a rate to apply",
               f, farm()[:8], doubled=True, asks=["meaning"], answers=[{"topic": "depth", "of": None, "key": "doubled"}])
    return r, wide(r, ["Marl Bank Laboratory", "Found in the soil by Mehlich 3"]).encode()


def targets():
    f = [role("sample", "Sample"), value("ph", "pH", "ph", digits=1), value("om", "OM %", "percent", "%", 1),
         *several("p k ca mg", "{} ppm", "ppm", "ppm", M3)]
    r = Report("csv-31-targets.csv", "csv", "Two Becks Soil Lab", "a row of optimum ranges under the header, one of detection limits at the end",
               f, farm()[:8])
    optimum = ["Optimum range", "6.2-6.8", "3-6", "40-90", "120-200", "800-1500", "100-200"]
    return r, table([["Two Becks Soil Lab"], ["Mehlich 3"], r.header(), optimum, *r.rows(), ["Detection limit", "", "0.1", "1", "2", "5", "2"]]).encode()


def all_methods():
    f = [role("sample", "Sample"), role("lab_number", "Lab No"), value("ph", "pH", "ph", digits=1), value("buffer_ph", "Buffer pH", "ph", digits=2, buffer="sikora"),
         value("p", "P ppm", "ppm", "ppm", 0, "bray_p1"), *several("k ca mg na", "{} ppm", "ppm", "ppm", AA),
         value("s", "S ppm", "ppm", "ppm", 0, "calcium_phosphate"), *several("zn mn cu fe", "{} ppm", "ppm", "ppm", "dtpa", {"zn": 1, "cu": 1}),
         value("b", "B ppm", "ppm", "ppm", 2, "hot_water")]
    r = Report("csv-32-methods.csv", "csv", "Two Becks Soil Lab", "every method in one line under the table",
               f, farm()[4:12], number="{}", first=12)
    rows = [["NR" if x.means == "value:buffer_ph" and not c else c for x, c in zip(f, row)] for row in r.rows()]
    note = "P: Bray P1; K, Ca, Mg, Na: 1 N ammonium acetate; S: monocalcium phosphate; micronutrients: DTPA; B: hot water; buffer pH: Sikora"
    return r, table([["Two Becks Soil Lab"], r.header(), *rows, [note]]).encode()


def by_weight():
    f = [role("sample", "Plot"), value("ph", "pH (CaCl2)", "ph", digits=1),
         value("p", "P2O5 mg/100 g", "mg_per_100g", "mg/100 g", 1, M3, form="p2o5"), value("k", "K2O mg/100 g", "mg_per_100g", "mg/100 g", 1, M3, form="k2o"),
         value("mg", "Mg mg/100 g", "mg_per_100g", "mg/100 g", 1, M3), value("zn", "Zn µg/g", "ppm", "µg/g", 1, M3)]
    f[1].means = "value:ph_salt"
    r = Report("csv-33-by-weight.csv", "csv", "Tarn & Fell Analytical", "mg/100 g and µg/g, oxides, decimal comma, windows-1252",
               f, farm()[:7], comma=True)
    return r, wide(r, ["Tarn & Fell Analytical laboratory", "Mehlich 3"], delimiter=";").encode("cp1252")


ALL = [targets, all_methods, by_weight, doubled_with_depth, layers, across, both_units, oxide_stock, grouped, stacked, unmerged, rated, two_extracts, page_breaks, sep_line, brackets, acre_words, sparse]
