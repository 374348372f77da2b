use super::*;
use crate::reading::systems;

const ABOUT: &str = "id,name,region,scope,extractant,default_group,depth_in,aim\nOWN,Our own,Here,all crops,mehlich3,,6,\n";
const HEAD: &str = "nutrient,extractant,group,category,level,low,high,unit,step,source,evidence\n";

fn faults_of(about: &str, bands: &str) -> Vec<Fault> {
    check_table(
        &OwnTable {
            folder: "OWN",
            system: about,
            bands,
        },
        systems(),
    )
}

/// The faults of rows under the right header, as sentences.
fn rows(rows: &str) -> Vec<String> {
    faults_of(ABOUT, &format!("{HEAD}{rows}"))
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[track_caller]
fn one(found: &[String], parts: &[&str]) {
    assert_eq!(found.len(), 1, "{found:#?}");
    for part in parts {
        assert!(found[0].contains(part), "no {part}: {}", found[0]);
    }
}

const GOOD: &str = "p,mehlich3,all,low,low,0,30,ppm,1,our trials,local\np,mehlich3,all,enough,optimum,31,,ppm,1,our trials,local\n";

#[test]
fn a_sound_table_has_no_fault_and_is_read_first() {
    assert_eq!(rows(GOOD), Vec::<String>::new());
    let bands = format!("{HEAD}{GOOD}");
    let own = [OwnTable {
        folder: "OWN",
        system: ABOUT,
        bands: &bands,
    }];
    let with = systems().with(&own).unwrap();
    assert_eq!(with.all().len(), systems().all().len() + 1);
    assert_eq!(with.all()[0].id, "OWN");
    assert_eq!(with.for_extractant(Extractant::Mehlich3)[0].id, "OWN");
    // The same table twice: the second one's id is taken.
    let twice = systems().with(&[own[0], own[0]]).unwrap_err();
    assert!(
        twice[0].to_string().contains("no other table"),
        "{}",
        twice[0]
    );
}

#[test]
fn every_shipped_table_passes_its_own_check() {
    macro_rules! text {
        ($($id:literal),+) => { [$(($id,
            include_str!(concat!("../../../../../reference/readings/", $id, "/system.csv")),
            include_str!(concat!("../../../../../reference/readings/", $id, "/bands.csv")))),+] };
    }
    let shipped = text!(
        "M3_NJ",
        "M3_DE",
        "M3_FL",
        "M1_GA_COASTAL",
        "M1_GA_PIEDMONT",
        "BRAY_MI",
        "BRAY_MWVG",
        "MM_MA",
        "MM_CT",
        "MORGAN_IE",
        "OLSEN_ON",
        "UK_RB209",
        "OLSEN_CA",
        "DTPA_HAVLIN",
        "SME_MA",
        "M3_PA",
        "M3_AR",
        "M3_NC",
        "M1_FL",
        "M1_GA_ROW_COASTAL",
        "M1_GA_ROW_PIEDMONT",
        "M1_AL",
        "M1_VA",
        "M1_SC",
        "M1_TN",
        "BRAY_WI",
        "OREGON",
        "COLORADO",
        "MM_VT",
        "MORGAN_NY"
    );
    assert_eq!(shipped.len(), systems().all().len());
    for (folder, system, bands) in shipped {
        let found = check_table(
            &OwnTable {
                folder,
                system,
                bands,
            },
            &Systems::default(),
        );
        assert!(found.is_empty(), "{found:#?}");
    }
}

#[test]
fn unknown_words_are_named_with_row_and_column() {
    let at = |row: &str| rows(row);
    one(
        &at("q,mehlich3,all,low,low,0,30,ppm,1,s,local\n"),
        &[
            "OWN/bands.csv, row 2, column nutrient",
            "“q”",
            "one of p, k",
        ],
    );
    one(
        &at("p,mehlich3,all,low,poor,0,30,ppm,1,s,local\n"),
        &["row 2, column level", "“poor”", "very_low"],
    );
    one(
        &at("p,mehlich3,all,low,low,0,30,stone,1,s,local\n"),
        &["column unit", "“stone”", "lb/acre"],
    );
    one(
        &at("p,mehlich3,all,low,low,0,30,K-I,1,s,local\n"),
        &["column unit", "belongs to k"],
    );
    one(
        &at("p,mehlich3,all,low,low,0,30,ppm,1,s,rumour\n"),
        &["column evidence", "“rumour”", "local"],
    );
    // An unknown extractant also leaves system.csv's own one without rows.
    let found = at("p,mehlich9,all,low,low,0,30,ppm,1,s,local\n");
    assert!(
        found
            .iter()
            .any(|f| f.contains("row 2, column extractant") && f.contains("“mehlich9”"))
    );
}

#[test]
fn missing_cells_are_named() {
    one(
        &rows("p,mehlich3,all,low,low,0,30,ppm,1,,local\n"),
        &["column source", "found nothing", "in words"],
    );
    one(
        &rows("p,mehlich3,,low,low,0,30,ppm,1,s,local\n"),
        &["column group", "found nothing"],
    );
    one(
        &rows("p,mehlich3,all,,low,0,30,ppm,1,s,local\n"),
        &["column category"],
    );
    one(
        &rows("p,mehlich3,all,low,low,,,ppm,1,s,local\n"),
        &["column low", "in both"],
    );
    let short = rows("p,mehlich3,all,low,low,0,30,ppm,1,s\n");
    assert!(
        short
            .iter()
            .any(|f| f.contains("10 cells") && f.contains("11")),
        "{short:?}"
    );
    assert!(rows("").iter().any(|f| f.contains("no rows")));
}

#[test]
fn numbers_out_of_order_are_named() {
    one(
        &rows("p,mehlich3,all,low,low,30,10,ppm,1,s,local\n"),
        &["column low", "“30”", "no more than high, 10"],
    );
    one(
        &rows("p,mehlich3,all,low,low,10,10,ppm,,s,local\n"),
        &["column high", "more than low"],
    );
    one(
        &rows("p,mehlich3,all,low,low,-1,10,ppm,1,s,local\n"),
        &["column low", "“-1”", "zero or more"],
    );
    one(
        &rows("p,mehlich3,all,low,low,0,ten,ppm,1,s,local\n"),
        &["column high", "“ten”"],
    );
    one(
        &rows("p,mehlich3,all,low,low,0,10,ppm,0,s,local\n"),
        &["column step", "above zero"],
    );
}

#[test]
fn overlap_gap_and_fall_are_named() {
    let pair = |start: &str, level: &str, step: &str| {
        rows(&format!(
            "p,mehlich3,all,poor,medium,0,30,ppm,{step},s,local\np,mehlich3,all,more,{level},{start},60,ppm,{step},s,local\n"
        ))
    };
    assert!(pair("31", "high", "1").is_empty());
    assert!(pair("30", "high", "").is_empty());
    one(
        &pair("30", "high", "1"),
        &["row 3, column low", "beyond 30", "overlap"],
    );
    one(&pair("25", "high", ""), &["row 3, column low", "overlap"]);
    one(
        &pair("31", "low", "1"),
        &["row 3, column level", "“low”", "medium or more"],
    );
    let gap = faults_of(
        ABOUT,
        &format!(
            "{HEAD}p,mehlich3,all,poor,low,0,30,ppm,1,s,local\np,mehlich3,all,more,high,40,,ppm,1,s,local\n"
        ),
    );
    assert_eq!(gap.len(), 1);
    assert!(
        !gap[0].stops && gap[0].to_string().contains("expected 31"),
        "{}",
        gap[0]
    );
    one(
        &rows(
            "p,mehlich3,all,low,low,0,,ppm,1,s,local\np,mehlich3,all,more,high,40,,ppm,1,s,local\n",
        ),
        &["open at the top"],
    );
    one(
        &rows(
            "p,mehlich3,all,low,low,0,30,ppm,1,s,local\np,mehlich3,all,more,high,62,,lb/acre,1,s,local\n",
        ),
        &["column unit", "“ppm”"],
    );
    // Another group may hold other numbers.
    assert!(rows("p,mehlich3,sandy,low,low,0,30,ppm,1,s,local\np,mehlich3,clayey,low,low,0,50,ppm,1,s,local\n").is_empty());
}

#[test]
fn the_small_file_is_checked_too() {
    let bands = format!("{HEAD}{GOOD}");
    let about = |row: &str| {
        let text = format!("id,name,region,scope,extractant,default_group,depth_in\n{row}");
        faults_of(&text, &bands)
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    assert!(about("OWN,n,r,s,mehlich3,,6-7\n").is_empty());
    one(
        &about("OWN,n,r,s,mehlich3,orchard,\n"),
        &["OWN/system.csv, row 2, column default_group", "orchard"],
    );
    one(&about("OWN,,r,s,mehlich3,,\n"), &["column name"]);
    one(&about("OWN,n,,s,mehlich3,,\n"), &["column region"]);
    one(
        &about("OWN,n,r,s,magic,,\n"),
        &["column extractant", "“magic”"],
    );
    one(
        &about("OWN,n,r,s,olsen,,\n"),
        &["column extractant", "has rows for"],
    );
    one(
        &about("OWN,n,r,s,mehlich3,,deep\n"),
        &["column depth_in", "inches"],
    );
    one(&about("O N,n,r,s,mehlich3,,\n"), &["column id", "letters"]);
    one(
        &about("OTHER,n,r,s,mehlich3,,\n"),
        &["column id", "folder’s name"],
    );
    assert!(
        about("M3_NJ,n,r,s,mehlich3,,\n")
            .iter()
            .any(|f| f.contains("no other table"))
    );
    one(
        &about("OWN,n,r,s,mehlich3,,\nOWN,n,r,s,mehlich3,,\n"),
        &["2 rows", "exactly one"],
    );
    let headless = faults_of("id,name\nOWN,n\n", &bands);
    assert_eq!(
        headless.iter().filter(|f| f.row == Some(1)).count(),
        3,
        "{headless:?}"
    );
}

#[test]
fn every_fault_of_a_file_is_told_at_once() {
    let found = rows(
        "q,mehlich3,all,low,low,0,30,ppm,1,s,local\np,mehlich3,,low,poor,30,10,stone,0,,rumour\n",
    );
    assert!(found.len() >= 7, "{found:#?}");
    assert!(
        systems()
            .with(&[OwnTable {
                folder: "OWN",
                system: "",
                bands: "\u{0}"
            }])
            .is_err()
    );
}

proptest::proptest! {
    #[test]
    fn odd_files_never_panic_and_never_pass_by_mistake(about in "[ -~\n]{0,120}", bands in "[ -~\n,]{0,200}") {
        let table = OwnTable { folder: "OWN", system: &about, bands: &bands };
        let found = check_table(&table, systems());
        proptest::prop_assert!(found.iter().any(|f| f.stops));
        proptest::prop_assert!(systems().with(&[table]).is_err());
    }

    #[test]
    fn what_passes_the_check_parses(low in 0..50i32, width in 0..50i32, gap in -2..3i32, step in 0..3i32) {
        let (a, b) = (low + width, low + width + gap);
        let bands = format!(
            "{HEAD}p,mehlich3,all,a,low,{low},{a},ppm,{s},s,local\np,mehlich3,all,b,high,{b},200,ppm,{s},s,local\n",
            s = if step == 0 { String::new() } else { step.to_string() }
        );
        let table = OwnTable { folder: "OWN", system: ABOUT, bands: &bands };
        let stops = check_table(&table, systems()).iter().any(|f| f.stops);
        // The parser is the floor: nothing that it refuses may pass the check.
        if !stops {
            proptest::prop_assert!(crate::reading::System::parse("OWN", ABOUT, &bands).is_ok(), "{bands}");
        }
    }
}
