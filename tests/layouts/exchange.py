"""Files of the lab-data exchange standard, version 1. The method codes are invented: none of the
standard's own lists is shipped, so the reader cannot know the extractant and must ask."""

import json
from xml.sax.saxutils import escape

from report import Report
from soils import farm
from text import M3, rate, role, value

ELEMENT = {"ph": "pH", "buffer_ph": "BpH", "om": "OM", "cec": "CEC", "no3n": "NO3-N"}
UNIT = {"ph": "none", "percent": "%", "meq_per_100g": "meq/100 g", "ppm": "ppm", "lb_per_acre": "lb/ac"}


def element(f):
    return ELEMENT.get(f.analyte, f.analyte.capitalize())


def code(f):
    return f"PL-{f.analyte.upper().replace('_', '')}-{len(f.extract or f.buffer):02}.9"


def v(analyte, unit, digits, ext="", buffer="", **more):
    unsaid = ("extractant",) if analyte in ("p", "k", "ca", "mg", "zn", "b") else ("buffer",) if buffer else ()
    f = value(analyte, "", unit, UNIT[unit], digits, ext, buffer, unsaid=unsaid, **more)
    f.header = element(f)
    f.method = code(f)
    return f


def fields():
    return [
        role("sample", "SampleNumber"),
        v("ph", "ph", 1), v("buffer_ph", "ph", 2, buffer="sikora"), v("om", "percent", 1),
        *[v(a, "ppm", 0, M3) for a in ("p", "k", "ca", "mg")],
        v("zn", "ppm", 1, M3), v("b", "ppm", 1, M3, least=0.5),
        v("cec", "meq_per_100g", 1, M3),
    ]


def report(name, about, soils, need, fields, **more):
    return Report(name, need, "Cairn Soil Laboratory", about, fields, soils, needs=[need], depth_in=6.0,
                  asks=["extractant", "buffer"], producer="by hand", **more)


def results(r, i):
    for f, cell in zip(r.fields, r.rows()[i]):
        if f.analyte and cell:
            yield f, cell


def tag(name, inner, attributes="", deep=0):
    pad = "  " * deep
    body = inner if not inner.startswith("\n") else inner + pad
    return f"{pad}<{name}{attributes}>{body}</{name}>\n"


def nutrient(f, cell):
    parts = [("Element", element(f)), ("Value", cell), ("ValueUnit", f.unit_text), ("ModusTestID", code(f)), ("ValueType", "Measured")]
    inner = "".join(f"<{n}>{escape(t)}</{n}>" for n, t in parts)
    return f"                <NutrientResult>{inner}</NutrientResult>\n"


def xml(r, deeper=None, prefix=""):
    depths = [r] + ([deeper] if deeper else [])
    refs = "".join(
        f'          <DepthRef DepthID="{n + 1}"><Name>{d.top_in:g} - {d.top_in + d.depth_in:g} in</Name>'
        f"<StartingDepth>{d.top_in:g}</StartingDepth><EndingDepth>{d.top_in + d.depth_in:g}</EndingDepth>"
        f"<ColumnDepth>{d.depth_in:g}</ColumnDepth><DepthUnit>in</DepthUnit></DepthRef>\n"
        for n, d in enumerate(depths))
    rates = [f for f in r.fields if f.what]
    samples = ""
    for i, soil in enumerate(r.soils):
        layers = ""
        for n, d in enumerate(depths):
            found = "".join(nutrient(f, c) for f, c in results(d, i))
            layers += f'            <Depth DepthID="{n + 1}">\n              <NutrientResults>\n{found}              </NutrientResults>\n            </Depth>\n'
        advice = "".join(
            f"<Recommendation><Element>{ {'n': 'N', 'p2o5': 'P2O5', 'k2o': 'K2O'}[f.what] }</Element>"
            f"<Value>{r.printed(f, i)}</Value><ValueUnit>{f.unit_text}</ValueUnit></Recommendation>" for f in rates)
        if advice:
            advice = f'          <NutrientRecommendations><NutrientRecommendation RecID="1">{advice}</NutrientRecommendation></NutrientRecommendations>\n'
        samples += (
            "        <SoilSample>\n          <SampleMetaData>"
            f"<SampleNumber>{escape(soil.name)}</SampleNumber><FMISSampleID>pl-{i + 1}</FMISSampleID>"
            f"<SampleContainerID>BOX{i + 1:03}</SampleContainerID><ReportID>1</ReportID><OverwriteResult>false</OverwriteResult>"
            f"</SampleMetaData>\n          <Depths>\n{layers}          </Depths>\n{advice}        </SoilSample>\n")
    text = f"""<?xml version="1.0" encoding="UTF-8"?>
<!-- Invented lab, farm, values and method codes. -->
<ModusResult Version="1.0" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
  <Event>
    <EventMetaData><EventCode>pipit-lane-2026</EventCode><EventDate>2026-10-14</EventDate><EventType><Soil/></EventType></EventMetaData>
    <LabMetaData>
      <LabName>{escape(r.lab)}</LabName><LabID>cairn</LabID><LabEventID>C26-22</LabEventID>
      <ReceivedDate>2026-10-16T09:00:00</ReceivedDate><ProcessedDate>2026-10-20T16:00:00</ProcessedDate>
      <Reports><Report ReportID="1"><LabReportID>C26-22-A</LabReportID></Report></Reports>
    </LabMetaData>
    <FMISMetaData><FMISEventID>e-1</FMISEventID><FMISProfile><Grower ID="g-1">Pipit Lane</Grower><Farm ID="f-1">Pipit Lane</Farm></FMISProfile></FMISMetaData>
    <EventSamples>
      <Soil>
        <DepthRefs>
{refs}        </DepthRefs>
{samples}      </Soil>
    </EventSamples>
  </Event>
</ModusResult>
"""
    return text


def plain_xml():
    r = report("exchange-01.xml", "every block at one depth, a value below detection", farm(), "exchange_xml", fields())
    return r, xml(r).encode()


def layers_xml():
    rates = [rate(w, h, "lb_per_acre", "lb/ac", 0) for w, h in (("n", "N"), ("p2o5", "P2O5"), ("k2o", "K2O"))]
    soils = farm()[:6]
    r = report("exchange-02-layers.xml", "two depths, recommendations, UTF-16", soils, "exchange_xml", fields() + rates)
    deeper = report("", "", soils, "exchange_xml", [role("sample", "SampleNumber"), v("no3n", "ppm", 0)])
    deeper.top_in, deeper.depth_in = 6.0, 18.0
    r.also = [deeper]
    return r, b"\xff\xfe" + xml(r, deeper).replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("utf-16-le")


def plain_json():
    r = report("exchange-03.json", "the same as JSON", farm()[:10], "exchange_json", fields())
    samples = [
        {
            "SampleMetaData": {"SampleNumber": s.name, "FMISSampleID": f"pl-{i + 1}", "SampleContainerID": f"BOX{i + 1:03}", "ReportID": 1},
            "Depths": [{"DepthID": 1, "NutrientResults": [
                {"Element": element(f), "Value": float(c) if c[0] != "<" else c, "ValueUnit": f.unit_text,
                 "ModusTestID": code(f), "ValueType": "Measured"}
                for f, c in results(r, i)
            ]}],
        }
        for i, s in enumerate(r.soils)
    ]
    event = {
        "EventMetaData": {"EventCode": "pipit-lane-2026", "EventDate": "2026-10-14", "EventType": {"Soil": True}},
        "LabMetaData": {"LabName": r.lab, "LabID": "cairn", "LabEventID": "C26-22", "ReceivedDate": "2026-10-16T09:00:00",
                        "Reports": [{"ReportID": 1, "LabReportID": "C26-22-A"}]},
        "FMISMetaData": {"FMISEventID": "e-1", "FMISProfile": {"Grower": {"ID": "g-1", "name": "Pipit Lane"}}},
        "EventSamples": {"Soil": {
            "DepthRefs": [{"DepthID": 1, "Name": "0 - 6 in", "StartingDepth": 0, "EndingDepth": 6, "ColumnDepth": 6, "DepthUnit": "in"}],
            "SoilSamples": samples}},
    }
    whole = {"_type": "application/vnd.modus.v1.modus-result+json", "Version": "1.0", "Events": [event]}
    return r, (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode()


ALL = [plain_xml, layers_xml, plain_json]
