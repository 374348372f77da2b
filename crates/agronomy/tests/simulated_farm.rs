//! What is stated of doubt holds on farms whose truth is known (the example `simulated_farm`).

// The lint knows tests only by their attribute.
#![allow(clippy::unwrap_used)]

#[path = "../examples/simulated_farm/ground.rs"]
mod ground;

#[test]
fn what_is_stated_holds_on_farms_whose_truth_is_known() {
    for seed in [2027, 1, 99] {
        let f = ground::run(seed).unwrap();
        for held in [f.tests_held, f.slopes_held, f.answers_held] {
            assert!((0.85..=0.95).contains(&held), "seed {seed}: {f:?}");
        }
        // The stated rate, with what 500 runs scatter about it (two standard errors).
        let most = 0.10 + 2.0 * (0.1f64 * 0.9 / ground::RUNS as f64).sqrt();
        assert!(
            f.false_changes <= most && f.false_trends <= most,
            "seed {seed}: {f:?}"
        );
        assert!(
            f.learned_error < 0.75 * f.published_error,
            "seed {seed}: {f:?}"
        );
    }
}
