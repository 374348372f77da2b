//! A long list in leaves: so many rows at a time, found by words and turned by links, without script. A
//! list that fits on one leaf shows nothing of it.

use crate::fields::{Fields, encoded};
use crate::parts::choose::field;
use maud::{Markup, html};
use quantity::plain;

/// So many rows stand on a page at a time, where a list does not say otherwise.
pub(crate) const ROWS: usize = 100;

/// Which list it is.
#[derive(Clone, Copy)]
pub(crate) struct List<'a> {
    /// The address of its page.
    pub(crate) path: &'a str,
    /// Tells the lists of one page apart; empty for the only one.
    pub(crate) key: &'static str,
    /// What its rows are: `blocks`.
    pub(crate) rows: &'static str,
    /// Other fields of the address that stay as they are when a leaf is turned.
    pub(crate) keep: &'static [&'static str],
}

/// One leaf of a list.
pub(crate) struct Leaf<'a, T> {
    pub(crate) rows: Vec<T>,
    list: List<'a>,
    /// So many rows at a time.
    most: usize,
    kept: Vec<(String, String)>,
    find: String,
    /// Of the whole list.
    all: usize,
    /// Of those that were looked for.
    found: usize,
    /// From 0.
    at: usize,
}

impl<'a, T> Leaf<'a, T> {
    /// The leaf that an address asks for; `said` is what words are looked for in.
    pub(crate) fn of(
        list: List<'a>,
        f: &Fields,
        rows: Vec<T>,
        said: impl Fn(&T) -> String,
    ) -> Self {
        Self::of_so_many(ROWS, list, f, rows, said)
    }

    /// The same with so many rows to a leaf, for those that take more room than a line.
    pub(crate) fn of_so_many(
        most: usize,
        list: List<'a>,
        f: &Fields,
        rows: Vec<T>,
        said: impl Fn(&T) -> String,
    ) -> Self {
        let all = rows.len();
        let find = f.text(&list.field("find")).to_owned();
        let words: Vec<String> = find
            .to_lowercase()
            .split_whitespace()
            .map(str::to_owned)
            .collect();
        let mut rows = rows;
        if !words.is_empty() {
            rows.retain(|row| {
                let said = said(row).to_lowercase();
                words.iter().all(|w| said.contains(w))
            });
        }
        let found = rows.len();
        let last = found.div_ceil(most).max(1) - 1;
        let asked: usize = f.text(&list.field("leaf")).parse().unwrap_or(1);
        let at = asked.saturating_sub(1).min(last);
        Self {
            rows: rows.into_iter().skip(at * most).take(most).collect(),
            kept: f
                .0
                .iter()
                .filter(|(key, value)| list.keep.contains(&key.as_str()) && !value.is_empty())
                .cloned()
                .collect(),
            list,
            most,
            find,
            all,
            found,
            at,
        }
    }

    /// Whether the list is longer than a leaf.
    pub(crate) fn is_part(&self) -> bool {
        self.all > self.most
    }

    /// How many rows stand before this leaf.
    pub(crate) fn before(&self) -> usize {
        self.at * self.most
    }

    fn address(&self, find: &str, leaf: usize) -> String {
        let own = [
            (self.list.field("find"), find.to_owned()),
            (self.list.field("leaf"), leaf.to_string()),
        ];
        let own = own
            .into_iter()
            .filter(|(key, value)| !value.is_empty() && (value != "1" || !key.starts_with("leaf")));
        let fields: Vec<String> = self
            .kept
            .iter()
            .cloned()
            .chain(own)
            .map(|(key, value)| format!("{key}={}", encoded(&value)))
            .collect();
        let asked = if fields.is_empty() { "" } else { "?" };
        format!(
            "{}{asked}{}#list{}",
            self.list.path,
            fields.join("&"),
            self.list.key
        )
    }

    /// What stands above the rows: a field for words, and which rows these are.
    pub(crate) fn head(&self) -> Markup {
        let (find, rows) = (self.list.field("find"), self.list.rows);
        let many = |n: usize| plain(n as f64, 9);
        html! {
            @if self.is_part() || !self.find.is_empty() {
                form.noprint id={ "list" (self.list.key) } method="get" action={ (self.list.path) "#list" (self.list.key) } {
                    @for (key, value) in &self.kept { input type="hidden" name=(key) value=(value); }
                    div.row {
                        (field(&find, &format!("Find among the {rows}"), &self.find, ""))
                        div.field { button.q { "Find" } }
                        @if !self.find.is_empty() { div.field { a.btn.q href=(self.address("", 1)) { "Show all" } } }
                    }
                }
                p.meta {
                    @if self.found == 0 { "Nothing among " (many(self.all)) " " (rows) " has “" (self.find) "” in it." }
                    @else {
                        (many(self.before() + 1)) " to " (many(self.before() + self.rows.len())) " of " (many(self.found)) " " (rows)
                        @if !self.find.is_empty() { " with “" (self.find) "”" }
                        "."
                    }
                }
            }
        }
    }

    /// What stands below the rows: the other leaves.
    pub(crate) fn foot(&self) -> Markup {
        let last = self.found.div_ceil(self.most).max(1) - 1;
        let near = |n: &usize| *n == 0 || *n == last || n.abs_diff(self.at) <= 3;
        let shown: Vec<usize> = (0..=last).filter(near).collect();
        html! {
            @if last > 0 {
                nav.leaves.noprint aria-label={ "More of the " (self.list.rows) } {
                    @if self.at > 0 { a rel="prev" href=(self.address(&self.find, self.at)) { "Back" } " " }
                    @for (i, n) in shown.iter().enumerate() {
                        @if i > 0 && shown[i - 1] + 1 < *n { span { "… " } }
                        @if *n == self.at { b aria-current="page" { (n + 1) } } @else { a href=(self.address(&self.find, n + 1)) { (n + 1) } }
                        " "
                    }
                    @if self.at < last { a rel="next" href=(self.address(&self.find, self.at + 2)) { "On" } }
                }
            }
        }
    }
}

impl List<'_> {
    /// The name of a field of its own.
    fn field(&self, name: &str) -> String {
        format!("{name}{}", self.key)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIST: List<'_> = List {
        path: "/ground",
        key: "",
        rows: "blocks",
        keep: &["by"],
    };

    fn asked(fields: &[(&str, &str)]) -> Fields {
        let own = |(k, v): &(&str, &str)| ((*k).to_owned(), (*v).to_owned());
        Fields(fields.iter().map(own).collect())
    }

    #[test]
    fn all_leaves_together_hold_every_row_once() {
        for all in [0, 1, 99, 100, 101, 1_000, 1_234] {
            let mut seen = Vec::new();
            for leaf in 1..=all / ROWS + 2 {
                let f = asked(&[("leaf", &leaf.to_string())]);
                let one = Leaf::of(LIST, &f, (0..all).collect(), |n: &usize| n.to_string());
                // Past the end the last leaf stands.
                if seen.last() < one.rows.last() {
                    assert_eq!(one.before(), seen.len());
                    seen.extend(one.rows);
                }
            }
            assert_eq!(seen, (0..all).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_list_may_say_how_many_rows_a_leaf_has() {
        let mut seen = Vec::new();
        for leaf in 1..=4 {
            let f = asked(&[("leaf", &leaf.to_string())]);
            let rows = (0..61).collect();
            let one = Leaf::of_so_many(20, LIST, &f, rows, |n: &usize| n.to_string());
            assert!(one.is_part() && one.before() == seen.len());
            assert_eq!(one.foot().into_string().contains("rel=\"next\""), leaf < 4);
            seen.extend(one.rows);
        }
        assert_eq!(seen, (0..61).collect::<Vec<_>>());
        let whole = Leaf::of_so_many(61, LIST, &asked(&[]), (0..61).collect(), |n: &usize| {
            n.to_string()
        });
        assert!(!whole.is_part() && whole.rows.len() == 61);
        assert_eq!(whole.head().into_string() + &whole.foot().into_string(), "");
    }

    #[test]
    fn every_leaf_is_reached_by_turning_on() {
        for n in 1..=12 {
            let f = asked(&[("leaf", &n.to_string()), ("by", "a&b"), ("done", "kept")]);
            let one = Leaf::of(LIST, &f, (0..1_150).collect(), |n: &usize| n.to_string());
            let foot = one.foot().into_string();
            let next = format!(
                "rel=\"next\" href=\"/ground?by=a%26b&amp;leaf={}#list\"",
                n + 1
            );
            assert_eq!(foot.contains(&next), n < 12, "{foot}");
        }
    }

    #[test]
    fn words_are_found_in_any_order_and_case_and_the_rest_is_told() {
        let rows = || {
            vec![
                "Barn Field, tomato",
                "Long Field, carrot",
                "Barn Tunnel, tomato",
            ]
        };
        let f = asked(&[("find", "TOMATO barn")]);
        let one = Leaf::of(LIST, &f, rows(), |r| (*r).to_owned());
        assert_eq!(one.rows, [rows()[0], rows()[2]]);
        assert!(one.head().into_string().contains("1 to 2 of 2 blocks with"));
        let none = Leaf::of(LIST, &asked(&[("find", "<leek>")]), rows(), |r| {
            (*r).to_owned()
        });
        let head = none.head().into_string();
        assert!(
            head.contains("&lt;leek&gt;") && head.contains("Show all"),
            "{head}"
        );
        // A short list that nobody searched is as it always was.
        let short = Leaf::of(LIST, &Fields::default(), rows(), |r| (*r).to_owned());
        assert_eq!(short.head().into_string() + &short.foot().into_string(), "");
    }

    #[test]
    fn nonsense_in_the_address_gives_the_first_or_the_last_leaf() {
        for (asked_for, first) in [("", 0), ("-3", 0), ("x", 0), ("0", 0), ("99999999999", 200)] {
            let f = asked(&[("leaf", asked_for)]);
            let one = Leaf::of(LIST, &f, (0..250).collect(), |n: &usize| n.to_string());
            assert_eq!(one.rows.first(), Some(&first), "{asked_for}");
        }
    }
}
