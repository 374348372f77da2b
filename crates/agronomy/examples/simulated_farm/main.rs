//! Farms whose truth is known, 500 of ten years each: how often what is stated holds, how often noise is
//! called a change, and what learning a block’s own answer does to its lime; where the truth is as is
//! believed, and where what is believed is wrong. Prints a table a case.

mod ground;

fn main() {
    println!(
        "{} farms of a case, {} years, {} cores a sample; what is believed of an answer: 1 ± {}",
        ground::RUNS,
        ground::YEARS,
        ground::CORES,
        agronomy::doubt::lime_prior().sd
    );
    let percent = |v: f64| format!("{:.1} %", v * 100.0);
    for case in &ground::CASES {
        let Some(f) = ground::run(2027, case) else {
            eprintln!("The published scatter of pH, P or organic matter is not held.");
            std::process::exit(1);
        };
        println!("\n{}", case.name);
        println!(" stated 90 % held the truth");
        println!("  a single test, pH and P      {}", percent(f.tests_held));
        println!("  the slope of organic matter  {}", percent(f.slopes_held));
        println!("  the block’s answer to lime   {}", percent(f.answers_held));
        println!(" still ground called moving, stated 10 %");
        println!(
            "  between two tests            {}",
            percent(f.false_changes)
        );
        println!("  over ten tests               {}", percent(f.false_trends));
        println!(" the next lime dose is off by, mean");
        println!(
            "  with the published answer    {}",
            percent(f.published_error)
        );
        println!(
            "  with the learned answer      {}",
            percent(f.learned_error)
        );
    }
}
