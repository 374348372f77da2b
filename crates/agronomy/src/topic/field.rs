//! Ground, rates and bags.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::dose;
use crate::material;
use crate::working::{Evidence, Figure, Source};
use quantity::{Area, FT2_PER_ACRE, Mass, plain};

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "area",
        about: "The area of a rectangle, or of beds with the paths between them.",
        keys: &[
            Key::maybe("length", "a length with its unit, e.g. 96ft"),
            Key::maybe("width", "a width with its unit, e.g. 30ft"),
            Key::maybe("beds", "how many beds"),
            Key::maybe("bed_length", "the length of a bed with its unit"),
            Key::maybe("bed_width", "the width of a bed with its unit"),
            Key::maybe("path", "the width of a path between two beds with its unit"),
        ],
        example: "beds=6 bed_length=96ft bed_width=30in path=18in",
        run: area,
    },
    Topic {
        name: "spread",
        about: "What a rate comes to on an area.",
        keys: &[
            Key::needed("rate", "a number in the unit of the rate"),
            Key::needed("unit", dose::UNITS),
            Key::needed("area", "an area with its unit, e.g. 2640ft2"),
        ],
        example: "rate=40 unit=\"lb/1000 ft2\" area=2640ft2",
        run: spread,
    },
    Topic {
        name: "bags",
        about: "How many whole bags a weight takes, and what is left over.",
        keys: &[
            Key::needed("need", "lb to spread"),
            Key::needed("bag", "lb in a bag"),
            Key::maybe("on_hand", "lb in the shed already"),
            Key::maybe("price", "the price of a bag"),
        ],
        example: "need=130 bag=50",
        run: bags,
    },
    Topic {
        name: "bucket",
        about: "Five-gallon buckets for a weight of a material.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::needed("lb", "lb to spread"),
        ],
        example: "material=feather_meal lb=24",
        run: bucket,
    },
    Topic {
        name: "layer",
        about: "The volume of a layer of compost or mulch.",
        keys: &[
            Key::needed("area", "an area with its unit"),
            Key::needed("depth", "inches"),
        ],
        example: "area=100ft2 depth=0.25",
        run: layer,
    },
    Topic {
        name: "row-feet",
        about: "Feet of bed on an acre at a spacing.",
        keys: &[Key::needed(
            "spacing",
            "feet from the middle of a bed to the next",
        )],
        example: "spacing=6",
        run: row_feet,
    },
    Topic {
        name: "price",
        about: "What a lb of a nutrient costs in a material sold by the ton.",
        keys: &[
            Key::needed("price", "the price of a short ton"),
            Key::needed("percent", "the nutrient in the material, percent of weight"),
        ],
        example: "price=412 percent=46",
        run: price,
    },
];

fn definition() -> Source {
    Source::new("legal definition of the units", Evidence::Derived)
}

fn area(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let mut figure = Figure::new("Area");
    let ground = if inputs.maybe("beds").is_some() {
        let beds = inputs.positive("beds")?;
        if beds.fract() != 0.0 {
            return Err(inputs.bad("beds", "a whole number"));
        }
        let (length, width) = (inputs.length("bed_length")?, inputs.length("bed_width")?);
        let on_beds = (length * width) * beds;
        figure.step(
            "the beds",
            on_beds.to_square_feet(),
            "ft2",
            format!(
                "{} × {} ft × {} ft",
                plain(beds, 4),
                plain(length.to_feet(), 4),
                plain(width.to_feet(), 4)
            ),
            Source::arithmetic(),
        );
        if inputs.maybe("path").is_some() {
            let path = inputs.length("path")?;
            let between = (length * path) * (beds - 1.0);
            figure.step(
                "the paths between them",
                between.to_square_feet(),
                "ft2",
                format!(
                    "({} − 1) × {} ft × {} ft",
                    plain(beds, 4),
                    plain(length.to_feet(), 4),
                    plain(path.to_feet(), 4)
                ),
                Source::arithmetic(),
            );
            figure.step(
                "beds and paths",
                (on_beds + between).to_square_feet(),
                "ft2",
                "beds + paths",
                Source::arithmetic(),
            );
        }
        on_beds
    } else {
        let (length, width) = (inputs.length("length")?, inputs.length("width")?);
        length * width
    };
    for (value, unit, formula) in [
        (ground.to_acres(), "acre", "ft2 / 43,560"),
        (ground.si(), "m2", "ft2 × 0.3048²"),
        (ground.to_hectares(), "ha", "m2 / 10,000"),
    ] {
        figure.step(
            "the ground to spread on",
            value,
            unit,
            formula,
            definition(),
        );
    }
    figure.step(
        "the ground to spread on",
        ground.to_square_feet(),
        "ft2",
        "length × width",
        Source::arithmetic(),
    );
    Ok(figure)
}

fn spread(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let unit = inputs.text("unit")?;
    let rate = inputs.amount("rate")?;
    let per_acre = dose::lb_per_acre(rate, unit)
        .ok_or_else(|| inputs.bad("unit", format!("a unit of rate: {}", dose::UNITS)))?;
    let area = inputs.area("area")?;
    let mut figure = Figure::new("What the rate comes to");
    figure.step(
        "the rate",
        per_acre,
        "lb/acre",
        format!("{} {unit}", plain(rate, 4)),
        definition(),
    );
    figure.step(
        "the ground",
        area.to_acres(),
        "acre",
        format!("{} ft2 / 43,560", plain(area.to_square_feet(), 5)),
        definition(),
    );
    figure.step(
        "to spread",
        per_acre * area.to_acres(),
        "lb",
        format!(
            "{} lb/acre × {} acre",
            plain(per_acre, 4),
            plain(area.to_acres(), 4)
        ),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn bags(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let need = inputs.amount("need")?;
    let bag = inputs.positive("bag")?;
    let on_hand = match inputs.maybe("on_hand") {
        Some(_) => inputs.amount("on_hand")?,
        None => 0.0,
    };
    let mut figure = Figure::new("Whole bags");
    let to_buy = figure.step(
        "to buy",
        (need - on_hand).max(0.0),
        "lb",
        format!("{} − {}, not below 0", plain(need, 4), plain(on_hand, 4)),
        Source::arithmetic(),
    );
    // A ten-billionth of a bag is a rounding error of the sum, not another bag.
    let count = (to_buy / bag - 1e-10).ceil().max(0.0);
    figure.step(
        "left over",
        on_hand + count * bag - need,
        "lb",
        format!(
            "{} + {} × {} − {}",
            plain(on_hand, 4),
            plain(count, 4),
            plain(bag, 4),
            plain(need, 4)
        ),
        Source::arithmetic(),
    );
    if inputs.maybe("price").is_some() {
        let price = inputs.amount("price")?;
        figure.step(
            "cost",
            count * price,
            "money",
            format!("{} × {}", plain(count, 4), plain(price, 4)),
            Source::stated("the price you gave"),
        );
    }
    figure.step(
        "whole bags",
        count,
        "bags",
        format!("{} / {}, rounded up", plain(to_buy, 4), plain(bag, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn bucket(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let lb = inputs.amount("lb")?;
    let material = named(inputs)?;
    let mut figure = material::bucket_lb(material).ok_or_else(|| {
        TopicError::Together(format!(
            "No bulk density is held for {}: weigh a full bucket of it.",
            material.name.to_lowercase()
        ))
    })?;
    let full = figure.value;
    let (low, high) = (figure.low, figure.high);
    figure.step(
        "buckets",
        lb / full,
        "buckets",
        format!("{} / {}", plain(lb, 4), plain(full, 3)),
        Source::arithmetic(),
    );
    figure.low = high.map(|h| lb / h);
    figure.high = low.map(|l| lb / l);
    Ok(figure)
}

pub(super) fn named(inputs: &Inputs<'_>) -> Result<&'static material::Material, TopicError> {
    material::find(inputs.text("material")?).ok_or_else(|| {
        inputs.bad(
            "material",
            "the key of a material; `spadework tables materials` lists them",
        )
    })
}

fn layer(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let area: Area = inputs.area("area")?;
    let depth = inputs.amount("depth")?;
    let mut figure = Figure::new("Volume of a layer");
    figure.step(
        "volume",
        area.to_square_feet() * depth / 12.0,
        "ft3",
        format!(
            "{} ft2 × {} in / 12",
            plain(area.to_square_feet(), 5),
            plain(depth, 4)
        ),
        Source::arithmetic(),
    );
    let ft3 = figure.value;
    figure.step(
        "volume",
        ft3 / 27.0,
        "yd3",
        format!("{} / 27", plain(ft3, 4)),
        definition(),
    );
    Ok(figure)
}

fn row_feet(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let spacing = inputs.positive("spacing")?;
    let mut figure = Figure::new("Feet of bed on an acre");
    figure.step(
        "bed feet",
        FT2_PER_ACRE / spacing,
        "ft/acre",
        format!("43,560 / {}", plain(spacing, 4)),
        definition(),
    );
    Ok(figure)
}

fn price(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let price = inputs.amount("price")?;
    let percent = inputs.positive("percent")?;
    let mut figure = Figure::new("Price of a nutrient");
    let lb = figure.step(
        "nutrient in a ton",
        Mass::short_tons(1.0).to_pounds() * percent / 100.0,
        "lb/ton",
        format!("2,000 × {} %", plain(percent, 4)),
        definition(),
    );
    figure.step(
        "price",
        price / lb,
        "money/lb",
        format!("{} / {}", plain(price, 5), plain(lb, 5)),
        Source::arithmetic(),
    );
    Ok(figure)
}
