//! Dependencies point one way: quantity <- agronomy <- planner; labfiles and farmbook use agronomy;
//! farmwork joins them; sheets and web sit on top; the binary wires them.

#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::process::Command;

fn depends_on() -> BTreeMap<String, Vec<String>> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--no-deps"])
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
        .output()
        .unwrap();
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"]
        .as_array()
        .unwrap()
        .iter()
        .map(|package| {
            let names = package["dependencies"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|d| d["kind"].is_null())
                .map(|d| d["name"].as_str().unwrap().to_owned())
                .collect();
            (package["name"].as_str().unwrap().to_owned(), names)
        })
        .collect()
}

#[test]
fn dependencies_point_one_way() {
    let layers: [&[&str]; 7] = [
        &["quantity"],
        &["agronomy"],
        &["planner", "labfiles", "bulk", "ground", "door"],
        &["farmbook"],
        &["farmwork"],
        &["sheets", "web"],
        &["spadework", "spadework-fuzz"],
    ];
    let level = |name: &str| layers.iter().position(|l| l.contains(&name));
    let graph = depends_on();
    assert_eq!(
        graph.len(),
        layers.iter().map(|l| l.len()).sum::<usize>(),
        "a crate has no layer"
    );
    for (crate_name, needs) in &graph {
        let own = level(crate_name).unwrap();
        for need in needs {
            let Some(other) = level(need) else { continue };
            let sheets_for_pages = crate_name == "web" && need == "sheets";
            assert!(
                other < own || sheets_for_pages,
                "{crate_name} must not depend on {need}"
            );
        }
    }
}

#[test]
fn the_science_knows_no_input_or_output() {
    let graph = depends_on();
    let outside = [
        "tokio", "axum", "rusqlite", "jiff", "highs", "typst", "tracing",
    ];
    for pure in ["quantity", "agronomy", "ground"] {
        for name in outside {
            assert!(
                !graph[pure].iter().any(|d| d == name),
                "{pure} must not know {name}"
            );
        }
    }
    for below in [
        "quantity", "agronomy", "planner", "labfiles", "bulk", "ground", "farmbook", "farmwork",
        "sheets",
    ] {
        assert!(
            !graph[below].iter().any(|d| d == "tokio"),
            "{below} must not know tokio"
        );
    }
}
