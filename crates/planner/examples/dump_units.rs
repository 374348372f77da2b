//! Prints conversions of the quantity types as JSON, for a check against another unit library.

use quantity::{Area, Length, Mass, Rate, Volume};
use std::error::Error;

/// Value, unit from, unit to, result.
type Row = (f64, &'static str, &'static str, f64);

fn rows(v: f64) -> Vec<Row> {
    vec![
        (v, "foot", "meter", Length::feet(v).si()),
        (v, "inch", "meter", Length::inches(v).si()),
        (v, "meter", "foot", Length::metres(v).to_feet()),
        (v, "meter", "inch", Length::metres(v).to_inches()),
        (v, "foot**2", "meter**2", Area::square_feet(v).si()),
        (v, "international_acre", "meter**2", Area::acres(v).si()),
        (
            v,
            "international_acre",
            "hectare",
            Area::acres(v).to_hectares(),
        ),
        (
            v,
            "hectare",
            "international_acre",
            Area::hectares(v).to_acres(),
        ),
        (
            v,
            "meter**2",
            "foot**2",
            Area::square_metres(v).to_square_feet(),
        ),
        (v, "pound", "kilogram", Mass::pounds(v).si()),
        (v, "US_ton", "kilogram", Mass::short_tons(v).si()),
        (v, "metric_ton", "pound", Mass::tonnes(v).to_pounds()),
        (v, "gram", "pound", Mass::grams(v).to_pounds()),
        (v, "gallon", "meter**3", Volume::gallons(v).si()),
        (v, "foot**3", "meter**3", Volume::cubic_feet(v).si()),
        (v, "yard**3", "meter**3", Volume::cubic_yards(v).si()),
        (v, "yard**3", "gallon", Volume::cubic_yards(v).to_gallons()),
        (v, "gallon", "foot**3", Volume::gallons(v).to_cubic_feet()),
        (v, "gallon", "yard**3", Volume::gallons(v).to_cubic_yards()),
        (
            v,
            "pound/international_acre",
            "kilogram/hectare",
            Rate::lb_per_acre(v).si(),
        ),
        (
            v,
            "US_ton/international_acre",
            "kilogram/hectare",
            Rate::short_tons_per_acre(v).si(),
        ),
        (
            v,
            "pound/(1000*foot**2)",
            "kilogram/hectare",
            Rate::lb_per_1000_ft2(v).si(),
        ),
        (
            v,
            "pound/(100*foot**2)",
            "pound/international_acre",
            Rate::lb_per_100_ft2(v).to_lb_per_acre(),
        ),
        (
            v,
            "gram/meter**2",
            "pound/international_acre",
            Rate::grams_per_m2(v).to_lb_per_acre(),
        ),
        (
            v,
            "gram/meter**2",
            "pound/(1000*foot**2)",
            Rate::grams_per_m2(v).to_lb_per_1000_ft2(),
        ),
        (
            v,
            "kilogram/hectare",
            "US_ton/international_acre",
            Rate::kg_per_ha(v).to_short_tons_per_acre(),
        ),
        (
            v,
            "pound/(1000*foot**2)*3*international_acre",
            "pound",
            Rate::lb_per_1000_ft2(v).on(Area::acres(3.0)).to_pounds(),
        ),
        (
            v,
            "pound/(2640*foot**2)",
            "kilogram/hectare",
            (Mass::pounds(v) / Area::square_feet(2_640.0)).si(),
        ),
    ]
}

fn main() -> Result<(), Box<dyn Error>> {
    let rows: Vec<serde_json::Value> = [1.0, 37.25]
        .into_iter()
        .flat_map(rows)
        .map(|(value, from, to, result)| {
            serde_json::json!({"value": value, "from": from, "to": to, "result": result})
        })
        .collect();
    println!("{}", serde_json::to_string_pretty(&rows)?);
    Ok(())
}
