//! What cannot be meant is refused with a sentence that says where.
#![allow(clippy::unwrap_used)]

use planner::*;

fn farm() -> Problem {
    let mut problem = generate(11, 2, 12);
    problem.blocks[0].refused.clear();
    problem.blocks[0].needs = vec![Need {
        nutrient: Nutrient::N,
        lb_per_acre: 50.0,
        ceiling_lb_per_acre: Some(60.0),
        ceiling_why: "water protection".into(),
        shortage_cost: 10.0,
        surplus_cost: 1.0,
        band: None,
    }];
    problem.blocks[0].acres = 1.0;
    problem.materials[1].supplies = vec![(Nutrient::N, 0.1)];
    problem.materials[1].most_lb_per_acre = Some(900.0);
    problem
}

fn lock(material: &str, lb: f64) -> Lock {
    Lock {
        block: "b0".into(),
        material: material.into(),
        lb,
        ..Lock::default()
    }
}

/// The sentence for a changed farm; it must hold every one of `words`.
fn says(change: impl FnOnce(&mut Problem), words: &[&str]) {
    let mut problem = farm();
    change(&mut problem);
    let sentence = solve(&problem).unwrap_err().to_string();
    assert!(
        sentence.ends_with('.') && !sentence.starts_with(char::is_lowercase),
        "{sentence}"
    );
    for word in words {
        assert!(sentence.contains(word), "“{sentence}” lacks “{word}”");
    }
}

#[test]
fn the_farm_itself_is_fine() {
    let problem = farm();
    assert_eq!(verify(&problem, &solve(&problem).unwrap()).len(), 0);
}

#[test]
fn ids_that_are_there_twice() {
    says(|p| p.blocks[1].id = "b0".into(), &["blocks", "b0"]);
    says(|p| p.materials[1].id = "m0".into(), &["materials", "m0"]);
    says(
        |p| {
            let need = p.blocks[0].needs[0].clone();
            p.blocks[0].needs.push(need);
        },
        &["Block 1", "nitrogen", "twice"],
    );
    says(
        |p| p.materials[1].supplies.push((Nutrient::N, 0.2)),
        &["feather meal", "nitrogen", "twice"],
    );
}

#[test]
fn numbers_that_are_no_amounts() {
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        says(|p| p.blocks[0].acres = bad, &["The area of Block 1"]);
        says(
            |p| p.blocks[0].needs[0].lb_per_acre = bad,
            &["Block 1", "nitrogen"],
        );
        says(
            |p| p.blocks[0].needs[0].ceiling_lb_per_acre = Some(bad),
            &["ceiling", "Block 1"],
        );
        says(|p| p.blocks[0].needs[0].shortage_cost = bad, &["shortage"]);
        says(|p| p.blocks[0].needs[0].surplus_cost = bad, &["surplus"]);
        says(|p| p.materials[1].supplies[0].1 = bad, &["feather meal"]);
        says(
            |p| p.materials[1].stock_lb = bad,
            &["stock", "feather meal"],
        );
        says(
            |p| p.materials[0].packs[0].lb = bad,
            &["pack", "pelleted manure"],
        );
        says(|p| p.materials[0].packs[0].price = bad, &["price"]);
        says(
            |p| p.materials[1].least_even_lb_per_acre = bad,
            &["least even"],
        );
        says(|p| p.materials[1].most_lb_per_acre = Some(bad), &["most"]);
        says(|p| p.materials[1].weigh_step_lb = bad, &["scale"]);
        says(|p| p.options.gap = bad, &["gap"]);
        says(|p| p.options.seconds = bad, &["time"]);
        says(|p| p.options.trip_cost = bad, &["trip"]);
        says(
            |p| p.options.locks = vec![lock("m1", bad)],
            &["feather meal", "Block 1"],
        );
    }
    says(|p| p.blocks[0].acres = 0.0, &["above zero"]);
    says(|p| p.materials[0].packs[0].lb = 0.0, &["above zero"]);
}

#[test]
fn held_amounts_that_break_a_rule() {
    let hold = |lb: f64| move |p: &mut Problem| p.options.locks = vec![lock("m1", lb)];
    says(
        hold(650.0),
        &[
            "650 lb",
            "feather meal",
            "Block 1",
            "nitrogen",
            "60 lb",
            "water protection",
        ],
    );
    says(hold(901.0), &["feather meal", "Block 1", "at most 900"]);
    says(
        |p| p.options.locks = vec![lock("nope", 1.0)],
        &["nope", "b0", "no such material"],
    );
    says(
        |p| {
            p.options.locks = vec![Lock {
                block: "b9".into(),
                ..lock("m1", 1.0)
            }];
        },
        &["b9", "m1", "no such block"],
    );
    says(
        |p| p.options.locks = vec![lock("m1", 1.0), lock("m1", 2.0)],
        &["feather meal", "Block 1", "twice"],
    );
    says(
        |p| {
            p.blocks[0].refused = vec!["m1".into()];
            p.options.locks = vec![lock("m1", 1.0)];
        },
        &["refused", "feather meal", "Block 1"],
    );
    says(
        |p| {
            p.materials[1].packs.clear();
            p.materials[1].stock_lb = 10.0;
            p.options.locks = vec![lock("m1", 11.0)];
        },
        &["feather meal", "Block 1", "10 lb on hand"],
    );
}

#[test]
fn two_held_amounts_break_a_ceiling_together() {
    says(
        |p| {
            p.materials[2].supplies = vec![(Nutrient::N, 0.1)];
            p.options.locks = vec![lock("m1", 400.0), lock("m2", 300.0)];
        },
        &["seed meal", "Block 1", "nitrogen", "70 lb"],
    );
}

#[test]
fn lime_against_sulfur() {
    let also = |p: &mut Problem, nutrient| {
        let mut need = p.blocks[0].needs[0].clone();
        need.nutrient = nutrient;
        p.blocks[0].needs.push(need);
    };
    says(
        |p| {
            also(p, Nutrient::Lime);
            also(p, Nutrient::Sulfur);
        },
        &["Block 1", "lime", "sulfur"],
    );
    says(
        |p| p.materials[1].supplies = vec![(Nutrient::Lime, 0.1), (Nutrient::Sulfur, 0.1)],
        &["feather meal"],
    );
    // m6 limes, m7 acidifies.
    says(
        |p| p.options.locks = vec![lock("m6", 1.0), lock("m7", 1.0)],
        &["elemental sulfur", "Block 1", "must not meet"],
    );
    says(
        |p| {
            also(p, Nutrient::Lime);
            p.options.locks = vec![lock("m7", 1.0)];
        },
        &["elemental sulfur", "Block 1", "must not meet"],
    );
}

#[test]
fn preferences_that_name_nothing() {
    let prefer = |material: &str, penalty_per_lb| Preference {
        material: material.into(),
        penalty_per_lb,
    };
    says(|p| p.options.prefer_less = vec![prefer("x", 1.0)], &["“x”"]);
    says(
        |p| p.options.prefer_less = vec![prefer("m1", -1.0)],
        &["penalty"],
    );
    says(
        |p| p.options.prefer_less = vec![prefer("m1", 1.0), prefer("m1", 2.0)],
        &["feather meal", "one"],
    );
}
