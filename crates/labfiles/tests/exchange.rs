//! Documents of the exchange standard: ours in `exchange/`, and hostile ones.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Recommendable};
use labfiles::{Layout, Table, Topic, exchange, propose, questions, read};
use proptest::prelude::*;
use std::time::Instant;

const XML: &str = include_str!("exchange/example-v1-result.xml");
const JSON: &str = include_str!("exchange/example-v1-result.json");
const SLIM: &str = include_str!("exchange/example-slim.json");
const SUBMIT: &str = include_str!("exchange/example-v1-submit.xml");

fn one(name: &str, text: &str) -> Table {
    let mut tables = exchange(name, text.as_bytes()).unwrap_or_else(|p| unreachable!("{p}"));
    assert_eq!(tables.len(), 1);
    tables.remove(0)
}

#[track_caller]
fn refused(text: &str) -> String {
    let sentence = exchange("f", text.as_bytes()).unwrap_err().to_string();
    assert!(
        sentence.starts_with("f") && sentence.ends_with('.'),
        "{sentence}"
    );
    assert!(sentence.len() < 500, "{sentence}");
    sentence
}

/// Header, meaning and method of each column.
fn columns(layout: &Layout) -> Vec<String> {
    let of = |c: &labfiles::Column| {
        let method = layout.extractant_of(c).map_or("-", Extractant::key);
        format!("{} | {} | {method} | {}", c.header, c.meaning.key(), c.sure)
    };
    layout.columns.iter().map(of).collect()
}

#[test]
fn codes_are_shown_and_asked_about_one_by_one_where_they_part_methods() {
    let table = one("a.xml", XML);
    let mut layout = propose(&table);
    assert_eq!(layout.lab, "Example Soil Lab");
    assert_eq!(
        columns(&layout),
        [
            "Sample | sample | - | true",
            "Container ID | ignore | - | false",
            "Sample date | date | - | true",
            "Depth | depth | - | true",
            "Texture | texture | - | true",
            "Crop | crop | - | true",
            "pH ‹S-PH-1:1.02.07› | value:ph | - | true",
            "BpH ‹S-BPH-MEB.02› | value:buffer_ph | - | true",
            "OM ‹S-SOM-LOI.15› % | value:om | - | true",
            "P ‹S-P-M3.04› ppm | value:p | - | true",
            "P ‹S-P-B1-1:10.01.03› ppm | value:p | - | true",
            "K ‹S-K-M3.05› lb/ac | value:k | - | true",
            "Ca ‹S-CA-M3.05› ppm | value:ca | - | true",
            "CEC ‹S-CEC.19› meq/100 g | value:cec | - | true",
            "BS-K ‹S-BS-K.19› % | saturation:k | - | true",
            "K2O recommended lb/ac | recommend:k2o | - | true",
            "NO3-N ‹S-NO3-KCL.01.01› ppm | value:no3n | - | true",
        ]
    );
    let asked: Vec<_> = questions(&layout)
        .into_iter()
        .map(|q| (q.topic, q.column))
        .collect();
    assert_eq!(
        asked,
        [
            (Topic::Meaning, Some(2)),
            (Topic::Extractant, Some(10)),
            (Topic::Buffer, Some(8)),
        ]
    );
    layout.answer(Topic::Meaning, Some(2), "ignore").unwrap();
    layout.answer(Topic::Buffer, Some(8), "mehlich").unwrap();
    let ask = |layout: &Layout| {
        let mut asked = questions(layout);
        assert!(asked.len() < 2);
        asked.pop().map(|q| (q.column, q.sentence))
    };
    let (column, sentence) = ask(&layout).unwrap();
    assert_eq!(
        sentence,
        "Which extractant gave phosphorus (the file names only the code S-P-M3.04)? The file does \
         not say; the lab's report or price list does."
    );
    layout
        .answer(Topic::Extractant, column, "mehlich3")
        .unwrap();
    let (column, sentence) = ask(&layout).unwrap();
    assert!(
        sentence.contains("S-P-B1-1:10.01.03") && sentence.contains("S-K-M3.05"),
        "{sentence}"
    );
    layout.answer(Topic::Extractant, column, "bray_p1").unwrap();
    let (column, sentence) = ask(&layout).unwrap();
    assert!(
        sentence.contains("potassium") && sentence.contains("calcium"),
        "{sentence}"
    );
    layout
        .answer(Topic::Extractant, column, "mehlich3")
        .unwrap();
    assert_eq!(ask(&layout), None);

    let report = read(&table, &layout).unwrap();
    let [shallow, deep] = report.samples.as_slice() else {
        unreachable!("{:?}", report.samples)
    };
    let values: Vec<_> = shallow
        .test
        .measured
        .iter()
        .map(|m| (m.analyte, m.printed.as_str(), m.extractant, m.buffer))
        .collect();
    let m3 = Some(Extractant::Mehlich3);
    assert_eq!(
        values,
        [
            (Analyte::Ph, "6.3", None, None),
            (Analyte::BufferPh, "6.8", None, Some(Buffer::Mehlich)),
            (Analyte::OrganicMatter, "5.1", None, None),
            (Analyte::P, "96", m3, None),
            (Analyte::P, "58", Some(Extractant::BrayP1), None),
            (Analyte::K, "310", m3, None),
            (Analyte::Ca, "1480", m3, None),
            (Analyte::Cec, "10.6", None, None),
        ]
    );
    // 310 lb/acre in 6 in of soil, which weighs 1.8 million lb.
    let k = shallow.test.value(Analyte::K).unwrap();
    assert!((k - 310.0 / 1.8).abs() < 1e-9, "{k}");
    assert_eq!(shallow.test.crop.as_deref(), Some("Mixed vegetables"));
    assert_eq!(shallow.texture.as_deref(), Some("Sandy Loam"));
    assert_eq!(shallow.date.as_deref(), Some("2025-10-14"));
    let rate = shallow.test.recommendation(Recommendable::K2o).unwrap();
    assert_eq!(rate.lb_per_acre, 60.0);
    assert_eq!(
        (deep.test.sample.as_str(), deep.test.depth_in),
        ("A-1", Some(12.0))
    );
    assert_eq!(deep.test.value(Analyte::NitrateN), Some(22.0));

    // The next document has other columns: what was said of a code holds there too.
    let next = XML.replace("<Element>CEC</Element>", "<Element>Salts dS/m</Element>");
    let next = one("b.xml", &next);
    let mut other = propose(&next);
    assert_ne!(other.fingerprint, layout.fingerprint);
    let known = layout.code_meanings();
    assert_eq!(known.len(), 5, "{known:?}");
    other.know_codes(&known);
    let topics: Vec<Topic> = questions(&other).into_iter().map(|q| q.topic).collect();
    assert!(
        !topics.contains(&Topic::Extractant) && !topics.contains(&Topic::Buffer),
        "{topics:?}"
    );
}

#[test]
fn two_codes_without_an_answer_stay_two_values_that_no_table_reads() {
    let table = one("a.xml", XML);
    let mut layout = propose(&table);
    for _ in 0..5 {
        for q in questions(&layout) {
            let key = if q.topic == Topic::Meaning {
                "ignore"
            } else {
                "not_stated"
            };
            layout.answer(q.topic, q.column, key).unwrap();
        }
    }
    assert_eq!(questions(&layout), []);
    let report = read(&table, &layout).unwrap();
    let p = report.samples[0]
        .test
        .measured
        .iter()
        .filter(|m| m.analyte == Analyte::P);
    assert_eq!(
        p.map(|m| (m.value, m.extractant)).collect::<Vec<_>>(),
        [(96.0, None), (58.0, None)]
    );
}

#[test]
fn json_says_what_xml_says_and_slim_is_read_too() {
    let xml = columns(&propose(&one("a.xml", XML)));
    let json = columns(&propose(&one("a.json", JSON)));
    for column in &json {
        assert!(xml.contains(column), "{column}");
    }
    assert!(json.len() > 10);
    // Lists may stand under keys, and the document under its name.
    let keyed = r#"{"ModusResult":{"Events":[{"EventSamples":{"Soil":{
        "DepthRefs":{"1":{"StartingDepth":0,"EndingDepth":15,"DepthUnit":"cm"}},
        "SoilSamples":[{"SampleMetaData":{"SampleNumber":7},"Depths":[{"DepthID":"1",
          "NutrientResults":{"pH":{"Value":7.25,"ValueUnit":"none"},"OM":{"Value":2.125,"ValueUnit":"%"}}}]}]}}}]}}"#;
    let table = one("k.json", keyed);
    let layout = propose(&table);
    assert_eq!(questions(&layout), [], "{:#?}", layout.columns);
    let report = read(&table, &layout).unwrap();
    let test = &report.samples[0].test;
    assert_eq!(
        (test.sample.as_str(), test.value(Analyte::Ph)),
        ("7", Some(7.25))
    );
    // 2.125 is no two thousand: the standard has a point for its decimal mark.
    let om = test.get(Analyte::OrganicMatter).unwrap();
    assert_eq!((om.value, om.printed.as_str()), (2.125, "2.125"));
    assert!((test.depth_in.unwrap() - 15.0 / 2.54).abs() < 1e-9);

    let table = one("s.json", SLIM);
    let mut layout = propose(&table);
    for q in questions(&layout) {
        assert_eq!((q.topic, q.blocking), (Topic::Extractant, false));
        layout.answer(q.topic, q.column, "mehlich3").unwrap();
    }
    assert_eq!(questions(&layout), []);
    let report = read(&table, &layout).unwrap();
    let first = &report.samples[0].test;
    assert_eq!((first.sample.as_str(), first.depth_in), ("A-1", Some(6.0)));
    assert_eq!(first.lab_number.as_deref(), Some("EX25-00417-01"));
    let b = first.get(Analyte::B).unwrap();
    assert_eq!((b.value, b.bound), (0.1, Bound::Below));
    assert_eq!(report.samples[1].test.depth_in, Some(12.0));
    assert_eq!(report.lab, "Example Soil Lab");
}

#[test]
fn what_is_no_result_of_soil_is_refused() {
    assert_eq!(
        refused(SUBMIT),
        "f: found a form for sending samples, without results, expected a document with soil results."
    );
    assert!(refused("{\"a\":1}").contains("no event"));
    assert!(refused("[1,2]").contains("no single object"));
    assert!(refused("<a/>").contains("no event"));
    assert!(refused("").contains("neither XML nor JSON"));
    assert!(
        refused(
            &XML.replace("<Soil>", "<Water>")
                .replace("</Soil>", "</Water>")
        )
        .contains("no soil samples")
    );
    assert!(refused(&SLIM.replace("\"soil\"", "\"plant\"")).contains("results of “plant”"));
    let bare: String = XML.split("<NutrientResult>").next().unwrap().to_owned();
    let bare = format!(
        "{bare}</NutrientResults></Depth></Depths></SoilSample></Soil></EventSamples></Event></ModusResult>"
    );
    assert!(refused(&bare).contains("samples without results"));
}

#[test]
fn entities_and_document_types_are_refused() {
    let laughs = format!(
        "<?xml version=\"1.0\"?>\n<!DOCTYPE l [<!ENTITY a \"ha\">{}]>\n<l>&j;</l>",
        ('b'..='j')
            .map(|c| format!(
                "<!ENTITY {c} \"{}\">",
                format!("&{};", (c as u8 - 1) as char).repeat(10)
            ))
            .collect::<String>()
    );
    let start = Instant::now();
    assert_eq!(
        refused(&laughs),
        "f: found a document type declaration, which can hide other files (line 2), expected a \
         document without one."
    );
    assert!(
        refused("<!DOCTYPE r [<!ENTITY x SYSTEM \"file:///etc/passwd\">]><r>&x;</r>")
            .contains("document type")
    );
    assert!(refused("<r>\n&x;</r>").contains("found the entity “x” (line 2)"));
    assert!(refused("<r a=\"&x;\"/>").contains("an entity in the attribute"));
    assert!(refused("<r>&#0;</r>").contains("entity"));
    assert!(start.elapsed().as_secs() < 5);
    // The five of XML and characters by number are text.
    let named = XML.replace(
        "<SampleNumber>A-1<",
        "<SampleNumber>A &amp; B &lt;&#233;&#x5d0;&gt;<",
    );
    assert_eq!(one("f", &named).rows()[1].cell(0), "A & B <éא>");
}

#[test]
fn broken_deep_and_huge_documents_are_refused_with_their_place() {
    let half = &XML[..XML.len() / 2];
    let line = format!("(line {})", half.lines().count());
    assert!(refused(half).contains(&line), "{line} {}", refused(half));
    assert!(refused(&JSON[..JSON.len() / 2]).contains("broken JSON"));
    assert!(refused("<a><b></a>").contains("broken XML"));
    assert!(refused("<a/><b/>").contains("two documents"));
    assert!(refused("<a/>text").contains("text outside"));
    assert!(refused("{\"a\":1}{}").contains("broken JSON"));
    assert!(refused("<Events>\0</Events>").contains("zero bytes"));
    assert!(refused(&"<a>".repeat(100_000)).contains("fields more than 100 deep"));
    assert!(refused(&format!("{}1", "[".repeat(100_000))).contains("recursion limit"));
    assert!(refused(&"{\"a\":".repeat(100_000)).contains("recursion limit"));
    let wide = format!("<r>{}</r>", "<a/>".repeat(1_000_001));
    assert!(refused(&wide).contains("more than a million fields"));
    let wide = format!("{{\"r\":[{}0]}}", "0,".repeat(1_000_001));
    assert!(refused(&wide).contains("more than a million fields"));
    assert!(
        refused(&format!("<r>{}</r>", " ".repeat(21 * 1024 * 1024))).contains("more than 20 MB")
    );
    let many: String = (0..500)
        .map(|i| {
            format!("<NutrientResult><Element>E{i}</Element><Value>1</Value></NutrientResult>")
        })
        .collect();
    let many = XML.replacen("<NutrientResults>", &format!("<NutrientResults>{many}"), 1);
    assert!(refused(&many).contains("more than 400 different"));
}

/// Documents that are well-formed and made to cost much: each ends soon, read or refused.
#[test]
fn documents_made_to_cost_much_end_soon() {
    let start = Instant::now();
    let attributes: String = (0..300_000).map(|i| format!(" a{i}=\"\"")).collect();
    assert!(refused(&format!("<r{attributes}/>")).contains("more than 50 attributes"));
    let result = "<NutrientResult><Element>OM</Element><Value>3</Value></NutrientResult>";
    let same = XML.replacen(
        result_list(),
        &format!("{}{}", result_list(), result.repeat(100_000)),
        1,
    );
    assert!(refused(&same).contains("more than 400 different"));
    let event = |i: usize| {
        format!(
            "<Event><LabMetaData><LabName>L{i}</LabName></LabMetaData><EventSamples><Soil><SoilSample>\
             <SampleMetaData><SampleNumber>{i}</SampleNumber></SampleMetaData><Depths><Depth>\
             <NutrientResults>{result}</NutrientResults></Depth></Depths></SoilSample></Soil></EventSamples></Event>"
        )
    };
    let labs: String = (0..50_000).map(event).collect();
    assert!(refused(&format!("<ModusResult>{labs}</ModusResult>")).contains("more than 50 labs"));
    let few: String = (0..50).map(event).collect();
    let tables = exchange("f", format!("<ModusResult>{few}</ModusResult>").as_bytes()).unwrap();
    assert_eq!(tables.len(), 50);
    let notes: String = (1..100_000)
        .map(|i| format!("Result {i}, OM: []; printed \"3\", \"%\"\n"))
        .collect();
    let noted = same.replace("Invented result for testing an importer.", &notes);
    assert!(refused(&noted).contains("more than 400 different"));
    // As many samples as fit: read, each value where it belongs.
    let sample = |i: usize| {
        format!(
            "<SoilSample><SampleMetaData><SampleNumber>{i}</SampleNumber></SampleMetaData><Depths><Depth>\
             <NutrientResults>{result}<NutrientResult><Element>pH</Element><Value>6.{}</Value></NutrientResult>\
             </NutrientResults></Depth></Depths></SoilSample>",
            i % 10
        )
    };
    let samples: String = (0..60_000).map(sample).collect();
    let large = format!(
        "<ModusResult><Event><EventSamples><Soil>{samples}</Soil></EventSamples></Event></ModusResult>"
    );
    let table = one(
        "f",
        &large.replace(
            "</Value></NutrientResult><N",
            "</Value><ValueUnit>%</ValueUnit></NutrientResult><N",
        ),
    );
    let report = read(&table, &propose(&table)).unwrap();
    assert_eq!(report.samples.len(), 60_000);
    assert_eq!(report.samples[59_999].test.value(Analyte::Ph), Some(6.9));
    // A bound against hanging, not a measure of speed.
    assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
}

fn result_list() -> &'static str {
    "<NutrientResults>"
}

/// The problem of reading a document in which one thing was changed.
fn changed(from: &str, to: &str) -> String {
    assert!(XML.contains(from), "{from}");
    let text = XML.replacen(from, to, 1);
    match exchange("f", text.as_bytes()) {
        Err(problem) => problem.to_string(),
        Ok(mut tables) => {
            let table = tables.remove(0);
            let mut layout = propose(&table);
            for q in questions(&layout) {
                if q.topic == Topic::Meaning {
                    layout.answer(q.topic, q.column, "ignore").unwrap();
                }
            }
            match read(&table, &layout) {
                Err(problems) => problems[0].to_string(),
                Ok(report) => format!("{:?}", report.doubts),
            }
        }
    }
}

#[test]
fn wrong_numbers_and_kinds_are_refused_with_their_place() {
    for bad in [
        "1e999", "NaN", "INF", "-4", "9e", "0x10", "=1+1", "1.2.3", "5 lb/ac",
    ] {
        let said = changed("<Value>96</Value>", &format!("<Value>{bad}</Value>"));
        assert!(
            said.starts_with("f, row 2, column “P ‹S-P-M3.04› ppm”: found"),
            "{bad}: {said}"
        );
    }
    assert!(
        changed("<Value>96</Value>", "<Value>1e30</Value>")
            .contains("more than a tenth of the soil")
    );
    let said = changed("<Value>96</Value>", "<Value><x/></Value>");
    assert!(
        said.contains("(line 80)")
            && said.contains("fields inside “Value” of event 1, sample 1 “A-1”, result 4"),
        "{said}"
    );
    let said = changed("<Value>96</Value>", "<Value>96</Value><Value>9</Value>");
    assert!(
        said.contains("two fields “Value” in event 1, sample 1 “A-1”, result 4"),
        "{said}"
    );
    let said = changed("<DepthRef DepthID=\"2\">", "<DepthRef DepthID=\"1\">");
    assert!(said.contains("depth 1 of event 1 twice"), "{said}");
    let said = changed("<Depth DepthID=\"2\">", "<Depth DepthID=\"9\">");
    assert!(
        said.contains("the depth “9” in event 1, sample 1 “A-1”"),
        "{said}"
    );
    let said = changed("<EndingDepth>6<", "<EndingDepth>six<");
    assert!(
        said.contains("“six” in depth 1 of event 1 (line 50), expected a number"),
        "{said}"
    );
    let said = changed("<EndingDepth>6<", "<EndingDepth>1e999<");
    assert!(said.contains("“1e999” in depth 1"), "{said}");
    // Two samples of one name, and two results of one kind, are doubted or asked about.
    let twice = "<SoilSample><SampleMetaData><SampleNumber>A-1</SampleNumber></SampleMetaData>\
        <Depths><Depth DepthID=\"1\"><NutrientResults><NutrientResult><Element>OM</Element>\
        <Value>3</Value><ValueUnit>%</ValueUnit><ModusTestID>S-SOM-LOI.15</ModusTestID></NutrientResult>\
        </NutrientResults></Depth></Depths></SoilSample></Soil>\n    </EventSamples>";
    let said = changed("</Soil>\n    </EventSamples>", twice);
    assert!(said.contains("The same name stands in row 2"), "{said}");
    let om = "<NutrientResult><Element>OM</Element><Value>9</Value><ValueUnit>%</ValueUnit>\
              <ModusTestID>S-SOM-LOI.15</ModusTestID></NutrientResult><NutrientResult>";
    let table = one("f", &XML.replacen("<NutrientResult>", om, 1));
    let open = questions(&propose(&table));
    assert!(
        open.iter()
            .any(|q| q.blocking && q.sentence.contains("OM ‹S-SOM-LOI.15› %")),
        "{open:#?}"
    );
    // A key that stands twice in JSON would lose a value.
    let json = JSON.replacen("\"Value\": 96", "\"Value\": 96, \"Value\": 9", 1);
    let said = refused(&json);
    assert!(
        said.contains("the key “Value” twice in one object"),
        "{said}"
    );
    assert!(
        refused(&JSON.replacen("\"Value\": 96", "\"Value\": 1e999", 1)).contains("out of range")
    );
    assert!(refused(&JSON.replacen("\"Value\": 96", "\"Value\": NaN", 1)).contains("broken JSON"));
    let twice = SLIM.replacen("\"A-1-deep\":", "\"A-1\":", 1);
    assert!(refused(&twice).contains("the key “A-1” twice"));
    let said = refused(&SLIM.replacen("\"value\": 96", "\"value\": {\"x\": 1}", 1));
    assert!(
        said.contains("fields inside “value” of sample 1 “A-1”, result 3"),
        "{said}"
    );
}

#[test]
fn a_code_is_never_taken_for_words() {
    for code in [
        "Olsen",
        "S-P-M3",
        "› Olsen ‹",
        "‹‹››",
        &"Mehlich 3 ".repeat(40),
        "P2O5",
    ] {
        let text = XML.replace("S-P-M3.04", code);
        let layout = propose(&one("f", &text));
        let p: Vec<_> = layout
            .columns
            .iter()
            .filter(|c| c.header.starts_with("P "))
            .collect();
        assert_eq!(p.len(), 2, "{code}");
        assert!(
            p.iter().all(|c| layout.extractant_of(c).is_none()),
            "{code}: {p:#?}"
        );
    }
}

proptest! {
    #[test]
    fn cut_and_changed_documents_never_break(
        which in 0usize..3,
        at in any::<prop::sample::Index>(),
        with in prop::collection::vec(any::<u8>(), 0..6),
        cut in any::<bool>(),
    ) {
        let mut bytes = [XML, JSON, SLIM][which].as_bytes().to_vec();
        let at = at.index(bytes.len());
        if cut {
            bytes.truncate(at);
        }
        let at = at.min(bytes.len());
        let end = (at + with.len()).min(bytes.len());
        bytes.splice(at..end, with);
        match exchange("f", &bytes) {
            Err(problem) => prop_assert!(problem.to_string().len() < 600),
            Ok(tables) => for table in tables {
                let layout = propose(&table);
                let _ = questions(&layout);
                let _ = read(&table, &layout);
            },
        }
    }
}

#[test]
fn a_sample_that_says_nothing_is_no_row() {
    let of = |samples: &str| {
        format!(
            r#"{{"Events":[{{"EventSamples":{{"Soil":{{"DepthRefs":[{{"DepthID":1,"Name":"not stated"}}],"SoilSamples":[{samples}]}}}}}}]}}"#
        )
    };
    let empty = r#"{"SampleMetaData":{},"Depths":[{"DepthID":1,"NutrientResults":[{"Element":"","Value":""}]}]}"#;
    let full = r#"{"SampleMetaData":{"SampleNumber":"Bed 1"},"Depths":[{"DepthID":1,"NutrientResults":[{"Element":"pH","Value":"6.2"}]}]}"#;
    let tables = labfiles::exchange("f.json", of(&format!("{empty},{full}")).as_bytes()).unwrap();
    let rows: Vec<usize> = tables[0]
        .rows()
        .iter()
        .skip(1)
        .map(|r| r.number())
        .collect();
    assert_eq!(rows, [3], "the second sample of the document");
    let refused = labfiles::exchange("f.json", of(empty).as_bytes()).unwrap_err();
    assert!(refused.to_string().ends_with('.'), "{refused}");
}

#[test]
fn a_control_character_in_a_name_is_a_space() {
    let text = r#"{"Events":[{"EventSamples":{"Soil":{"DepthRefs":[{"DepthID":1,"Name":"not stated"}],"SoilSamples":[{"SampleMetaData":{"SampleNumber":"Bed\u00011"},"Depths":[{"DepthID":1,"NutrientResults":[{"Element":"pH","Value":"6.2"}]}]}]}}}]}"#;
    let tables = labfiles::exchange("f.json", text.as_bytes()).unwrap();
    assert_eq!(tables[0].rows()[1].cell(0), "Bed 1");
}
