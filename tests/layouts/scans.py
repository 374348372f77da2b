"""A report on paper: a page as a picture, a little turned and noisy, without any text in the file."""

import io

import numpy
import pypdfium2
from PIL import Image

from pages import by_typst, head, typst_table
from report import Report
from sheets import DAY
from soils import farm
from text import M3, role, several, value

DPI = 200


def fields():
    return [
        role("sample", "Sample"), value("ph", "pH", "ph", digits=1), value("om", "OM", "percent", "%", 1),
        *several("p k ca mg", "{}", "ppm", "ppm", M3),
    ]


def picture(r, turned, noise, seed):
    """The page as grey pixels: turned by some degrees, with grain and an uneven light."""
    text = '#set page(width: 18cm, height: auto, margin: 1.2cm)\n#set text(size: 12pt)\n' \
        f"= {r.lab}\nMehlich 3 extraction\n\n" \
        + typst_table([head(f) for f in r.fields], r.rows(), len(r.fields)).replace("inset: 4pt", "inset: 6pt")
    page = pypdfium2.PdfDocument(by_typst(text))[0]
    grey = page.render(scale=DPI / 72, grayscale=True).to_pil().convert("L")
    grey = grey.rotate(turned, resample=Image.Resampling.BICUBIC, fillcolor=255, expand=True)
    pixels = numpy.asarray(grey, dtype=float)
    height, width = pixels.shape
    light = 1 - 0.1 * numpy.linspace(0, 1, width)[None, :] * numpy.linspace(0.3, 1, height)[:, None]
    grain = numpy.random.Generator(numpy.random.PCG64(seed)).normal(0, noise, pixels.shape)
    return Image.fromarray(numpy.clip(pixels * light + grain, 0, 255).astype("uint8"))


def report(name, soils, about):
    r = Report(name, "scan", "Cairn Soil Laboratory", about, fields(), soils, needs=["scan"], producer="typst, then a picture",
               tool="tesseract")
    # Whatever is read from a picture is to be looked at beside it.
    r.doubts = [{"sample": None, "analyte": a} for a in ("ph", "om", "p", "k", "ca", "mg")]
    return r


def photo():
    r = report("scan-01-photo.jpg", farm()[:7], "a photo of a paper report, turned by 0.8 degrees")
    out = io.BytesIO()
    picture(r, 0.8, 7, 1).save(out, "JPEG", quality=45, dpi=(DPI, DPI))
    return r, out.getvalue()


def pictured_pdf():
    r = report("scan-02-picture.pdf", farm()[7:13], "a PDF that holds one picture and no text, turned by -0.5 degrees")
    out = io.BytesIO()
    day = DAY.timetuple()
    picture(r, -0.5, 4, 2).save(out, "PDF", resolution=DPI, quality=45, creationDate=day, modDate=day)
    return r, out.getvalue()


def png():
    r = report("scan-03-page.png", farm()[2:6], "a clean picture of a page, as a screen gives it")
    out = io.BytesIO()
    picture(r, 0.0, 0, 3).quantize(16).save(out, "PNG", optimize=True, dpi=(DPI, DPI))
    return r, out.getvalue()


ALL = [photo, pictured_pdf, png]
