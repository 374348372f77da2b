//! The form of one block and what grows on it next.

use super::brings;
use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::parts::choose::{choice, date, field, number, tick};
use agronomy::crop;
use agronomy::texture::Texture;
use farmbook::{Block, BlockKind, Farm, Planting, Shape};
use farmwork::words;
use jiff::civil::Date;
use maud::{Markup, html};
use quantity::{Area, Length, plain};

/// What stands in the form, as typed.
pub(super) struct Draft(pub(super) Fields);

pub(super) fn shown(value: f64) -> String {
    if value > 0.0 {
        plain(value, 5).replace(',', "")
    } else {
        String::new()
    }
}

fn day(value: Option<Date>) -> String {
    value.map(|d| d.to_string()).unwrap_or_default()
}

pub(super) fn maybe(value: Option<f64>) -> String {
    value
        .map(|v| plain(v, 5).replace(',', ""))
        .unwrap_or_default()
}

impl Draft {
    pub(super) fn of(block: &Block, planting: Option<&Planting>) -> Self {
        let mut all = vec![
            ("name", block.name.clone()),
            ("kind", block.kind.key().to_owned()),
            ("texture", block.texture.map_or("", Texture::key).to_owned()),
            ("depth", shown(block.depth_in)),
            (
                "free_lime",
                match block.free_lime {
                    Some(true) => "yes",
                    Some(false) => "no",
                    None => "",
                }
                .to_owned(),
            ),
            (
                "cores",
                block.cores.map_or_else(String::new, |n| n.to_string()),
            ),
            ("aliases", block.aliases.join(", ")),
            ("note", block.note.clone()),
        ];
        match &block.shape {
            Shape::Rectangle { length, width } => all.extend([
                ("shape", "rectangle".to_owned()),
                ("length", shown(length.to_feet())),
                ("width", shown(width.to_feet())),
            ]),
            Shape::Beds {
                beds,
                bed_length,
                bed_width,
                path_width,
                spread_on_paths,
            } => {
                all.extend([
                    ("shape", "beds".to_owned()),
                    ("beds", beds.to_string()),
                    ("bed_length", shown(bed_length.to_feet())),
                    ("bed_width", shown(bed_width.to_inches())),
                    ("path_width", plain(path_width.to_inches(), 5)),
                ]);
                if *spread_on_paths {
                    all.push(("on_paths", "yes".to_owned()));
                }
            }
            Shape::Stated { area } => all.extend([
                ("shape", "stated".to_owned()),
                ("area", shown(area.to_square_feet())),
            ]),
        }
        if let Some(p) = planting {
            all.extend([
                ("crop", p.crop.clone()),
                ("plant_on", day(p.plant_on)),
                ("harvest_on", day(p.harvest_on)),
                ("yield", maybe(p.yield_lb_per_acre)),
                ("target_ph", maybe(p.target_ph)),
            ]);
        }
        let mut all: Vec<(String, String)> =
            all.into_iter().map(|(k, v)| (k.to_owned(), v)).collect();
        if let Some(p) = planting {
            all.extend(brings::drafted(&p.credits));
        }
        Self(Fields(all))
    }

    fn shape(&self) -> Result<Shape, String> {
        let f = &self.0;
        match f.text("shape") {
            "beds" => {
                let beds: u32 =
                    f.text("beds")
                        .parse()
                        .ok()
                        .filter(|n| *n > 0)
                        .ok_or_else(|| {
                            format!(
                                "“{}” is not a number of beds; write a whole number such as 6.",
                                f.text("beds")
                            )
                        })?;
                Ok(Shape::Beds {
                    beds,
                    bed_length: Length::feet(
                        f.positive("bed_length", "the length of a bed in feet")?,
                    ),
                    bed_width: Length::inches(
                        f.positive("bed_width", "the width of a bed in inches")?,
                    ),
                    path_width: Length::inches(
                        f.maybe_number("path_width", "the width of a path in inches")?
                            .unwrap_or(0.0),
                    ),
                    spread_on_paths: f.ticked("on_paths"),
                })
            }
            "stated" => Ok(Shape::Stated {
                area: Area::square_feet(f.positive("area", "the area in square feet")?),
            }),
            _ => Ok(Shape::Rectangle {
                length: Length::feet(f.positive("length", "the length in feet")?),
                width: Length::feet(f.positive("width", "the width in feet")?),
            }),
        }
    }

    /// The block as typed, or a sentence.
    pub(super) fn block(&self, old: Option<&Block>) -> Result<Block, String> {
        let f = &self.0;
        let kind = BlockKind::from_key(f.text("kind")).unwrap_or(BlockKind::Field);
        let mut block = Block::new(f.text("name"), kind, self.shape()?);
        if let Some(old) = old {
            block.id = old.id;
            block.archived = old.archived;
        }
        block.texture = Texture::from_key(f.text("texture"));
        block.depth_in = f.positive("depth", "the depth worked in inches")?;
        block.free_lime = match f.text("free_lime") {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        };
        block.cores = f.maybe_count("cores", "the cores to a sample")?;
        block.aliases = f
            .text("aliases")
            .split(',')
            .map(str::trim)
            .filter(|a| !a.is_empty())
            .map(str::to_owned)
            .collect();
        block.note = f.text("note").to_owned();
        Ok(block)
    }

    /// What grows next; none where no crop is chosen. What the form does not show is kept.
    pub(super) fn planting(
        &self,
        before: Option<&Planting>,
        season: i64,
    ) -> Result<Option<Planting>, String> {
        let f = &self.0;
        let Some(key) = f.maybe("crop") else {
            return Ok(None);
        };
        let mut planting = before
            .cloned()
            .unwrap_or_else(|| Planting::new(0, season, key));
        planting.crop = key.to_owned();
        planting.plant_on = f.maybe_of("plant_on", "a day such as 2027-05-10")?;
        planting.harvest_on = f.maybe_of("harvest_on", "a day such as 2027-07-20")?;
        planting.yield_lb_per_acre = f.maybe_number("yield", "the yield in lb per acre")?;
        planting.target_ph = f.maybe_number("target_ph", "the target pH")?;
        brings::read(f, &mut planting.credits)?;
        Ok(Some(planting))
    }
}

pub(super) fn form(
    farm: &Farm,
    old: Option<&Block>,
    draft: &Draft,
    problem: Option<&str>,
) -> Markup {
    let f = &draft.0;
    let t = |key: &str| f.text(key).to_owned();
    let title = old.map_or("A new block", |b| b.name.as_str());
    let action = old.map_or("/ground".to_owned(), |b| format!("/ground/{}", b.id));
    let crops = std::iter::once((String::new(), "nothing chosen yet".to_owned())).chain(
        crop::crops()
            .iter()
            .map(|c| (c.key.clone(), c.name.clone())),
    );
    let textures =
        std::iter::once(("", "not known")).chain(Texture::ALL.map(|t| (t.key(), t.name())));
    let shape = if t("shape").is_empty() {
        "rectangle".to_owned()
    } else {
        t("shape")
    };
    let body = html! {
        div {
            h1 { (title) }
            @if let Some(block) = old {
                p.lede.num { (words::area(block.shape.spread_area())) " to spread on." }
            } @else {
                p.lede { "Size, soil and next crop. What you do not know can stay empty." }
            }
            (wrong(problem))
            form method="post" action=(action) {
                div.row {
                    (field("name", "Name", &t("name"), "as on the sample box"))
                    (choice("kind", "Kind", BlockKind::ALL.map(|k| (k.key(), k.name())), &t("kind")))
                }
                fieldset {
                    legend { "Size" }
                    p.meta { "Fill in one of the three." }
                    div.either {
                        label.tick { input type="radio" name="shape" value="rectangle" checked[shape == "rectangle"]; " One piece" }
                        div.row {
                            (number("length", "Length", &t("length"), "ft"))
                            (number("width", "Width", &t("width"), "ft"))
                        }
                    }
                    div.either {
                        label.tick { input type="radio" name="shape" value="beds" checked[shape == "beds"]; " Beds" }
                        div.row {
                            (number("beds", "How many", &t("beds"), ""))
                            (number("bed_length", "Bed length", &t("bed_length"), "ft"))
                            (number("bed_width", "Bed width", &t("bed_width"), "in"))
                            (number("path_width", "Path between", &t("path_width"), "in"))
                        }
                        (tick("on_paths", "Material goes on the paths too", f.ticked("on_paths")))
                    }
                    div.either {
                        label.tick { input type="radio" name="shape" value="stated" checked[shape == "stated"]; " Area known" }
                        div.row { (number("area", "Area", &t("area"), "ft²")) }
                    }
                }
                fieldset {
                    legend { "Soil" }
                    div.row {
                        (choice("texture", "Texture", textures, &t("texture")))
                        (number("depth", "Depth worked", &t("depth"), "in"))
                        (choice("free_lime", "Fizzes with vinegar", [("", "not tried"), ("no", "no"), ("yes", "yes")], &t("free_lime")))
                    }
                    (number("cores", "Cores to a sample", &t("cores"), "where counted"))
                    (field("aliases", "Other names on its sample boxes", &t("aliases"), "parted by commas"))
                }
                fieldset {
                    legend { "Next crop, " (farm.season) }
                    div.row {
                        (choice("crop", "Crop", crops, &t("crop")))
                        (date("plant_on", "Planting day", &t("plant_on")))
                        (date("harvest_on", "First day of harvest", &t("harvest_on")))
                    }
                    p.meta { "From these days the calendar works back when each material goes on; without them it gives no day." }
                    div.row {
                        (number("yield", "Expected yield", &t("yield"), "lb/acre"))
                        (number("target_ph", "Your own target pH", &t("target_ph"), ""))
                    }
                    (brings::fields(f))
                }
                (field("note", "Note", &t("note"), ""))
                p { button { "Keep" } " " a.btn.q href="/ground" { "Leave as it was" } }
            }
            @if let Some(block) = old {
                form.noprint method="post" action={ "/ground/" (block.id) "/remove" } {
                    button.q { "Take this block out" }
                    p.meta { "Its tests and plans stay in the book, and the change can be undone." }
                }
            }
        }
        aside {
            h3 { "Paths" }
            p { "Between beds there is one path fewer than beds; outer edges do not count." }
            h3 { "Vinegar" }
            p { "A pinch of dry soil that fizzes in vinegar holds free lime: sulfur would only be used up by it." }
            h3 { "Cores" }
            p { "The more cores go into a sample, the less it leaves to luck; the page of the reading says how much. A dozen is common practice." }
            h3 { "Cover crop" }
            p { "Cut and dry what stands in a few square feet for a much better figure than the class alone." }
        }
    };
    page(farm, "Ground", title, &body)
}
