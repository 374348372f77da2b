"""Workbooks: XLSX by a library, ODS by hand and through an office suite."""

import datetime
import io
import pathlib
import re
import subprocess
import tempfile
import zipfile
from xml.sax.saxutils import escape, quoteattr

import xlsxwriter

from report import Report
from soils import farm
from text import M3, rate, role, several, value

DAY = datetime.datetime(2026, 10, 14)
FIXED = (1980, 1, 1, 0, 0, 0)


def workbook(fill):
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    book.set_properties({"created": DAY, "author": "", "title": "Soil report"})
    fill(book)
    book.close()
    return out.getvalue()


def number(report, f, i):
    """The number behind a cell; none where the lab printed nothing or a sign."""
    text = report.printed(f, i)
    try:
        return float(text)
    except ValueError:
        return None


def put(sheet, row, column, report, f, i):
    n = number(report, f, i) if f.analyte or f.what or f.means.startswith("ignore:sat") else None
    if n is None:
        sheet.write_string(row, column, report.printed(f, i))
    else:
        sheet.write_number(row, column, n)


def base():
    return [
        role("sample", "Sample ID"), role("lab_number", "Lab No."),
        value("ph", "pH", "ph", digits=1), value("buffer_ph", "Buffer pH", "ph", digits=2, buffer="smp"),
        value("om", "OM", "percent", "%", 1),
        *several("p k ca mg", "{}", "ppm", "ppm", M3),
        value("cec", "CEC", "meq_per_100g", "meq/100 g", 1, M3),
    ]


def merged():
    f = base()
    r = Report("xlsx-01-merged.xlsx", "xlsx", "Cairn Soil Laboratory", "a title over the width, method and unit merged over four columns",
               f, farm(), needs=["xlsx"], number="C26-{:04}", first=1)

    def fill(book):
        bold = book.add_format({"bold": True, "align": "center", "bottom": 1})
        s = book.add_worksheet("Results")
        s.merge_range(0, 0, 0, 9, "Cairn Soil Laboratory: soil test results", bold)
        s.merge_range(1, 0, 1, 9, "Pipit Lane, sampled 14 October 2026")
        for c in (0, 1):
            s.merge_range(3, c, 5, c, f[c].header, bold)
        s.merge_range(3, 2, 3, 3, "Acidity", bold)
        for c, (head, under) in {2: ("pH", "1:1 water"), 3: ("Buffer pH", "SMP"), 4: ("OM", "%"), 9: ("CEC", "meq/100 g")}.items():
            s.write(4, c, head, bold)
            s.write(5, c, under, bold)
        s.merge_range(3, 5, 3, 8, "Mehlich 3 extraction (ppm)", bold)
        for c in range(5, 9):
            s.merge_range(4, c, 5, c, f[c].header, bold)
        for i in range(len(r.soils)):
            for c, x in enumerate(f):
                put(s, 6 + i, c, r, x, i)

    return r, workbook(fill)


def several_sheets():
    f = base()
    r = Report("xlsx-02-sheets.xlsx", "xlsx", "Tarn & Fell Analytical", "a cover sheet, two sheets of results, a sheet of methods",
               f, farm(), needs=["xlsx"], number="TF{:03}", first=40)

    def fill(book):
        cover = book.add_worksheet("Cover")
        for n, line in enumerate(["Tarn & Fell Analytical laboratory", "Report 26-40", "Prepared for Pipit Lane"]):
            cover.write(n + 2, 1, line)
        for title, part in (("Fields", range(8)), ("Tunnels and beds", range(8, 14))):
            s = book.add_worksheet(title)
            s.write(0, 0, "Extractant: Mehlich 3; buffer: SMP")
            for c, x in enumerate(f):
                s.write(2, c, x.header + (f" ({x.unit_text})" if x.unit_text else ""))
                for n, i in enumerate(part):
                    put(s, 3 + n, c, r, x, i)
        notes = book.add_worksheet("Methods")
        for n, (a, b) in enumerate([("pH", "1:1 in water"), ("OM", "loss on ignition"), ("P, K, Ca, Mg", "Mehlich 3, ICP")]):
            notes.write(n, 0, a)
            notes.write(n, 1, b)

    return r, workbook(fill)


def hidden():
    f = [x for x in base() if x.means != "lab_number"]
    r = Report("xlsx-03-hidden.xlsx", "xlsx", "Cairn Soil Laboratory", "last year's results in a hidden sheet, which is no result of this report; a hidden column",
               f, farm()[:8], needs=["xlsx"])

    def fill(book):
        for title, shift, hide in (("2025", 0.9, True), ("2026", 1.0, False)):
            s = book.add_worksheet(title)
            s.write(0, 0, "Cairn Soil Laboratory, Mehlich 3, SMP buffer")
            for c, x in enumerate(f):
                s.write(1, c, x.header + (f" ({x.unit_text})" if x.unit_text else ""))
                for i in range(len(r.soils)):
                    n = number(r, x, i)
                    if n is None:
                        s.write_string(2 + i, c, r.printed(x, i))
                    else:
                        s.write_number(2 + i, c, round(n * (shift if x.analyte in ("p", "k", "ca", "mg") else 1), 2))
            s.hide() if hide else s.activate()
            if not hide:
                s.set_first_sheet()

    return r, workbook(fill)


def text_numbers():
    f = [role("sample", "Field"), role("date", "Date sampled"), role("lab_number", "Lab number"),
         *base()[2:], value("zn", "Zn", "ppm", "ppm", 1, "dtpa", least=2.5)]
    r = Report("xlsx-04-text.xlsx", "xlsx", "Two Becks Soil Lab", "numbers as text, real dates, lab numbers with leading zeros, values below detection",
               f, farm()[:10], needs=["xlsx"], number="{:06}", first=1207, date="2026-10-14")

    def fill(book):
        day = book.add_format({"num_format": "m/d/yyyy"})
        s = book.add_worksheet("Sheet1")
        s.write(0, 0, "Two Becks Soil Lab")
        s.write(1, 0, "P, K, Ca, Mg: Mehlich 3. Zn: DTPA. Buffer: SMP")
        for c, x in enumerate(f):
            s.write(3, c, x.header + (f" ({x.unit_text})" if x.unit_text else ""))
            for i in range(len(r.soils)):
                if x.means == "date":
                    s.write_datetime(4 + i, c, DAY, day)
                else:
                    s.write_string(4 + i, c, r.printed(x, i))

    return r, workbook(fill)


def a_sheet_a_block():
    f = base()
    r = Report("xlsx-05-blocks.xlsx", "xlsx", "Marl Bank Laboratory", "a sheet a sample: names and values one under the other",
               f, farm()[:5], needs=["xlsx", "form"], number="MB-{:03}", first=7)
    names = {"ph": "Soil pH", "buffer_ph": "Buffer pH (SMP)", "om": "Organic matter", "p": "Phosphorus", "k": "Potassium",
             "ca": "Calcium", "mg": "Magnesium", "cec": "CEC"}

    def fill(book):
        for i, soil in enumerate(r.soils):
            s = book.add_worksheet(soil.name)
            s.write(0, 0, "Marl Bank Laboratory")
            s.write(2, 0, "Sample:")
            s.write(2, 1, soil.name)
            s.write(2, 3, "Lab number:")
            s.write(2, 4, r.printed(f[1], i))
            s.write(3, 0, "Extraction:")
            s.write(3, 1, "Mehlich 3")
            for c, head in enumerate(["Test", "Result", "Unit"]):
                s.write(5, c, head)
            rows = [x for x in f[2:] if r.printed(x, i)]
            for n, x in enumerate(rows):
                s.write(6 + n, 0, names[x.analyte])
                s.write_number(6 + n, 1, number(r, x, i))
                s.write(6 + n, 2, x.unit_text)

    return r, workbook(fill)


def formulas():
    f = [
        role("sample", "Block"), role("crop", "Crop"), value("ph", "pH", "ph", digits=1),
        *several("p k ca mg", "{} (ppm)", "ppm", "ppm", M3),
        value("cec", "CEC (meq/100 g)", "meq_per_100g", "meq/100 g", 1, M3),
        rate("lime", "Lime recommended (lb/acre CaCO3)", "lb_per_acre", "lb/acre", 0, basis=100),
        rate("n", "N recommended (lb/acre)", "lb_per_acre", "lb/acre", 0),
        rate("p2o5", "P2O5 recommended (lb/acre)", "lb_per_acre", "lb/acre", 0),
        rate("k2o", "K2O recommended (lb/acre)", "lb_per_acre", "lb/acre", 0),
    ]
    r = Report("xlsx-06-formulas.xlsx", "xlsx", "Cairn Soil Laboratory", "rates as formulas with their last results, an average row with formulas, frozen panes",
               f, farm(), needs=["xlsx"])

    def fill(book):
        s = book.add_worksheet("Pipit Lane")
        s.write(0, 0, "Cairn Soil Laboratory")
        s.write(1, 0, "Mehlich 3 extraction")
        s.freeze_panes(4, 1)
        last = 4 + len(r.soils)
        for c, x in enumerate(f):
            s.write(3, c, x.header)
            cells = [number(r, x, i) for i in range(len(r.soils))]
            for i, n in enumerate(cells):
                if x.what:
                    s.write_formula(4 + i, c, f"={n:g}*1", None, n)
                else:
                    put(s, 4 + i, c, r, x, i)
            letter = chr(ord("A") + c)
            if x.analyte:
                mean = sum(cells) / len(cells)
                s.write_formula(last, c, f"=AVERAGE({letter}5:{letter}{last})", None, mean)
        s.write(last, 0, "Average")

    return r, workbook(fill)


OFFICE = "urn:oasis:names:tc:opendocument:xmlns:"


def ods(sheets):
    """An ODS file from (name, rows, hidden); a cell is text, a number, a date, or (value, columns) merged."""
    def cell(c):
        spans = ""
        if isinstance(c, tuple):
            c, columns = c
            spans = f' table:number-columns-spanned="{columns}" table:number-rows-spanned="1"'
            return cell(c).replace("<table:table-cell", "<table:table-cell" + spans, 1) + \
                f'<table:covered-table-cell table:number-columns-repeated="{columns - 1}"/>'
        if isinstance(c, datetime.datetime):
            return f'<table:table-cell office:value-type="date" office:date-value="{c:%Y-%m-%d}"><text:p>{c:%d.%m.%Y}</text:p></table:table-cell>'
        if isinstance(c, (int, float)):
            return f'<table:table-cell office:value-type="float" office:value="{c!r}"><text:p>{c}</text:p></table:table-cell>'
        if c is None or c == "":
            return "<table:table-cell/>"
        return f'<table:table-cell office:value-type="string"><text:p>{escape(c)}</text:p></table:table-cell>'

    body = ""
    for name, rows, hide in sheets:
        lines = ""
        for row in rows:
            if row is None:
                lines += '<table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-repeated="1024"/></table:table-row>'
            else:
                lines += "<table:table-row>" + "".join(cell(c) for c in row) + '<table:table-cell table:number-columns-repeated="900"/></table:table-row>'
        lines += '<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="1024"/></table:table-row>'
        style = ' table:style-name="hide"' if hide else ' table:style-name="show"'
        body += f"<table:table table:name={quoteattr(name)}{style}>{lines}</table:table>"
    spaces = " ".join(f'xmlns:{n}="{OFFICE}{n}:1.0"' for n in ("office", "table", "text", "style"))
    styles = "".join(
        f'<style:style style:name="{n}" style:family="table"><style:table-properties table:display="{d}"/></style:style>'
        for n, d in (("show", "true"), ("hide", "false")))
    content = (f'<?xml version="1.0" encoding="UTF-8"?>\n<office:document-content {spaces} office:version="1.2">'
               f"<office:automatic-styles>{styles}</office:automatic-styles>"
               f"<office:body><office:spreadsheet>{body}</office:spreadsheet></office:body></office:document-content>")
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (f'<?xml version="1.0" encoding="UTF-8"?>\n<manifest:manifest xmlns:manifest="{OFFICE}manifest:1.0" manifest:version="1.2">'
                f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
                '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>')
    return packed([("mimetype", kind), ("content.xml", content), ("META-INF/manifest.xml", manifest)])


def packed(parts):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as pack:
        for n, (name, data) in enumerate(parts):
            how = zipfile.ZIP_STORED if n == 0 else zipfile.ZIP_DEFLATED
            pack.writestr(zipfile.ZipInfo(name, FIXED), data, compress_type=how)
    return out.getvalue()


def numbers(r, i):
    return [number(r, x, i) if x.analyte and number(r, x, i) is not None else r.printed(x, i) for x in r.fields]


def ods_plain():
    f = [role("sample", "Sample ID"), role("date", "Sampled"), *base()[2:]]
    r = Report("ods-01-merged.ods", "ods", "Tarn & Fell Analytical", "merged title and method cells, dates, empty rows and cells repeated",
               f, farm()[:12], needs=["ods"], date="2026-10-14")
    head = [("Tarn & Fell Analytical laboratory", 10)]
    group = ["", "", "", "SMP", "", ("Mehlich 3", 4), ""]
    units = [x.unit_text for x in f]
    rows = [head, None, group, r.header(), units]
    rows += [[DAY if x.means == "date" else c for x, c in zip(f, numbers(r, i))] for i in range(len(r.soils))]
    return r, ods([("Results", rows, False)])


def ods_hidden():
    f = [role("sample", "Field"), *base()[2:]]
    r = Report("ods-02-hidden.ods", "ods", "Tarn & Fell Analytical", "a hidden sheet of last year, decimal comma in numbers kept as text",
               f, farm()[:7], needs=["ods"], comma=True)
    head = [x.header + (f" ({x.unit_text})" if x.unit_text else "") for x in f]
    above = ["Tarn & Fell Analytical laboratory, Mehlich 3, SMP buffer"]
    old = [[c.replace("1", "2") if x.analyte in ("p", "k") else c for x, c in zip(f, row)] for row in r.rows()]
    return r, ods([("2025", [above, head, *old], True), ("2026", [above, head, *r.rows()], False)])


def office_ods():
    r, data = several_sheets()
    r.name, r.form, r.needs = "ods-03-office.ods", "ods", ["ods"]
    r.about += ", saved again by an office suite"
    r.producer = "office suite"
    return r, tidy(convert(data, "xlsx", "ods"))


def convert(data, from_kind, to_kind):
    """A file through the office suite, without a window."""
    with tempfile.TemporaryDirectory() as folder:
        source = pathlib.Path(folder) / f"report.{from_kind}"
        source.write_bytes(data)
        subprocess.run(
            ["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", to_kind,
             "--outdir", folder, str(source)],
            check=True, capture_output=True, timeout=180)
        return source.with_suffix("." + to_kind.split(":")[0]).read_bytes()


def tidy(data):
    """The content alone: no pictures of it, no times, no settings of the office suite."""
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        keep = {n: pack.read(n) for n in ("mimetype", "content.xml", "styles.xml", "META-INF/manifest.xml")}
    lost = rb'<manifest:file-entry [^>]*full-path="(?!/"|content|styles)[^>]*/>'
    keep["META-INF/manifest.xml"] = re.sub(lost, b"", keep["META-INF/manifest.xml"])
    return packed(keep.items())


ALL = [merged, several_sheets, hidden, text_numbers, a_sheet_a_block, formulas, ods_plain, ods_hidden, office_ods]
