//! The small map that shows where the block of a job lies.

use farmwork::job_map::{JobMap, MapWords};
use maud::{Markup, PreEscaped, html};
use quantity::plain;

/// Inline, so that a page that is kept on a phone has it without a signal.
pub(crate) fn picture(map: &JobMap) -> Markup {
    let svg = map.svg(&MapWords {
        mark: &|kind| kind.name().to_owned(),
        feet: &|n| format!("{} ft", plain(n, 5)),
        said: &map.says(),
    });
    html! {
        figure.job-map {
            (PreEscaped(svg))
            figcaption.meta {
                "Black: this block."
                @if map.has_strip() { " White with a broken edge: gets none." }
            }
        }
    }
}
