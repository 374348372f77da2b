"""Numbers in a mail, pasted: columns held apart by spaces, lines of `name: value`, and running text."""

from report import Report
from soils import farm
from text import M3, role, several, value


def fields():
    return [
        role("sample", "Sample"),
        value("ph", "pH", "ph", "", 1), value("buffer_ph", "Buffer pH", "ph", "", 2, buffer="smp", method="SMP"),
        value("om", "OM", "percent", "%", 1),
        *several("p k ca mg", "{}", "ppm", "ppm", M3),
        value("cec", "CEC", "meq_per_100g", "meq/100 g", 1, M3),
    ]


GREETING = """Good morning,

your results are below. The paper report follows by post.

"""
FAREWELL = """
Kind regards,
the office, Cairn Soil Laboratory
"""


def aligned():
    r = Report("mail-01-aligned.txt", "pasted", "Cairn Soil Laboratory", "columns held apart by spaces, units in a second row",
               fields(), farm()[:9], needs=["pasted"])
    rows = [r.header(), [f.unit_text for f in r.fields], *r.rows()]
    wide = [max(len(row[i]) for row in rows) for i in range(len(r.fields))]
    lines = ["  ".join(c.ljust(w) if i == 0 else c.rjust(w) for i, (c, w) in enumerate(zip(row, wide))).rstrip() for row in rows]
    text = GREETING + "Extraction: Mehlich 3. Buffer: SMP.\n\n" + "\n".join(lines) + "\n" + FAREWELL
    return r, text.encode()


def lines():
    f = [role("sample", "Sample"), role("lab_number", "Lab number"), *fields()[1:]]
    r = Report("mail-02-lines.txt", "pasted", "Cairn Soil Laboratory", "one value a line, a block of lines a sample",
               f, farm()[3:8], needs=["pasted"], number="26-{:04}", first=411)
    names = {"ph": "pH", "buffer_ph": "Buffer pH (SMP)", "om": "Organic matter", "p": "Phosphorus (Mehlich 3)",
             "k": "Potassium (Mehlich 3)", "ca": "Calcium (Mehlich 3)", "mg": "Magnesium (Mehlich 3)", "cec": "CEC"}
    text = GREETING
    for row in r.rows():
        text += f"Sample: {row[0]}\nLab number: {row[1]}\n"
        for x, cell in zip(f[2:], row[2:]):
            if cell:
                text += f"{names[x.analyte]}: {cell} {x.unit_text}".rstrip() + "\n"
        text += "\n"
    return r, (text + FAREWELL).replace("\n", "\r\n").encode()


def running():
    f = [x for x in fields() if x.analyte != "cec"]
    r = Report("mail-03-running.txt", "pasted", "Tarn & Fell Analytical", "a line a sample, values after their names, commas between",
               f, farm()[8:13], needs=["pasted"])
    text = "From: results desk, Tarn & Fell Analytical laboratory\nSubject: Pipit Lane\n\nAll nutrients by Mehlich 3, SMP buffer.\n\n"
    for row in r.rows():
        said = [f"{x.header} {c}{' ' + x.unit_text if x.unit_text else ''}" for x, c in zip(f[1:], row[1:]) if c]
        text += f"{row[0]}: {', '.join(said)}\n"
    return r, (text + "\n-- \nTarn & Fell Analytical\n").encode()


ALL = [aligned, lines, running]
