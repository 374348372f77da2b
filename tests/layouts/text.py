"""Reports as text files: each with another delimiter, encoding, header and choice of methods."""

import csv
import io

from report import Field, Report, one_line
from soils import farm

M3, M1, MM, AA = "mehlich3", "mehlich1", "modified_morgan", "ammonium_acetate"


def value(analyte, header, unit, text="", digits=0, ext="", buffer="", **more):
    return Field(f"value:{analyte}", header, unit, text, digits, ext, buffer, **more)


def role(means, header, **more):
    return Field(means, header, **more)


def rate(what, header, unit, text, digits, **more):
    return Field(f"recommend:{what}", header, unit, text, digits, **more)


def sat(base, header, ext, digits=1):
    return Field(f"ignore:sat:{base}", header, digits=digits, extractant=ext)


def several(analytes, pattern, unit, text, ext, digits=None):
    digits = digits or {}
    return [
        value(a, pattern.format(a[0].upper() + a[1:]), unit, text, digits.get(a, 0), ext)
        for a in analytes.split()
    ]


def table(rows, delimiter=",", end="\n", quote=csv.QUOTE_MINIMAL):
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=quote)
    writer.writerows(rows)
    return out.getvalue()


def wide(report, above=(), below=(), under=None, **how):
    rows = [*([line] if isinstance(line, str) else line for line in above), report.header()]
    if under:
        rows.append([f.unit_text if under == "units" else f.method for f in report.fields])
    return table([*rows, *report.rows(), *([line] for line in below)], **how)


def comma():
    f = [
        role("sample", "Sample ID"), role("lab_number", "Lab No."), role("date", "Date Sampled"),
        role("depth", "Depth (in)", unit="in"), role("texture", "Soil Texture"),
        value("ph", "Soil pH (1:1 water)", "ph", digits=1), value("buffer_ph", "SMP Buffer pH", "ph", digits=2, buffer="smp"),
        value("om", "Organic Matter LOI (%)", "percent", digits=1),
        *several("p k ca mg s", "{} (ppm)", "ppm", "ppm", M3),
        *several("b zn mn cu fe", "{} (ppm)", "ppm", "ppm", M3, {"b": 2, "zn": 1, "mn": 0, "cu": 1}),
        value("cec", "CEC (meq/100 g)", "meq_per_100g", digits=1, ext=M3),
        sat("k", "K Sat (%)", M3), sat("mg", "Mg Sat (%)", M3), sat("ca", "Ca Sat (%)", M3), sat("h", "H Sat (%)", M3),
    ]
    r = Report("csv-01-comma.csv", "csv", "Cairn Soil Laboratory", "comma, UTF-8, title rows, units in the header",
               f, farm(), number="C26-{:04}", first=2201, date="2026-10-14", depth_text="0-7", depth_in=7.0)
    above = ["Cairn Soil Laboratory", "Soil test report for Pipit Lane, account 0042", "Extraction: Mehlich 3 (ICP)", ""]
    return r, wide(r, above).encode()


def semicolon():
    f = [
        role("lab_number", "Lab ref"), role("sample", "Field name"), role("crop", "Crop"),
        value("ph", "pH H2O", "ph", digits=1), value("ph_salt", "pH CaCl2", "ph", digits=1),
        value("om", "Organic matter %", "percent", digits=1),
        value("p", "P Olsen mg/kg", "mg_per_kg", "mg/kg", 1, "olsen"),
        *several("k mg ca", "{} mg/kg (ammonium acetate)", "mg_per_kg", "mg/kg", AA),
        value("cec", "CEC cmol(+)/kg", "cmol_per_kg", digits=1, ext=AA),
        value("salts", "EC (dS/m)", "ds_per_m", digits=2),
    ]
    r = Report("csv-02-semicolon.csv", "csv", "Tarn & Fell Analytical", "semicolon, decimal comma, UTF-8 with a byte-order mark",
               f, farm()[:10], number="TF/{:03}", first=71, comma=True)
    return r, b"\xef\xbb\xbf" + wide(r, ["Tarn & Fell Analytical laboratory"], delimiter=";", end="\r\n").encode()


def tab():
    f = [
        role("sample", "Sample"), role("lab_number", "Lab Number"),
        value("ph", "Water pH", "ph", "", 1), value("buffer_ph", "Buffer pH", "ph", "Adams-Evans", 2, buffer="adams_evans"),
        *several("p k ca mg", "{}", "lb_per_acre", "lb/acre", M1),
        *several("zn mn b", "{}", "lb_per_acre", "lb/acre", M1, {"zn": 1, "b": 1}),
        value("cec", "CEC", "meq_per_100g", "meq/100 g", 1, M1),
    ]
    r = Report("csv-03-tab.tsv", "csv", "Marl Bank Laboratory", "tab, UTF-16, units in a second row, lb/acre as twice ppm",
               f, farm()[:9], number="{:06}", first=40310, doubled=True, depth_in=0,
               answers=[{"topic": "depth", "of": None, "key": "doubled"}], asks=["depth"])
    above = ["Marl Bank Laboratory", "Mehlich 1 extraction"]
    return r, b"\xff\xfe" + wide(r, above, under="units", delimiter="\t", end="\r\n").encode("utf-16-le")


def bar():
    f = [
        role("sample", "Block"), role("lab_number", "Lab ID"), role("texture", "Texture"),
        value("ph", "pH", "ph", digits=1),
        value("buffer_ph", "Modified Mehlich buffer pH", "ph", digits=2, buffer="modified_mehlich"),
        value("om", "O.M. %", "percent", digits=1),
        *several("p k ca mg al", "{} mg/kg", "mg_per_kg", "mg/kg", MM, {"p": 1}),
        value("cec", "ECEC meq/100g", "meq_per_100g", "meq/100g", 1, MM),
        value("salts", "Soluble salts µS/cm", "us_per_cm", "µS/cm"),
        Field("ignore:note", "Remarks", "same", "taken moist, 18 °C"),
    ]
    r = Report("csv-04-bar.txt", "csv", "Crête Noire Soil Laboratory", "bar, windows-1252, modified Morgan",
               f, farm()[2:12], number="S{:04}", first=880)
    above = ["Crête Noire Soil Laboratory", "Extractant: Modified Morgan"]
    return r, wide(r, above, delimiter="|", end="\r\n").encode("cp1252")


def newlines():
    f = [
        role("sample", "Sample\nIdentification"), role("lab_number", "Lab\nNumber"),
        value("ph", "Soil\npH", "ph", digits=1), value("buffer_ph", "Buffer pH\n(Sikora)", "ph", digits=2, buffer="sikora"),
        value("om", "Organic\nMatter\n%", "percent", digits=1),
        value("p", "Phosphorus\nBray P1\nppm", "ppm", "ppm", 0, "bray_p1"),
        value("k", "Potassium\nAmmonium acetate\nppm", "ppm", "ppm", 0, AA),
        value("mg", "Magnesium\nAmmonium acetate\nppm", "ppm", "ppm", 0, AA),
        value("ca", "Calcium\nAmmonium acetate\nppm", "ppm", "ppm", 0, AA),
        value("no3n", "Nitrate-N\nppm", "ppm", "ppm", 0),
        Field("ignore:note", "Comments", "same", 'Box was damp, "dried at 35 C",\nthen ground'),
    ]
    r = Report("csv-05-newlines.csv", "csv", "Two Becks Soil Lab", "quoted cells with line breaks in header and rows",
               f, farm()[:8], number="26-{:05}", first=1, group=",")
    return r, wide(r, ["Two Becks Soil Lab", "Client: Pipit Lane"], quote=csv.QUOTE_ALL).encode()


def detection():
    f = [
        role("lab_number", "Lab #"), role("sample", "Customer Sample ID"),
        value("ph", "pH", "ph", digits=1),
        value("p", "Mehlich-3 P, ppm", "ppm", "ppm", 0, M3, most=200), value("k", "Mehlich-3 K, ppm", "ppm", "ppm", 0, M3),
        *several("zn mn cu fe", "DTPA {}, ppm", "ppm", "ppm", "dtpa", {"zn": 1, "cu": 1}),
        value("b", "Hot water B, ppm", "ppm", "ppm", 1, "hot_water", least=0.5),
        value("no3n", "NO3-N, ppm", "ppm", "ppm", 0, least=10), value("nh4n", "NH4-N, ppm", "ppm", "ppm", 0, least=5),
        value("salts", "EC 1:1, mmhos/cm", "mmho_per_cm", "mmhos/cm", 2),
    ]
    r = Report("csv-06-detection.csv", "csv", "Cairn Soil Laboratory", "values below and above what the lab can tell, DTPA micronutrients, hot-water boron",
               f, farm(), number="{}", first=990101)
    return r, wide(r, ["CAIRN SOIL LABORATORY"], ["< below the detection limit; > above the highest standard"]).encode()


def recommendations():
    f = [
        role("sample", "Field"), role("crop", "Crop to be grown"),
        value("ph", "pH", "ph", digits=1), value("buffer_ph", "SMP pH", "ph", digits=1, buffer="smp"),
        value("p", "P ppm", "ppm", "ppm", 0, M3), value("k", "K ppm", "ppm", "ppm", 0, M3),
        Field("ignore:rating", "P rating", "p"), Field("ignore:rating", "K rating", "k"),
        rate("lime", "Lime recommended (tons/acre, 100% CCE)", "ton_per_acre", "tons/acre", 2, basis=100),
        rate("n", "N recommended (lb/acre)", "lb_per_acre", "lb/acre", 0),
        rate("p2o5", "P2O5 recommended (lb/acre)", "lb_per_acre", "lb/acre", 0),
        rate("k2o", "K2O recommended (lb/acre)", "lb_per_acre", "lb/acre", 0),
    ]
    r = Report("csv-07-rates-acre.csv", "csv", "Cairn Soil Laboratory", "lime, N, P2O5 and K2O per acre beside the results",
               f, farm())
    return r, wide(r, ["Cairn Soil Laboratory", "Mehlich 3 extract"]).encode()


def garden_rates():
    f = [
        role("sample", "Bed"), value("ph", "pH", "ph", digits=1),
        value("p", "Phosphorus, P", "ppm", "ppm", 0, M3), value("k", "Potassium, K", "ppm", "ppm", 0, M3),
        rate("lime", "Limestone lb/1,000 sq ft", "lb_per_1000_ft2", "lb/1,000 sq ft", 0, unsaid=("lime_basis",)),
        rate("n", "Nitrogen, N lb/1,000 sq ft", "lb_per_1000_ft2", "lb/1,000 sq ft", 1),
        rate("p2o5", "Phosphate, P2O5 lb/1,000 sq ft", "lb_per_1000_ft2", "lb/1,000 sq ft", 1),
        rate("k2o", "Potash, K2O lb/1,000 sq ft", "lb_per_1000_ft2", "lb/1,000 sq ft", 1),
    ]
    r = Report("csv-08-rates-beds.csv", "csv", "Two Becks Soil Lab", "rates per 1,000 ft2; the kind of lime is not said",
               f, farm()[7:13], asks=["lime_basis"])
    return r, wide(r, ["Two Becks Soil Lab", "All results in ppm by Mehlich 3"]).encode()


def oxides():
    f = [
        role("sample", "Sample name"), role("date", "Sampled"), value("ph", "pH", "ph", digits=1),
        value("om", "Organic matter g/kg", "g_per_kg", "g/kg", 0),
        value("p", "P2O5 (mg/kg)", "mg_per_kg", "mg/kg", 0, M3, form="p2o5"),
        value("k", "K2O (mg/kg)", "mg_per_kg", "mg/kg", 0, M3, form="k2o"),
        value("mg", "MgO (mg/kg)", "mg_per_kg", "mg/kg", 0, M3, form="mgo"),
        value("ca", "CaO (mg/kg)", "mg_per_kg", "mg/kg", 0, M3, form="cao"),
    ]
    r = Report("csv-09-oxides.csv", "csv", "Tarn & Fell Analytical", "nutrients as oxides, organic matter in g/kg, a decimal point under semicolons",
               f, farm()[:9], date="2026-10-14")
    return r, wide(r, ["Tarn & Fell Analytical laboratory", "Method: Mehlich 3"], delimiter=";").encode()


def hectares():
    f = [
        role("sample", "Plot"), role("lab_number", "Lab sample no"), role("depth", "Sampling depth, cm", unit="cm"),
        value("ph", "pH (water)", "ph", digits=1),
        *several("p k ca mg", "{}, kg/ha", "kg_per_ha", "kg/ha", M3),
        value("cec", "CEC, cmol(+)/kg", "cmol_per_kg", "cmol(+)/kg", 1, M3),
    ]
    r = Report("csv-10-hectares.csv", "csv", "Tarn & Fell Analytical", "kg/ha to a depth in cm",
               f, farm()[:7], number="TF{:04}", first=300, depth_text="0-20", depth_in=20 / 2.54)
    return r, wide(r, ["Tarn & Fell Analytical laboratory", "Mehlich-3 extraction"]).encode()


def charges():
    f = [
        role("sample", "Sample No."), value("ph", "1:1 Soil pH", "ph", digits=1),
        value("buffer_ph", "Mehlich Buffer pH", "ph", digits=2, buffer="mehlich"),
        value("acidity", "Exch. Acidity meq/100g", "meq_per_100g", "meq/100g", 1),
        *several("k mg ca na", "{} meq/100g", "meq_per_100g", "meq/100g", AA, {"k": 2, "mg": 2, "ca": 1, "na": 2}),
        value("cec", "C.E.C. meq/100g", "meq_per_100g", "meq/100g", 1, AA),
        sat("k", "% Base Saturation K", AA), sat("mg", "% Base Saturation Mg", AA), sat("ca", "% Base Saturation Ca", AA),
    ]
    r = Report("csv-11-charges.tsv", "csv", "Marl Bank Laboratory", "cations in meq/100 g, base saturation in per cent, tab",
               f, farm(), answers=[])
    return r, wide(r, ["Marl Bank Laboratory", "Cations: 1 N ammonium acetate"], delimiter="\t").encode()


def volume():
    f = [
        role("sample", "Sample ID"), role("lab_number", "Lab ID"), role("density", "W/V g/cm3"),
        value("ph", "pH", "ph", digits=1),
        *several("p k", "{} mg/dm3", "mg_per_dm3", "mg/dm3", M3),
        *several("zn cu", "{} mg/dm3", "mg_per_dm3", "mg/dm3", M3, {"zn": 1, "cu": 1}),
    ]
    r = Report("csv-12-volume.csv", "csv", "Cairn Soil Laboratory", "values by volume with the scoop's density, UTF-16 without a mark",
               f, farm()[:6], number="V{:03}", first=12)
    return r, wide(r, ["Cairn Soil Laboratory", "Mehlich 3"]).encode("utf-16-be")


def acre_depth():
    f = [
        role("sample", "Field ID"), role("depth", "Depth", unit="in"), value("ph", "pH", "ph", digits=1),
        *several("p k ca mg", "{} lb/A", "lb_per_acre", "lb/A", M3),
    ]
    r = Report("csv-13-acre-depth.csv", "csv", "Two Becks Soil Lab", "lb/acre to the depth sampled, the depth's unit in its cells",
               f, farm()[:6], depth_text="0-8 in", depth_in=8.0)
    return r, wide(r, ["Two Becks Soil Lab", "Mehlich 3; lb/A to the depth sampled"]).encode()


def long_fields(method):
    return [
        value("ph", "pH", "ph", "", 1, method="1:1 water"),
        value("buffer_ph", "Buffer pH", "ph", "", 2, buffer="sikora", method="Sikora"),
        value("om", "Organic Matter", "percent", "%", 1, method="LOI"),
        *[value(a, n, "ppm", "ppm", 0, M3, method=method) for a, n in
          (("p", "Phosphorus"), ("k", "Potassium"), ("ca", "Calcium"), ("mg", "Magnesium"))],
        value("zn", "Zinc", "ppm", "ppm", 1, "dtpa", method="DTPA"),
        value("cec", "CEC", "meq_per_100g", "meq/100 g", 1, M3, method="Summation"),
    ]


def long_comma():
    f = [role("sample", "Sample"), role("lab_number", "Lab No"), *long_fields("Mehlich 3")]
    r = Report("csv-14-long.csv", "csv", "Cairn Soil Laboratory", "a row a value: sample, analyte, result, unit, method",
               f, farm()[:6], needs=["long"], number="L{:04}", first=5)
    rows = [["Lab No", "Sample", "Analyte", "Result", "Unit", "Method"]]
    for i in range(len(r.soils)):
        cells = r.rows()[i]
        rows += [[cells[1], cells[0], one_line(x.header), c, x.unit_text, x.method]
                 for x, c in zip(f[2:], cells[2:]) if c]
    return r, table(rows).encode()


def long_semicolon():
    f = [role("sample", "Probe"), role("date", "Date"), role("depth", "Depth", unit="in"), *long_fields("Mehlich 3")]
    r = Report("csv-15-long-once.csv", "csv", "Tarn & Fell Analytical", "a row a value, the sample named once, unit in the analyte's cell, decimal comma",
               f, farm()[6:12], needs=["long"], comma=True, date="2026-10-14", depth_text="0-6 in", depth_in=6.0)
    rows = [["Sample", "Date", "Depth", "Test", "Value", "Method"]]
    for i in range(len(r.soils)):
        cells = r.rows()[i]
        head = cells[:3]
        for x, c in zip(f[3:], cells[3:]):
            unit = f" ({x.unit_text})" if x.unit_text else ""
            rows.append([*head, x.header + unit, c or "-", x.method])
            head = ["", "", ""]
    above = [["Tarn & Fell Analytical laboratory"], []]
    return r, table([*above, *rows], delimiter=";").encode("cp1252")


ALL = [comma, semicolon, tab, bar, newlines, detection, recommendations, garden_rates, oxides, hectares, charges,
       volume, acre_depth, long_comma, long_semicolon]
