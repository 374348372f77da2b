//! Awkward names, boxes and last year.

use super::*;
use proptest::prelude::*;

fn block(id: i64, name: &str, aliases: &[&str]) -> BlockNames {
    BlockNames {
        id,
        name: name.to_owned(),
        aliases: aliases.iter().map(|a| (*a).to_owned()).collect(),
    }
}

fn names(all: &[&str]) -> Vec<String> {
    all.iter().map(|n| (*n).to_owned()).collect()
}

fn one(sample: &str, blocks: &[BlockNames]) -> Match {
    match_blocks(&names(&[sample]), blocks).remove(0)
}

fn sent(boxes: &[(&str, i64)], last: &[(&str, Option<i64>)]) -> Sent {
    Sent {
        boxes: boxes
            .iter()
            .map(|(label, block)| SentBox {
                label: (*label).to_owned(),
                block: *block,
            })
            .collect(),
        last: last
            .iter()
            .map(|(sample, block)| LastSample {
                sample: (*sample).to_owned(),
                block: *block,
            })
            .collect(),
    }
}

#[test]
fn numbers_are_told_apart() {
    let beds = [block(1, "Bed 1", &[]), block(10, "Bed 10", &[])];
    let m = match_blocks(&names(&["BED_01", "bed-10"]), &beds);
    assert_eq!(
        (m[0].best, m[0].sure, m[0].by),
        (Some(1), true, MatchedBy::Name)
    );
    assert_eq!((m[1].best, m[1].sure), (Some(10), true));
    // Bed 100 is neither, and Bed 1 alone is not Bed 10.
    assert!(!one("Bed 100", &beds).sure);
    assert_eq!(one("Bed 10", &beds[..1]).best, None);
    assert_eq!(
        one("Bed 1 0", &beds)
            .best
            .filter(|_| one("Bed 1 0", &beds).sure),
        None
    );
}

#[test]
fn signs_and_zeros_do_not_matter() {
    let blocks = [
        block(2, "NE 02", &[]),
        block(3, "NW 2", &[]),
        block(4, "NE 20", &[]),
    ];
    for name in ["NE-2", "ne2", "N.E. 2", "NE_002"] {
        let m = one(name, &blocks);
        // `N.E.` parts the letters: like, and asked.
        assert_eq!(m.best, Some(2), "{name}");
        assert_eq!(m.sure, name != "N.E. 2", "{name}");
    }
}

#[test]
fn accents_may_be_lost_by_the_lab() {
    let blocks = [
        block(1, "Cañón Alto", &[]),
        block(2, "Jardín", &["Pequeña huerta"]),
    ];
    for name in ["CANON ALTO", "cañón  alto", "Can\u{303}o\u{301}n alto"] {
        let m = one(name, &blocks);
        assert_eq!((m.best, m.sure), (Some(1), true), "{name}");
    }
    assert_eq!(one("pequena huerta", &blocks).best, Some(2));
    // Where both are blocks the accent counts, and neither is sure.
    let both = [block(1, "Peña", &[]), block(2, "Pena", &[])];
    let m = one("Pena", &both);
    assert_eq!((m.best, m.sure), (Some(2), false));
    let m = one("PEÑA", &both);
    assert_eq!((m.best, m.sure), (Some(1), false));
}

#[test]
fn names_from_right_to_left() {
    let blocks = [
        block(1, "חלקה 1", &[]),
        block(2, "חלקה 2", &[]),
        block(3, "حقل ٣", &[]),
    ];
    for (name, id) in [
        ("חלקה 1", 1),
        ("\u{200f}חלקה\u{200f} 2\u{200e}", 2),
        ("חֶלְקָה 1", 1),
        ("حقل 3", 3),
        ("حَقل ٠٣", 3),
    ] {
        let m = one(name, &blocks);
        assert_eq!((m.best, m.sure), (Some(id), true), "{name:?}");
    }
    let m = one("\u{202e}1 dleiF", &[block(9, "Field 1", &[])]);
    assert!(!m.sure);
}

#[test]
fn a_box_goes_before_a_name() {
    let blocks = [
        block(1, "North", &[]),
        block(2, "South", &[]),
        block(3, "Creek", &[]),
    ];
    let known = sent(&[("P-7", 3), ("South", 2), ("old", 99)], &[]);
    let m = match_samples(&names(&["p 07", "South", "old"]), &blocks, &known);
    assert_eq!(
        (m[0].best, m[0].sure, m[0].by),
        (Some(3), true, MatchedBy::Box)
    );
    assert_eq!((m[1].best, m[1].sure), (Some(2), true));
    // The block of that box is gone.
    assert_eq!((m[2].best, m[2].sure), (None, false));
    // The box says one block and the name another: asked.
    let known = sent(&[("North", 2)], &[]);
    let m = match_samples(&names(&["North"]), &blocks, &known).remove(0);
    assert_eq!((m.best, m.sure, m.others[0]), (Some(2), false, 1));
    // Two boxes of one name, and two samples of one box.
    let known = sent(&[("A", 1), ("a", 2)], &[]);
    assert!(!match_samples(&names(&["A"]), &blocks, &known)[0].sure);
    let known = sent(&[("A", 1)], &[]);
    let m = match_samples(&names(&["A", "a"]), &blocks, &known);
    assert!(!m[0].sure && !m[1].sure);
}

#[test]
fn last_year_knows_the_name() {
    let blocks = [block(1, "North", &[]), block(2, "South", &[])];
    let last = sent(
        &[],
        &[("behind the barn", Some(2)), ("gone", Some(7)), ("x", None)],
    );
    let m = match_samples(&names(&["Behind the Barn", "gone", "x"]), &blocks, &last);
    assert_eq!(
        (m[0].best, m[0].sure, m[0].by),
        (Some(2), true, MatchedBy::LastYear)
    );
    assert!(!m[1].sure && m[1].best.is_none() && m[2].best.is_none());
    // This year's block of that name goes before last year's sample.
    let last = sent(&[], &[("North", Some(2))]);
    let m = match_samples(&names(&["North"]), &blocks, &last).remove(0);
    assert_eq!((m.best, m.sure, m.by), (Some(1), true, MatchedBy::Name));
}

#[test]
fn bare_numbers_are_never_sure_by_last_year() {
    let blocks = [
        block(1, "North", &["1"]),
        block(2, "South", &["2"]),
        block(3, "3", &[]),
    ];
    let last = sent(&[], &[("1", Some(2)), ("2", Some(1)), ("3", Some(3))]);
    let m = match_samples(&names(&["1", "2", "3"]), &blocks, &last);
    assert_eq!((m[0].best, m[0].sure), (Some(2), false));
    assert_eq!((m[1].best, m[1].sure), (Some(1), false));
    // A block's own name is its name.
    assert_eq!((m[2].best, m[2].sure), (Some(3), true));
    assert!(!one("1", &blocks).sure);
}

#[test]
fn the_order_of_last_year_is_a_suggestion() {
    let blocks = [
        block(1, "North", &[]),
        block(2, "South", &[]),
        block(3, "Creek", &[]),
    ];
    let last = sent(&[], &[("11", Some(3)), ("12", Some(1)), ("13", Some(2))]);
    let m = match_samples(&names(&["401", "402", "403"]), &blocks, &last);
    let best: Vec<_> = m.iter().map(|m| m.best).collect();
    assert_eq!(best, [Some(3), Some(1), Some(2)]);
    assert!(m.iter().all(|m| !m.sure && m.by == MatchedBy::Order));
    // Another count, or names with letters: no order.
    let m = match_samples(&names(&["401", "402"]), &blocks, &last);
    assert!(m.iter().all(|m| m.best.is_none()));
    let m = match_samples(&names(&["401", "402", "a"]), &blocks, &last);
    assert!(m.iter().all(|m| m.by != MatchedBy::Order));
}

proptest! {
    #[test]
    fn any_names_give_one_match_each(
        samples in proptest::collection::vec("\\PC{0,30}", 0..6),
        blocks in proptest::collection::vec("\\PC{0,30}", 0..6),
        boxes in proptest::collection::vec(("\\PC{0,12}", 0i64..8), 0..4),
        last in proptest::collection::vec(("\\PC{0,12}", proptest::option::of(0i64..8)), 0..6),
    ) {
        let farm: Vec<BlockNames> =
            (0..).zip(&blocks).map(|(i, n)| block(i, n, &[])).collect();
        let boxes: Vec<(&str, i64)> = boxes.iter().map(|(l, b)| (l.as_str(), *b)).collect();
        let last: Vec<(&str, Option<i64>)> = last.iter().map(|(l, b)| (l.as_str(), *b)).collect();
        let all = match_samples(&samples, &farm, &sent(&boxes, &last));
        prop_assert_eq!(all.len(), samples.len());
        let mut sure: Vec<i64> = Vec::new();
        for (m, s) in all.iter().zip(&samples) {
            prop_assert_eq!(&m.sample, s);
            prop_assert!(!m.why.is_empty());
            prop_assert!(!m.sure || m.best.is_some());
            for id in m.best.iter().chain(&m.others) {
                prop_assert!(farm.iter().any(|b| b.id == *id));
            }
            prop_assert!(m.best.is_none_or(|b| !m.others.contains(&b)));
            if m.sure {
                sure.extend(m.best);
            }
        }
        let count = sure.len();
        sure.sort_unstable();
        sure.dedup();
        prop_assert_eq!(sure.len(), count);
    }
}
