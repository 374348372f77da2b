//! Reading a form: every value is text until it is checked.

use std::str::FromStr;

/// Text as it may stand in an address after an equals sign.
pub(crate) fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| match b {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => (b as char).to_string(),
            other => format!("%{other:02X}"),
        })
        .collect()
}

/// The fields of a form in the order they came.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fields(pub(crate) Vec<(String, String)>);

impl Fields {
    /// A form filled in by the page.
    pub(crate) fn of<V: Into<String>>(filled: impl IntoIterator<Item = (&'static str, V)>) -> Self {
        let all = filled.into_iter();
        Self(all.map(|(k, v)| (k.to_owned(), v.into())).collect())
    }

    /// Puts the mark that the form was given in place of a new one.
    pub(crate) fn give_mark(&self, mark: &mut String) {
        if let Some(own) = self.maybe("mark") {
            own.clone_into(mark);
        }
    }

    /// As it was sent, spaces around it and all.
    pub(crate) fn raw(&self, key: &str) -> &str {
        self.0
            .iter()
            .find(|(k, _)| k == key)
            .map_or("", |(_, v)| v.as_str())
    }

    pub(crate) fn text(&self, key: &str) -> &str {
        self.raw(key).trim()
    }

    /// The values of a field that came several times, as boxes ticked in a list do.
    pub(crate) fn every<'a>(&'a self, key: &'a str) -> impl Iterator<Item = &'a str> {
        let of = self.0.iter().filter(move |(k, _)| k == key);
        of.map(|(_, v)| v.trim())
    }

    pub(crate) fn maybe(&self, key: &str) -> Option<&str> {
        Some(self.text(key)).filter(|t| !t.is_empty())
    }

    pub(crate) fn ticked(&self, key: &str) -> bool {
        !self.text(key).is_empty()
    }

    /// A number, or none where the field is empty.
    pub(crate) fn maybe_number(&self, key: &str, what: &str) -> Result<Option<f64>, String> {
        let Some(text) = self.maybe(key) else {
            return Ok(None);
        };
        let value = text
            .replace(',', "")
            .parse::<f64>()
            .ok()
            .filter(|v| v.is_finite());
        value.map(Some).ok_or_else(|| {
            format!("“{text}” is not a number; {what} is a number such as 12 or 0.5.")
        })
    }

    pub(crate) fn maybe_count(&self, key: &str, what: &str) -> Result<Option<u32>, String> {
        let Some(text) = self.maybe(key) else {
            return Ok(None);
        };
        let count = text.replace(',', "").parse::<u32>().ok();
        count
            .filter(|n| *n > 0)
            .map(Some)
            .ok_or_else(|| format!("“{text}” cannot be {what}; give a whole number such as 12."))
    }

    pub(crate) fn number(&self, key: &str, what: &str) -> Result<f64, String> {
        self.maybe_number(key, what)?
            .ok_or_else(|| format!("Give {what}."))
    }

    pub(crate) fn positive(&self, key: &str, what: &str) -> Result<f64, String> {
        let value = self.number(key, what)?;
        if value > 0.0 {
            Ok(value)
        } else {
            Err(format!("{what} must be more than zero, not {value}."))
        }
    }

    /// A date, or none where the field is empty.
    pub(crate) fn maybe_of<T: FromStr>(&self, key: &str, what: &str) -> Result<Option<T>, String> {
        let Some(text) = self.maybe(key) else {
            return Ok(None);
        };
        text.parse()
            .map(Some)
            .map_err(|_| format!("“{text}” is not {what}."))
    }
}
