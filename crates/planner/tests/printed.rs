//! Published sums of material for a target, through the whole planner: `reference/checks/blends.csv`,
//! each with its source.
#![allow(clippy::unwrap_used)]

use planner::*;

/// `a: n=11 p2o5=55; b: n=21` as materials that cost next to nothing.
fn materials(text: &str) -> Vec<Material> {
    text.split("; ")
        .map(|one| {
            let (name, shares) = one.split_once(": ").unwrap();
            Material {
                id: name.to_owned(),
                name: name.to_owned(),
                supplies: shares.split(' ').map(|s| pair(s, 0.01)).collect(),
                packs: vec![Pack {
                    label: "by the ounce".to_owned(),
                    lb: 1.0 / 16.0,
                    price: 0.001,
                    ..Pack::default()
                }],
                ..Material::default()
            }
        })
        .collect()
}

fn pair(text: &str, times: f64) -> (Nutrient, f64) {
    let (key, value) = text.split_once('=').unwrap();
    let value: f64 = value.parse().unwrap();
    (Nutrient::from_key(key).unwrap(), value * times)
}

fn farm(needs: &str, sources: &str) -> Problem {
    Problem {
        blocks: vec![Block {
            id: "ground".into(),
            name: "Ground".into(),
            // An acre, so that lb per acre are the lb of the example.
            acres: 1.0,
            needs: needs
                .split("; ")
                .map(|n| pair(n, 1.0))
                .map(|(nutrient, lb)| Need {
                    nutrient,
                    lb_per_acre: lb,
                    ceiling_lb_per_acre: None,
                    ceiling_why: String::new(),
                    shortage_cost: 1_000.0,
                    surplus_cost: 1_000.0,
                    band: None,
                })
                .collect(),
            ..Block::default()
        }],
        materials: materials(sources),
        options: Options {
            gap: 0.0,
            ..Options::default()
        },
        ..Problem::default()
    }
}

#[test]
fn published_examples_come_out_as_printed() {
    let text = include_str!("../../../reference/checks/blends.csv");
    let mut checked = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.unwrap();
        let problem = farm(&row[1], &row[2]);
        let plan = solve(&problem).unwrap();
        assert_eq!(verify(&problem, &plan), Vec::<String>::new(), "{}", &row[0]);
        let tolerance: f64 = row[4].parse().unwrap();
        for printed in row[3].split("; ") {
            let (material, lb) = printed.split_once('=').unwrap();
            let lb: f64 = lb.parse().unwrap();
            let planned: f64 = plan
                .amounts
                .iter()
                .filter(|a| a.material == material)
                .map(|a| a.lb)
                .sum();
            assert!(
                (planned - lb).abs() <= tolerance,
                "{}: {planned} lb of {material}, printed {lb}",
                &row[0]
            );
            checked += 1;
        }
    }
    assert_eq!(checked, 11);
}
