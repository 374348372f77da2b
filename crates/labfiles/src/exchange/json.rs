use super::tree::{Fault, MOST, Node};
use crate::problem::{quoted, shown};
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::collections::HashSet;
use std::fmt;

/// A document as a tree. A key may stand once in an object; nothing is dropped.
pub(super) fn parse(text: &str) -> Result<Node, Fault> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let mut count = 0;
    let seed = Seed {
        name: "",
        count: &mut count,
    };
    let mut root = seed
        .deserialize(&mut reader)
        .and_then(|root| reader.end().map(|()| root))
        .map_err(|e| {
            let line = u32::try_from(e.line()).unwrap_or(0);
            // The reader's words end in the place, which the sentence begins with.
            let said = e.to_string();
            let said = said.split(" at line ").next().unwrap_or_default();
            Fault::new(
                line,
                format!("broken JSON ({})", shown(said)),
                "a whole JSON document",
            )
        })?;
    // A list at the top has one document in it, or is none.
    match (root.len(), root.pop()) {
        (1, Some(node)) if !node.children.is_empty() => Ok(node),
        _ => Err(Fault::new(1, "no single object", "one JSON object")),
    }
}

/// Reads one value under a name: several fields for a list, none for null.
struct Seed<'a> {
    name: &'a str,
    count: &'a mut usize,
}

impl Seed<'_> {
    fn node<E: Error>(self, text: &str, children: Vec<Node>) -> Result<Vec<Node>, E> {
        *self.count += 1;
        if *self.count > MOST {
            return Err(E::custom("more than a million fields"));
        }
        Ok(vec![Node {
            name: self.name.into(),
            text: text.trim().into(),
            children,
            line: 0,
        }])
    }
}

impl<'de> DeserializeSeed<'de> for Seed<'_> {
    type Value = Vec<Node>;

    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<Self::Value, D::Error> {
        d.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Seed<'_> {
    type Value = Vec<Node>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E: Error>(self) -> Result<Self::Value, E> {
        Ok(Vec::new())
    }

    fn visit_bool<E: Error>(self, v: bool) -> Result<Self::Value, E> {
        self.node(if v { "true" } else { "false" }, Vec::new())
    }

    fn visit_i64<E: Error>(self, v: i64) -> Result<Self::Value, E> {
        self.node(&v.to_string(), Vec::new())
    }

    fn visit_u64<E: Error>(self, v: u64) -> Result<Self::Value, E> {
        self.node(&v.to_string(), Vec::new())
    }

    fn visit_f64<E: Error>(self, v: f64) -> Result<Self::Value, E> {
        self.node(&v.to_string(), Vec::new())
    }

    fn visit_str<E: Error>(self, v: &str) -> Result<Self::Value, E> {
        self.node(v, Vec::new())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut all = Vec::new();
        while let Some(mut items) = list.next_element_seed(Seed {
            name: self.name,
            count: self.count,
        })? {
            // A list in a list is a field with fields.
            match items.len() {
                0 | 1 => all.append(&mut items),
                _ => all.push(Node {
                    name: self.name.into(),
                    children: items,
                    ..Node::default()
                }),
            }
        }
        Ok(all)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let mut children = Vec::new();
        let mut seen: HashSet<String> = HashSet::new();
        while let Some(key) = map.next_key::<String>()? {
            let seed = Seed {
                name: &key,
                count: &mut *self.count,
            };
            children.append(&mut map.next_value_seed(seed)?);
            if seen.contains(&key) {
                let found = format!("the key {} twice in one object", quoted(&key));
                return Err(Error::custom(found));
            }
            seen.insert(key);
        }
        self.node("", children)
    }
}
