//! Text out of a mail.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use labfiles::pages::pasted;
use labfiles::{Table, propose, questions};

fn shown(table: &Table) -> Vec<String> {
    let line = |r: &labfiles::Row| r.cells().collect::<Vec<_>>().join("|");
    table.rows().iter().map(line).collect()
}

#[track_caller]
fn rows(text: &str) -> Vec<String> {
    let tables = pasted("mail", text).unwrap();
    assert_eq!(tables.len(), 1);
    shown(&tables[0])
}

#[test]
fn columns_by_spaces_with_a_header_of_two_lines() {
    let text = "\
Hello, here are your results from Fern Soil Lab.
Extraction: Mehlich 3

Sample          pH    Buffer   OM     P      K      Ca
                      pH       %      ppm    ppm    ppm
North field     6.2   6.8      3.1    41     120    1,240
Hoop house 1    7.1   7.0      6.0    212    400    2,900
Creek           5.4   6.3      2.2    7      61     480

Regards
";
    assert_eq!(
        rows(text)[2..],
        [
            "Sample|pH|Buffer pH|OM %|P ppm (Mehlich-3)|K ppm (Mehlich-3)|Ca ppm (Mehlich-3)",
            "North field|6.2|6.8|3.1|41|120|1,240",
            "Hoop house 1|7.1|7.0|6.0|212|400|2,900",
            "Creek|5.4|6.3|2.2|7|61|480",
        ]
    );
}

#[test]
fn one_space_between_the_cells() {
    let text = "Sample pH P K\nNorth field 6.2 41 120\nCreek 5.4 7 61\n";
    assert_eq!(
        rows(text),
        ["Sample|pH|P|K", "North field|6.2|41|120", "Creek|5.4|7|61"]
    );
}

#[test]
fn tabs_and_quoted_lines() {
    let text = "> Sample\tpH\tP ppm\n> North field\t6.2\t41\n> Creek\t5.4\t7\n";
    assert_eq!(
        rows(text),
        ["Sample|pH|P ppm", "North field|6.2|41", "Creek|5.4|7"]
    );
}

#[test]
fn a_line_a_test_with_labels() {
    let text = "\
Sample: North field
Lab number: 4401
Depth: 0-6 in
pH: 6.2
Buffer pH (SMP): 6.7
Phosphorus (P) 41 ppm (Optimum)
Potassium (K), Mehlich 3: 120 ppm
Organic matter = 3.1 %
Lime 50 lb per 1,000 sq ft

Sample: Creek
Lab number: 4402
Depth: 0-6 in
pH: 5.4
Buffer pH (SMP): 6.2
Phosphorus (P) 7 ppm (Low)
Potassium (K), Mehlich 3: 61 ppm
Organic matter = 2.0 %
Lime 120 lb per 1,000 sq ft
";
    assert_eq!(
        rows(text),
        [
            "Sample|Lab number|Depth|pH|Buffer pH (SMP)|Phosphorus (P) ppm|\
             Potassium (K), Mehlich 3 ppm|Organic matter %|Lime lb per 1,000 sq ft",
            "North field|4401|0-6 in|6.2|6.7|41|120|3.1|50",
            "Creek|4402|0-6 in|5.4|6.2|7|61|2.0|120",
        ]
    );
}

#[test]
fn a_heading_is_the_sample_where_each_has_one() {
    let text = "North field:\npH 6.2, P 41 ppm, K 120 ppm\n\nCreek:\npH 5.4, P 7 ppm, K 61 ppm\n";
    assert_eq!(
        rows(text),
        [
            "Sample|pH|P ppm|K ppm",
            "North field|6.2|41|120",
            "Creek|5.4|7|61"
        ]
    );
}

#[test]
fn tests_that_begin_again_are_the_next_sample() {
    let text = "pH 6.2\nP 41 ppm\npH 5.4\nP 7 ppm\n";
    assert_eq!(rows(text), ["pH|P ppm", "6.2|41", "5.4|7"]);
}

#[test]
fn what_the_text_does_not_say_is_asked() {
    let tables = pasted("mail", "Sample: A\npH 6.2\nP 41\nK 120\n").unwrap();
    let layout = propose(&tables[0]);
    let asked = questions(&layout).iter().filter(|q| q.blocking).count();
    assert!(asked >= 2, "unit and extractant: {:?}", questions(&layout));
    assert_eq!(layout.extractant, None);
}

#[test]
fn two_numbers_for_one_test_are_no_silent_choice() {
    let tables = pasted("mail", "Sample: A\npH 6.2\nP   41   66   ppm\n").unwrap();
    assert_eq!(
        shown(&tables[0])[0],
        "Sample|pH|P ppm first of several numbers"
    );
    let layout = propose(&tables[0]);
    assert!(!layout.columns[2].sure);
}

#[test]
fn methods_that_differ_by_sample_stay_apart() {
    let text = "Sample: A\nPhosphorus (Bray P1) 41 ppm\nSample: B\nPhosphorus (Olsen) 12 ppm\n";
    assert_eq!(
        rows(text),
        [
            "Sample|Phosphorus (Bray P1) ppm|Phosphorus (Olsen) ppm",
            "A|41|",
            "B||12"
        ]
    );
}

#[test]
fn text_without_results_is_one_sentence() {
    for text in [
        "",
        "  \n ",
        "Hello, see you on Monday at 6.",
        "\0\0\0",
        "\u{202e}6.2 Hp",
    ] {
        let problem = pasted("mail", text).unwrap_err().to_string();
        assert!(problem.starts_with("mail: found "), "{problem}");
    }
    let long = "pH 6.2\n".repeat(30_000);
    assert!(
        pasted("mail", &long)
            .unwrap_err()
            .to_string()
            .contains("lines")
    );
}
