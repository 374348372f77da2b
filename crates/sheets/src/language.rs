//! The languages that job sheets are printed in, and their words.

use crate::SheetError;
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};
use std::sync::OnceLock;
use unic_langid::LanguageIdentifier;

/// A language of the crew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    English,
    Spanish,
}

impl Language {
    pub const ALL: [Self; 2] = [Self::English, Self::Spanish];

    /// Two letters, ISO 639-1.
    pub fn key(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::Spanish => "es",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.key() == key)
    }

    /// In the language itself.
    pub fn name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::Spanish => "Español",
        }
    }

    fn text(self) -> &'static str {
        match self {
            Self::English => include_str!("../locales/en.ftl"),
            Self::Spanish => include_str!("../locales/es.ftl"),
        }
    }
}

/// The messages of one language.
pub(crate) struct Words(FluentBundle<FluentResource>);

impl Words {
    pub(crate) fn of(language: Language) -> Result<&'static Self, SheetError> {
        static ENGLISH: OnceLock<Words> = OnceLock::new();
        static SPANISH: OnceLock<Words> = OnceLock::new();
        let kept = match language {
            Language::English => &ENGLISH,
            Language::Spanish => &SPANISH,
        };
        if let Some(words) = kept.get() {
            return Ok(words);
        }
        let words = Self::read(language)?;
        Ok(kept.get_or_init(|| words))
    }

    fn read(language: Language) -> Result<Self, SheetError> {
        let wrong = |why: String| SheetError::Language(language.name(), why);
        let id: LanguageIdentifier = language.key().parse().map_err(|e| wrong(format!("{e}")))?;
        let resource = FluentResource::try_new(language.text().to_owned())
            .map_err(|(_, errors)| wrong(format!("{errors:?}")))?;
        let mut bundle = FluentBundle::new_concurrent(vec![id]);
        // The marks would keep foreign words apart on a screen; on paper they are noise.
        bundle.set_use_isolating(false);
        bundle
            .add_resource(resource)
            .map_err(|errors| wrong(format!("{errors:?}")))?;
        Ok(Self(bundle))
    }

    /// A message with its variables. Every message is in every language, which a test holds to; the key
    /// stands in for one that is not.
    pub(crate) fn say(&self, key: &str, variables: &[(&str, &str)]) -> String {
        let Some(pattern) = self.0.get_message(key).and_then(|m| m.value()) else {
            return key.to_owned();
        };
        let mut args = FluentArgs::new();
        for (name, value) in variables {
            args.set(*name, (*value).to_owned());
        }
        let mut errors = Vec::new();
        self.0
            .format_pattern(pattern, Some(&args), &mut errors)
            .into_owned()
    }

    /// A message without variables.
    pub(crate) fn word(&self, key: &str) -> String {
        self.say(key, &[])
    }

    pub(crate) fn knows(&self, key: &str) -> bool {
        self.0.has_message(key)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::{BTreeMap, BTreeSet};

    /// Each message of a file with its variables.
    fn messages(language: Language) -> BTreeMap<String, BTreeSet<String>> {
        let mut all = BTreeMap::new();
        for line in language.text().lines() {
            let Some((key, pattern)) = line.split_once(" = ").filter(|_| !line.starts_with('#'))
            else {
                assert!(line.is_empty() || line.starts_with('#'), "{line}");
                continue;
            };
            let variables = pattern
                .split("{ $")
                .skip(1)
                .map(|part| part.split_once(" }").unwrap().0.to_owned())
                .collect();
            assert!(!pattern.trim().is_empty(), "{key}");
            let twice = all.insert(key.to_owned(), variables).is_some();
            assert!(!twice, "{key} stands twice in {}", language.name());
        }
        all
    }

    #[test]
    fn every_message_is_in_both_languages_with_the_same_variables() {
        let english = messages(Language::English);
        assert!(english.len() > 250, "{}", english.len());
        assert_eq!(english, messages(Language::Spanish));
        for language in Language::ALL {
            let words = Words::of(language).unwrap();
            for (key, variables) in &english {
                assert!(words.knows(key), "{key}");
                let given: Vec<(&str, &str)> =
                    variables.iter().map(|v| (v.as_str(), "¿?")).collect();
                let said = words.say(key, &given);
                assert!(
                    said.matches("¿?").count() >= variables.len(),
                    "{key}: {said}"
                );
                assert!(
                    !said.contains('{') && !said.contains('\u{2068}'),
                    "{key}: {said}"
                );
            }
        }
    }

    #[test]
    fn the_tables_and_the_english_messages_are_one() {
        let words = Words::of(Language::English).unwrap();
        for crop in agronomy::crop::crops() {
            assert_eq!(words.word(&format!("crop-{}", crop.key)), crop.name);
        }
        for m in agronomy::material::materials() {
            assert_eq!(words.word(&format!("material-{}", m.id)), m.name);
            for (key, caution) in agronomy::material::crew_cautions(m) {
                assert_eq!(words.word(&key), caution.text, "{key}");
            }
            for gear in agronomy::material::gear(m) {
                assert!(words.knows(&format!("gear-{}", gear.key)), "{}", gear.key);
            }
        }
    }

    #[test]
    fn languages_are_found_by_their_key() {
        for language in Language::ALL {
            assert_eq!(Language::from_key(language.key()), Some(language));
        }
        assert!(Language::from_key("fr").is_none());
    }
}
