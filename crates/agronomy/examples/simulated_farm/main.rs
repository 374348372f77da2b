//! Farms whose truth is known, 500 of ten years each: how often what is stated holds, how often noise is
//! called a change, and what learning a block’s own answer does to its lime. Prints a table.

mod ground;

fn main() {
    let Some(f) = ground::run(2027) else {
        eprintln!("The published scatter of pH, P or organic matter is not held.");
        std::process::exit(1);
    };
    let percent = |v: f64| format!("{:.1} %", v * 100.0);
    println!(
        "{} farms, {} years, {} cores a sample",
        ground::RUNS,
        ground::YEARS,
        ground::CORES
    );
    println!("stated 90 % held the truth");
    println!("  a single test, pH and P      {}", percent(f.tests_held));
    println!("  the slope of organic matter  {}", percent(f.slopes_held));
    println!("  the block’s answer to lime   {}", percent(f.answers_held));
    println!("still ground called moving, stated 10 %");
    println!(
        "  between two tests            {}",
        percent(f.false_changes)
    );
    println!("  over ten tests               {}", percent(f.false_trends));
    println!("the next lime dose is off by, mean");
    println!(
        "  with the published answer    {}",
        percent(f.published_error)
    );
    println!(
        "  with the learned answer      {}",
        percent(f.learned_error)
    );
}
