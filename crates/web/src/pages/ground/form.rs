//! The form of one block and what grows on it next.

use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::parts::choose::{choice, field, number, tick};
use agronomy::crop;
use agronomy::material;
use agronomy::nitrogen::cover_crop_kinds;
use agronomy::texture::Texture;
use farmbook::{Block, BlockKind, CoverCrop, Farm, Irrigation, PastSpread, Planting, Shape};
use farmwork::words;
use maud::{Markup, html};
use quantity::{Area, Length, plain};

/// What stands in the form, as typed.
pub(super) struct Draft(pub(super) Fields);

fn shown(value: f64) -> String {
    if value > 0.0 {
        plain(value, 5).replace(',', "")
    } else {
        String::new()
    }
}

fn maybe(value: Option<f64>) -> String {
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
            let credits = &p.credits;
            all.extend([
                ("crop", p.crop.clone()),
                ("yield", maybe(p.yield_lb_per_acre)),
                ("target_ph", maybe(p.target_ph)),
            ]);
            if let Some(cover) = &credits.cover_crop {
                all.extend([
                    ("cover", cover.kind.clone()),
                    ("cover_lb", maybe(cover.dry_lb_per_acre)),
                    ("cover_n", maybe(cover.n_pct)),
                ]);
                if !cover.incorporated {
                    all.push(("cover_surface", "yes".to_owned()));
                }
            }
            if let Some(past) = credits.past.first() {
                all.extend([
                    ("past", past.material.clone()),
                    ("past_lb", shown(past.lb_per_acre)),
                    ("past_years", past.years_ago.to_string()),
                ]);
            }
            if let Some(water) = &credits.irrigation {
                all.extend([
                    ("water_ppm", shown(water.no3n_ppm)),
                    ("water_in", shown(water.inches)),
                ]);
            }
        }
        Self(Fields(
            all.into_iter().map(|(k, v)| (k.to_owned(), v)).collect(),
        ))
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
        planting.yield_lb_per_acre = f.maybe_number("yield", "the yield in lb per acre")?;
        planting.target_ph = f.maybe_number("target_ph", "the target pH")?;
        planting.credits.cover_crop = match f.maybe("cover") {
            None => None,
            Some(kind) => Some(CoverCrop {
                kind: kind.to_owned(),
                dry_lb_per_acre: f.maybe_number("cover_lb", "the dry weight in lb per acre")?,
                n_pct: f.maybe_number("cover_n", "its nitrogen in percent")?,
                incorporated: !f.ticked("cover_surface"),
            }),
        };
        let mut past: Vec<PastSpread> = planting.credits.past.iter().skip(1).cloned().collect();
        if let Some(material) = f.maybe("past") {
            past.insert(
                0,
                PastSpread {
                    material: material.to_owned(),
                    lb_per_acre: f.positive("past_lb", "how much went on, in lb per acre")?,
                    years_ago: f
                        .maybe_of::<u8>("past_years", "a number of years, such as 1")?
                        .unwrap_or(1),
                },
            );
        }
        planting.credits.past = past;
        planting.credits.irrigation = match (
            f.maybe_number("water_ppm", "nitrate in the water in ppm")?,
            f.maybe_number("water_in", "irrigation in inches")?,
        ) {
            (Some(no3n_ppm), Some(inches)) => Some(Irrigation { no3n_ppm, inches }),
            (None, None) => None,
            _ => return Err("Nitrate in the water and inches of irrigation belong together: give both or neither.".to_owned()),
        };
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
    let covers = std::iter::once((String::new(), "none".to_owned())).chain(
        cover_crop_kinds()
            .iter()
            .map(|k| (k.key.clone(), k.name.clone())),
    );
    let pasts = std::iter::once((String::new(), "none".to_owned())).chain(
        material::materials()
            .iter()
            .filter(|m| matches!(m.kind, material::Kind::Compost | material::Kind::Manure))
            .map(|m| (m.id.clone(), m.name.clone())),
    );
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
                        (number("yield", "Expected yield", &t("yield"), "lb/acre"))
                        (number("target_ph", "Your own target pH", &t("target_ph"), ""))
                    }
                    details open[f.maybe("cover").is_some() || f.maybe("past").is_some() || f.maybe("water_ppm").is_some()] {
                        summary { "What it brings along: cover crop, earlier manure or compost, water" }
                        div.row {
                            (choice("cover", "Cover crop before it", covers, &t("cover")))
                            (number("cover_lb", "Dry weight, if weighed", &t("cover_lb"), "lb/acre"))
                            (number("cover_n", "Nitrogen, if tested", &t("cover_n"), "%"))
                        }
                        (tick("cover_surface", "It is left on the surface", f.ticked("cover_surface")))
                        div.row {
                            (choice("past", "Earlier compost or manure", pasts, &t("past")))
                            (number("past_lb", "How much", &t("past_lb"), "lb/acre"))
                            (number("past_years", "Years ago", &t("past_years"), ""))
                        }
                        div.row {
                            (number("water_ppm", "Nitrate nitrogen in the water", &t("water_ppm"), "ppm"))
                            (number("water_in", "Irrigation in the season", &t("water_in"), "in"))
                        }
                    }
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
