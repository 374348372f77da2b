//! Fields of forms.

use crate::fields::Fields;
use maud::{Markup, html};

/// A labelled text field. `hint` stands under it.
pub(crate) fn field(key: &str, label: &str, value: &str, hint: &str) -> Markup {
    html! {
        div.field {
            label for=(key) { (label) }
            input id=(key) name=(key) value=(value);
            @if !hint.is_empty() { small { (hint) } }
        }
    }
}

/// Asks why an entry of the record is corrected.
pub(crate) fn why(f: &Fields) -> Markup {
    let hint = "it stays beside both entries";
    field("why", "Why it is corrected", f.text("why"), hint)
}

/// A labelled field for a number.
pub(crate) fn number(key: &str, label: &str, value: &str, unit: &str) -> Markup {
    html! {
        div.field {
            label for=(key) { (label) @if !unit.is_empty() { " " small { (unit) } } }
            input.short id=(key) name=(key) value=(value) inputmode="decimal";
        }
    }
}

/// A labelled field for a day, written as in 2027-05-10.
pub(crate) fn date(key: &str, label: &str, value: &str) -> Markup {
    html! {
        div.field {
            label for=(key) { (label) }
            input id=(key) name=(key) value=(value) type="date";
        }
    }
}

/// A labelled choice; options are key and words.
pub(crate) fn choice<K: AsRef<str>, W: AsRef<str>>(
    key: &str,
    label: &str,
    options: impl IntoIterator<Item = (K, W)>,
    chosen: &str,
) -> Markup {
    html! {
        div.field {
            label for=(key) { (label) }
            select id=(key) name=(key) {
                @for (value, words) in options {
                    option value=(value.as_ref()) selected[value.as_ref() == chosen] { (words.as_ref()) }
                }
            }
        }
    }
}

/// A box to tick.
pub(crate) fn tick(key: &str, label: &str, on: bool) -> Markup {
    html! {
        label.tick {
            input type="checkbox" name=(key) value="yes" checked[on];
            " " (label)
        }
    }
}
