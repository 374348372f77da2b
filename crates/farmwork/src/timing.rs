//! When things go on, and what must not meet.

use crate::raw_manure::Wait;
use agronomy::crop::Crop;
use agronomy::material::{Ground, Kind, Material};
use agronomy::working::{Caution, Evidence, Source};
use farmbook::{BlockKind, Planting};

/// What stands on a block when it is spread.
pub(crate) fn ground(kind: BlockKind) -> Ground {
    match kind {
        BlockKind::Field => Ground::Open,
        BlockKind::Tunnel | BlockKind::RaisedBed => Ground::Beds,
        BlockKind::Perennial => Ground::Standing,
    }
}

/// When a material goes on the ground of this planting, in words.
///
/// Raw manure goes by the harvest (7 CFR 205.203(c)(1)), everything else by its own passes.
pub(crate) fn when(
    material: &Material,
    kind: BlockKind,
    planting: Option<&Planting>,
    crop: Option<&Crop>,
) -> String {
    if !material.raw_manure {
        return material.when_on(ground(kind));
    }
    let wait = Wait::of(crop);
    let days = wait.days;
    if days == 0 {
        return material.when_on(ground(kind));
    }
    let by = planting
        .and_then(|p| p.harvest_on)
        .and_then(|harvest| wait.last_day(harvest));
    match by {
        Some(day) => format!("worked in by {day}, {days} days before the harvest"),
        None => format!("worked in at least {days} days before the first harvest"),
    }
}

fn gives_ammonia(of: &Material) -> bool {
    of.analysis.n.is_some_and(|n| n > 0.0)
        && (matches!(of.kind, Kind::Synthetic | Kind::Manure) || of.id == "litter_pellet")
}

/// Whether a material is lime, or one that loses ammonia to lime.
pub(crate) fn meets_ammonia(of: &Material) -> bool {
    of.kind == Kind::Lime || gives_ammonia(of)
}

/// What must be kept apart among the materials of one block.
pub(crate) fn apart(materials: &[Material]) -> Vec<Caution> {
    let lime: Vec<&Material> = materials.iter().filter(|m| m.kind == Kind::Lime).collect();
    let ammonia: Vec<String> = materials
        .iter()
        .filter(|m| gives_ammonia(m))
        .map(|m| m.name.to_lowercase())
        .collect();
    if lime.is_empty() || ammonia.is_empty() {
        return Vec::new();
    }
    vec![Caution {
        text: format!(
            "Never spread lime together with {}: ammonia is lost to the air. Lime first and work it in; the other about three months later, or as long after as the season allows.",
            crate::words::and(&ammonia)
        ),
        source: Source::new(
            "US Peace Corps, Soils, Crops and Fertilizer Use (never blend, separate in time); three months after the Irish advice on urea and slurry, read in a copy",
            Evidence::Secondary,
        ),
    }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use agronomy::{crop, material};
    use jiff::civil::date;

    #[test]
    fn raw_manure_waits_for_the_crop() {
        let manure = material::find("manure_dairy").unwrap();
        let lettuce = crop::find("lettuce_head").unwrap();
        let corn = crop::find("sweet_corn").unwrap();
        assert!(when(manure, BlockKind::Field, None, Some(lettuce)).contains("120 days"));
        assert!(when(manure, BlockKind::Field, None, Some(corn)).contains("90 days"));
        assert!(when(manure, BlockKind::Field, None, None).contains("120 days"));
        let mut planting = Planting::new(1, 2027, "lettuce_head");
        planting.harvest_on = Some(date(2027, 6, 29));
        // Published pack example: worked in on 1 March, harvest from 29 June at 120 days.
        assert!(
            when(manure, BlockKind::Field, Some(&planting), Some(lettuce)).contains("2027-03-01")
        );
        assert!(
            !when(
                material::find("urea").unwrap(),
                BlockKind::Field,
                None,
                None
            )
            .contains("days")
        );
    }

    #[test]
    fn lime_and_ammonia_are_kept_apart() {
        let of = |id: &str| material::find(id).unwrap().clone();
        assert_eq!(apart(&[of("lime_calcitic"), of("urea")]).len(), 1);
        assert!(apart(&[of("lime_calcitic"), of("feather_meal")]).is_empty());
        assert!(apart(&[of("urea"), of("k_sulfate")]).is_empty());
    }
}
