use crate::Result;
use crate::job_sheet::own_bucket;
use crate::supply;
use agronomy::material::{self, Material};
use agronomy::working::Figure;
use farmbook::{Book, Bucket};
use jiff::civil::Date;
use serde::Serialize;

/// What the crew’s bucket holds of a material when it is full.
#[derive(Debug, Clone, Serialize)]
pub struct FullBucket {
    /// Key of the material table.
    pub material: String,
    pub name: String,
    pub gallons: f64,
    /// lb, measured or by the published density; none where neither is known.
    pub lb: Option<f64>,
    /// As it was weighed, in a bucket of any size.
    pub weighed: Option<Bucket>,
    /// By the published density.
    pub published: Option<Figure>,
}

impl FullBucket {
    /// The day it was weighed, if that is known.
    pub fn measured_on(&self) -> Option<Date> {
        self.weighed.as_ref()?.measured_on
    }
}

/// What a full bucket weighed on the crew’s scale, lb, for buckets of any size.
fn weighed_lb(all: &[Bucket], material: &str, gallons: f64) -> Option<f64> {
    let b = all.iter().find(|b| b.material == material)?;
    Some(b.weight?.to_pounds() / b.gallons * gallons)
}

/// What a full bucket holds, lb: as it was weighed, else by the published density; none where neither is
/// known.
pub(crate) fn full_lb(weighed: &[Bucket], of: &Material, gallons: f64) -> Option<f64> {
    weighed_lb(weighed, &of.id, gallons)
        .or_else(|| material::bucket_lb_of(of, gallons).map(|f| f.value))
}

/// The crew’s bucket full of each material that plans may use, or that was weighed, by name.
///
/// # Errors
/// The book’s own.
pub fn full_buckets(book: &Book) -> Result<Vec<FullBucket>> {
    let gallons = own_bucket(book)?;
    let weighed = book.buckets()?;
    let mut keys: Vec<String> = supply::chosen(book)?
        .into_iter()
        .map(|c| c.material.id)
        .collect();
    keys.extend(
        weighed
            .iter()
            .filter(|b| b.weight.is_some())
            .map(|b| b.material.clone()),
    );
    keys.sort();
    keys.dedup();
    let mut out: Vec<FullBucket> = keys
        .into_iter()
        .filter_map(|key| {
            let of = material::find(&key)?;
            Some(FullBucket {
                name: of.name.clone(),
                gallons,
                lb: full_lb(&weighed, of, gallons),
                weighed: weighed.iter().find(|b| b.material == key).cloned(),
                published: material::bucket_lb_of(of, gallons),
                material: key,
            })
        })
        .collect();
    out.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(out)
}
