//! What the ground brings along for the next crop: the part of a block’s form about nitrogen credits.

use super::form::{maybe, shown};
use crate::fields::Fields;
use crate::parts::choose::{choice, number, tick};
use agronomy::material;
use agronomy::nitrogen::{cover_crop_kinds, previous_crops, residues};
use farmbook::{CoverCrop, Credits, Irrigation, PastSpread, Residue};
use maud::{Markup, html};

/// Earlier spreadings that the form shows; more are kept as they are.
const PASTS: usize = 3;

fn past_key(at: usize, what: &str) -> String {
    if at == 0 {
        format!("past{what}")
    } else {
        format!("past{}{what}", at + 1)
    }
}

/// The credits as the form shows them.
pub(super) fn drafted(credits: &Credits) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = Vec::new();
    let mut put = |key: &str, value: String| all.push((key.to_owned(), value));
    if let Some(cover) = &credits.cover_crop {
        put("cover", cover.kind.clone());
        put("cover_lb", maybe(cover.dry_lb_per_acre));
        put("cover_n", maybe(cover.n_pct));
        if !cover.incorporated {
            put("cover_surface", "yes".to_owned());
        }
    }
    for (at, past) in credits.past.iter().take(PASTS).enumerate() {
        put(&past_key(at, ""), past.material.clone());
        put(&past_key(at, "_lb"), shown(past.lb_per_acre));
        put(&past_key(at, "_years"), past.years_ago.to_string());
    }
    if let Some(before) = &credits.previous {
        put("previous", before.clone());
    }
    if let Some(left) = &credits.residue {
        put(
            "residue",
            residue_key(&left.crop, left.part.as_deref().unwrap_or_default()),
        );
        if left.taken_off {
            put("residue_off", "yes".to_owned());
        }
    }
    if let Some(water) = &credits.irrigation {
        put("water_ppm", shown(water.no3n_ppm));
        put("water_in", shown(water.inches));
    }
    if let Some(ppm) = credits.nitrate {
        put("nitrate", quantity::plain(ppm, 5).replace(',', ""));
    }
    all
}

fn residue_key(crop: &str, part: &str) -> String {
    format!("{crop}:{part}")
}

/// Takes the credits as typed; what the form does not show is kept.
///
/// # Errors
/// A sentence about the first field that does not fit.
pub(super) fn read(f: &Fields, credits: &mut Credits) -> Result<(), String> {
    credits.cover_crop = match f.maybe("cover") {
        None => None,
        Some(kind) => Some(CoverCrop {
            kind: kind.to_owned(),
            dry_lb_per_acre: f.maybe_number("cover_lb", "the dry weight in lb per acre")?,
            n_pct: f.maybe_number("cover_n", "its nitrogen in percent")?,
            incorporated: !f.ticked("cover_surface"),
        }),
    };
    let unseen: Vec<PastSpread> = credits.past.iter().skip(PASTS).cloned().collect();
    let mut past = Vec::new();
    for at in 0..PASTS {
        let Some(material) = f.maybe(&past_key(at, "")) else {
            continue;
        };
        past.push(PastSpread {
            material: material.to_owned(),
            lb_per_acre: f.positive(&past_key(at, "_lb"), "how much went on, in lb per acre")?,
            years_ago: f
                .maybe_of::<u8>(&past_key(at, "_years"), "a number of years, such as 1")?
                .unwrap_or(1),
        });
    }
    past.extend(unseen);
    credits.past = past;
    credits.previous = f.maybe("previous").map(str::to_owned);
    credits.residue = f.maybe("residue").map(|key| {
        let (crop, part) = key.split_once(':').unwrap_or((key, ""));
        Residue {
            crop: crop.to_owned(),
            part: Some(part.to_owned()).filter(|p| !p.is_empty()),
            taken_off: f.ticked("residue_off"),
        }
    });
    credits.irrigation = match (
        f.maybe_number("water_ppm", "nitrate in the water in ppm")?,
        f.maybe_number("water_in", "irrigation in inches")?,
    ) {
        (Some(no3n_ppm), Some(inches)) => Some(Irrigation { no3n_ppm, inches }),
        (None, None) => None,
        _ => return Err(
            "Nitrate in the water and inches of irrigation belong together: give both or neither."
                .to_owned(),
        ),
    };
    credits.nitrate = f.maybe_number("nitrate", "the nitrate test in ppm")?;
    Ok(())
}

/// The fields, folded away while nothing stands in them.
pub(super) fn fields(f: &Fields) -> Markup {
    let t = |key: &str| f.text(key).to_owned();
    let none = || std::iter::once((String::new(), "none".to_owned()));
    let covers = none().chain(
        cover_crop_kinds()
            .iter()
            .map(|k| (k.key.clone(), k.name.clone())),
    );
    let pasts: Vec<(String, String)> = none()
        .chain(
            material::materials()
                .iter()
                .filter(|m| matches!(m.kind, material::Kind::Compost | material::Kind::Manure))
                .map(|m| (m.id.clone(), m.name.clone())),
        )
        .collect();
    let mut before: Vec<(String, String)> = Vec::new();
    for of in previous_crops() {
        if !before.iter().any(|(key, _)| *key == of.key) {
            before.push((of.key.clone(), of.name.clone()));
        }
    }
    let left =
        none().chain(residues().map(|r| (residue_key(r.crop, r.part), r.printed.to_owned())));
    let open = [
        "cover",
        "past",
        "previous",
        "residue",
        "water_ppm",
        "nitrate",
    ];
    html! {
        details open[open.iter().any(|key| f.maybe(key).is_some())] {
            summary { "What it brings along: cover crop, last crop, earlier manure or compost, water, a nitrate test" }
            div.row {
                (choice("cover", "Cover crop before it", covers, &t("cover")))
                (number("cover_lb", "Dry weight, if weighed", &t("cover_lb"), "lb/acre"))
                (number("cover_n", "Nitrogen, if tested", &t("cover_n"), "%"))
            }
            (tick("cover_surface", "It is left on the surface", f.ticked("cover_surface")))
            div.row {
                (choice("previous", "Last year’s main crop", none().chain(before), &t("previous")))
                (choice("residue", "Residues of a crop of this same year", left, &t("residue")))
            }
            (tick("residue_off", "Its whole plants were taken off", f.ticked("residue_off")))
            @for at in 0..PASTS {
                div.row {
                    (choice(&past_key(at, ""), if at == 0 { "Earlier compost or manure" } else { "And before that" }, pasts.iter().map(|(k, w)| (k, w)), &t(&past_key(at, ""))))
                    (number(&past_key(at, "_lb"), "How much", &t(&past_key(at, "_lb")), "lb/acre"))
                    (number(&past_key(at, "_years"), "Years ago", &t(&past_key(at, "_years")), ""))
                }
            }
            div.row {
                (number("water_ppm", "Nitrate nitrogen in the water", &t("water_ppm"), "ppm"))
                (number("water_in", "Irrigation in the season", &t("water_in"), "in"))
            }
            (number("nitrate", "Nitrate test just before sidedressing, top 12 inches", &t("nitrate"), "ppm nitrate nitrogen"))
            p.meta { "With this test the plan asks for what is still to be sidedressed; rate and credits of the winter step back." }
        }
    }
}
