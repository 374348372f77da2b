//! What a material that was left out would have to cost, on farms that can be worked out by hand.
#![allow(clippy::unwrap_used)]

use planner::*;

fn material(id: &str, nutrient: Nutrient, share: f64, price: f64) -> Material {
    Material {
        id: id.into(),
        name: id.to_uppercase(),
        supplies: vec![(nutrient, share)],
        packs: vec![Pack {
            label: "10 lb".into(),
            lb: 10.0,
            price,
            ..Pack::default()
        }],
        weigh_step_lb: 0.5,
        ..Material::default()
    }
}

/// One acre that wants 10 lb of nitrogen.
fn farm(materials: Vec<Material>) -> Problem {
    Problem {
        blocks: vec![Block {
            id: "east".into(),
            name: "East".into(),
            acres: 1.0,
            needs: vec![Need {
                nutrient: Nutrient::N,
                lb_per_acre: 10.0,
                ceiling_lb_per_acre: None,
                ceiling_why: String::new(),
                shortage_cost: 20.0,
                surplus_cost: 1.0,
                band: None,
            }],
            ..Block::default()
        }],
        materials,
        options: Options {
            gap: 0.0,
            ..Options::default()
        },
        ..Problem::default()
    }
}

fn asked(problem: &Problem, material: &str) -> Entry {
    let watch = Watch::default();
    let (plan, warm) = solve_warm(problem, &Warm::default(), &watch).unwrap();
    assert!(left_out(problem, &plan).contains(&material.to_owned()));
    entry(problem, &plan, material, &warm, &watch).unwrap()
}

#[test]
fn a_dearer_source_comes_in_at_the_price_of_the_cheaper() {
    // Ten bags of either bring the 10 lb: 50 against 80.
    let problem = farm(vec![
        material("a", Nutrient::N, 0.1, 5.0),
        material("b", Nutrient::N, 0.1, 8.0),
    ]);
    let found = asked(&problem, "b");
    assert!((found.share.unwrap() - 5.0 / 8.0).abs() < 1e-3, "{found:?}");
    assert_eq!(found.blocks, 1);
}

#[test]
fn a_stronger_source_is_worth_what_it_saves() {
    // A 10 lb bag with 2 lb of nitrogen stands for two of the 1 lb ones.
    let problem = farm(vec![
        material("a", Nutrient::N, 0.1, 5.0),
        material("b", Nutrient::N, 0.2, 16.0),
    ]);
    let found = asked(&problem, "b");
    assert!(
        (found.share.unwrap() - 10.0 / 16.0).abs() < 1e-3,
        "{found:?}"
    );
}

#[test]
fn what_nobody_needs_is_not_taken_as_a_gift() {
    let problem = farm(vec![
        material("a", Nutrient::N, 0.1, 5.0),
        material("potash", Nutrient::K2o, 0.5, 9.0),
    ]);
    assert_eq!(asked(&problem, "potash").share, None);
}

#[test]
fn just_above_the_price_it_stays_out_and_just_below_it_comes_in() {
    let mut problem = season(11, 2, 9, 2);
    problem.options.gap = 1e-6;
    problem.options.seconds = 30.0;
    let watch = Watch::default();
    let (plan, warm) = solve_warm(&problem, &Warm::default(), &watch).unwrap();
    let mut tried = 0;
    for id in left_out(&problem, &plan) {
        let found = entry(&problem, &plan, &id, &warm, &watch).unwrap();
        let Some(share) = found.share else { continue };
        let at = |times: f64| {
            let mut other = problem.clone();
            for m in other.materials.iter_mut().filter(|m| m.id == id) {
                for pack in &mut m.packs {
                    pack.price *= share * times;
                    for lower in &mut pack.breaks {
                        lower.price *= share * times;
                    }
                }
            }
            solve(&other).unwrap()
        };
        let tolerance = 1e-4 * plan.objective;
        assert!(at(0.97).objective < plan.objective, "{found:?}");
        assert!(at(1.03).objective > plan.objective - tolerance, "{found:?}");
        tried += 1;
    }
    assert!(tried > 1, "{tried}");
}
