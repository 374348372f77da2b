use super::*;
use proptest::prelude::*;

fn request(ph: f64, target_ph: f64, texture: Texture) -> Request {
    Request {
        ph,
        target_ph,
        texture: Some(texture),
        organic_matter_pct: None,
        carbonate: Carbonate::Untested,
        blueberry: false,
    }
}

#[test]
fn shipped_tables_parse() {
    assert_eq!(load(), Ok(()));
    assert_eq!(tables().per_unit.len(), 8);
    assert_eq!(tables().steps.len(), 18);
}

#[test]
fn exact_at_every_printed_point() {
    for point in &tables().steps {
        for key in &point.textures {
            let texture = Texture::from_key(key).unwrap();
            let all = estimates(&request(point.from_ph, 4.5, texture)).unwrap();
            let ours = all.iter().find(|e| e.key == "michigan").unwrap();
            assert!((ours.lb_per_acre - point.lb_per_acre).abs() < 1e-9);
        }
    }
}

#[test]
fn table_textures_are_known() {
    for key in tables()
        .per_unit
        .iter()
        .flat_map(|r| &r.textures)
        .chain(tables().steps.iter().flat_map(|p| &p.textures))
    {
        assert!(key == RICH || Texture::from_key(key).is_some(), "{key}");
    }
}

#[test]
fn the_lowest_source_is_taken_and_the_range_shown() {
    let figure = requirement(&request(6.0, 5.0, Texture::Loam)).unwrap();
    let (low, high) = (figure.low.unwrap(), figure.high.unwrap());
    assert_eq!(figure.value, low);
    assert!(low < high);
    // Ontario 1,100 kg/ha = 981 lb; eXtension 2 lb/100 ft2 = 871 lb; Michigan 1,540 − 530 = 1,010 lb.
    assert!((low - 871.2).abs() < 0.1 && (high - 1010.0).abs() < 0.1);
    assert!(
        figure
            .cautions
            .iter()
            .any(|c| c.text.contains("catches fire"))
    );
}

#[test]
fn rich_sand_takes_the_rate_for_rich_soil() {
    let mut r = request(6.0, 5.0, Texture::Sand);
    let of = |r: &Request| {
        estimates(r)
            .unwrap()
            .into_iter()
            .find(|e| e.key == "extension_blueberry")
            .unwrap()
            .lb_per_acre
    };
    assert!((of(&r) - 435.6).abs() < 1e-6);
    r.organic_matter_pct = Some(3.0);
    assert!((of(&r) - 871.2).abs() < 1e-6);
}

#[test]
fn free_lime_and_untested_ground_are_refused() {
    let mut r = request(7.4, 6.5, Texture::Loam);
    assert!(matches!(requirement(&r), Err(SulfurError::Untested(_))));
    r.carbonate = Carbonate::Present;
    assert_eq!(requirement(&r), Err(SulfurError::FreeCarbonate));
    r.carbonate = Carbonate::Absent;
    assert!(matches!(requirement(&r), Err(SulfurError::NoTable { .. })));
    let mut low = request(6.5, 5.0, Texture::Loam);
    low.carbonate = Carbonate::Present;
    assert_eq!(requirement(&low), Err(SulfurError::FreeCarbonate));
    low.carbonate = Carbonate::Untested;
    low.texture = None;
    assert_eq!(requirement(&low), Err(SulfurError::NoTexture));
    low.ph = f64::NAN;
    assert!(matches!(requirement(&low), Err(SulfurError::BadValue(..))));
}

#[test]
fn at_the_target_it_is_zero_with_a_sentence() {
    let figure = requirement(&request(5.0, 5.0, Texture::Loam)).unwrap();
    assert_eq!(figure.value, 0.0);
    assert!(figure.working[0].what.contains("needs no sulfur"));
}

#[test]
fn one_percent_free_lime() {
    // 20,000 lb of lime in 2 million lb of soil, 3.122 lb lime per lb S: 6,406 lb.
    let figure = to_dissolve(1.0, 20.0 / 3.0).unwrap();
    assert!((figure.value - 6406.0).abs() < 1.0);
}

#[test]
fn doses_follow_the_limits() {
    let per_1000 = 43.56;
    assert_eq!(doses(30.0 * per_1000, Situation::Preplant).len(), 1);
    let big = doses(45.0 * per_1000, Situation::Preplant);
    assert!((big[0].lb_per_acre - 30.0 * per_1000).abs() < 1e-6);
    assert!((big[1].lb_per_acre - 15.0 * per_1000).abs() < 1e-6);
    assert_eq!(big[1].after_months, Some(3.0));
    let blueberry = doses(1.5 * 435.6, Situation::Blueberry);
    assert_eq!(blueberry.len(), 3);
    assert_eq!(blueberry[2].after_months, Some(24.0));
    assert!(
        doses(12.0 * per_1000, Situation::Standing)
            .iter()
            .all(|d| d.lb_per_acre <= 5.0 * per_1000 + 1e-6)
    );
}

proptest! {
    #[test]
    fn a_longer_way_down_never_needs_less_by_any_source(
        a in 4.5..7.0f64, b in 4.5..7.0f64, target in 4.5..6.5f64, t in 0usize..10,
    ) {
        let (low, high) = if a <= b { (a, b) } else { (b, a) };
        let texture = Texture::ALL[t];
        let near = estimates(&request(low, target, texture)).unwrap();
        for far in estimates(&request(high, target, texture)).unwrap() {
            if let Some(n) = near.iter().find(|e| e.key == far.key) {
                prop_assert!(far.lb_per_acre >= n.lb_per_acre - 1e-9);
            }
        }
    }
}

#[test]
fn other_acidifiers_follow_their_chemistry() {
    let lb = |key| equivalent(key, 1.0, 100.0).unwrap().value;
    assert!((lb("sulfur") - 1.0).abs() < 1e-12);
    assert!((lb("aluminium_sulfate") - 6.93).abs() < 0.01);
    assert!((lb("aluminium_sulfate_14") - 6.18).abs() < 0.01);
    assert!((lb("iron_sulfate") - 8.67).abs() < 0.01);
    let iron = equivalent("iron_sulfate", 10.0, 50.0).unwrap();
    assert!((iron.value - 173.4).abs() < 0.1 && (iron.low.unwrap() - 160.0).abs() < 1e-9);
    let said = |key: &str, text: &str| {
        equivalent(key, 1.0, 100.0)
            .unwrap()
            .cautions
            .iter()
            .any(|c| c.text.contains(text))
    };
    assert!(said("aluminium_sulfate", "toxic to roots"));
    assert!(said("ammonium_sulfate", "ceiling"));
    assert!(said("sulfur", "catches fire") && !said("iron_sulfate", "catches fire"));
    assert!(equivalent("vinegar", 1.0, 100.0).is_err());
    assert!(equivalent("sulfur", 1.0, 0.0).is_err());
    assert!(equivalent("sulfur", f64::NAN, 100.0).is_err());
}

#[test]
fn cec_stands_for_the_coarser_texture() {
    let texture = |cec| texture_from_cec(cec).unwrap().0;
    assert_eq!(texture(4.0), Texture::LoamySand);
    assert_eq!(texture(5.5), Texture::LoamySand);
    assert_eq!(texture(7.0), Texture::SandyLoam);
    assert_eq!(texture(12.0), Texture::Loam);
    assert_eq!(texture(15.0), Texture::ClayLoam);
    assert!(matches!(
        texture_from_cec(18.0),
        Err(SulfurError::Cec { .. })
    ));
}

#[test]
fn sulfur_is_reckoned_with_up_to_a_year() {
    let figure = time_to_act().unwrap();
    assert_eq!((figure.low, figure.value), (Some(3.0), 12.0));
}

#[test]
fn one_source_alone_keeps_the_refusals_and_the_range() {
    let r = request(6.0, 5.0, Texture::Loam);
    let own = by_source(&r, "michigan").unwrap();
    assert!((own.value - 1010.0).abs() < 1e-9);
    assert!(own.low.unwrap() < own.value);
    let mut fizzing = r.clone();
    fizzing.carbonate = Carbonate::Present;
    assert_eq!(
        by_source(&fizzing, "michigan"),
        Err(SulfurError::FreeCarbonate)
    );
    let e = by_source(&r, "nobody").unwrap_err().to_string();
    assert!(e.contains("ontario"), "{e}");
}
