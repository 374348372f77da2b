//! Farms whose truth is known, 500 of ten years each: how often what is stated holds, how often noise is
//! called a change, and what learning a block’s own answer does to its lime; where the truth is as is
//! believed, and where what is believed is wrong. Prints a row a case.

mod ground;

fn main() {
    println!(
        "{} farms of a case, {} years, {} cores a sample; what is believed of an answer: 1 ± {}",
        ground::RUNS,
        ground::YEARS,
        ground::CORES,
        agronomy::doubt::lime_prior().sd
    );
    println!(
        "\n{:<47} {:>7} {:>7} {:>7}   {:>7} {:>7}   {:>9} {:>7}",
        "", "held at", "stated", "90 %", "moved,", "10 %", "lime", "off by"
    );
    println!(
        "{:<47} {:>7} {:>7} {:>7}   {:>7} {:>7}   {:>7}   {:>9} {:>7}",
        "%", "test", "slope", "answer", "two", "ten", "differs", "published", "learned"
    );
    for case in &ground::CASES {
        let Some(f) = ground::run(2027, case) else {
            eprintln!("The published scatter of pH, P or organic matter is not held.");
            std::process::exit(1);
        };
        let percent = |v: f64| v * 100.0;
        println!(
            "{:<47} {:>7.1} {:>7.1} {:>7.1}   {:>7.1} {:>7.1}   {:>7.1}   {:>9.1} {:>7.1}",
            case.name,
            percent(f.tests_held),
            percent(f.slopes_held),
            percent(f.answers_held),
            percent(f.false_changes),
            percent(f.false_trends),
            percent(f.differ),
            percent(f.published_error),
            percent(f.learned_error)
        );
    }
    println!(
        "\ntest, slope, answer: how often the interval held the truth. two, ten: how often still ground was called moving, between two tests and over ten. differs: how often the answer was found otherwise than published, stated 5 % where it is not. The next lime dose, mean, by the published and by the learned answer."
    );
}
