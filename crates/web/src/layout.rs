//! What stands around every page: the farm’s name, the year as a line, the footer.

use farmbook::Farm;
use maud::{DOCTYPE, Markup, html};

/// The steps of the year, in order, with their addresses.
pub(crate) const YEAR: [(&str, &str); 9] = [
    ("Ground", "/ground"),
    ("Sampling", "/sampling"),
    ("Lab", "/lab"),
    ("Reading", "/reading"),
    ("Plan", "/plan"),
    ("Order", "/order"),
    ("Jobs", "/jobs"),
    ("Log", "/log"),
    ("Years", "/years"),
];

fn head(title: &str, scripts: &[&str]) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width,initial-scale=1";
            title { (title) }
            link rel="icon" href="/static/mark.svg";
            link rel="stylesheet" href="/static/look.css";
            @for name in scripts {
                script type="module" src={ "/static/" (name) } {}
            }
        }
    }
}

/// A page of the farm. `step` is the step of the year it belongs to; empty for the others.
pub(crate) fn page(farm: &Farm, step: &str, title: &str, body: &Markup) -> Markup {
    page_with(&[], farm, step, title, body)
}

/// A page that scripts of `assets/scripts/` add to; it must serve without them.
pub(crate) fn page_with(
    scripts: &[&str],
    farm: &Farm,
    step: &str,
    title: &str,
    body: &Markup,
) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{title} · {}", farm.name), scripts))
            body {
                a.skip href="#main" { "To the content" }
                header.top {
                    a.farm href="/now" { (farm.name) " " span.meta { (farm.season) } }
                    nav.year aria-label="The year" {
                        ol {
                            @for (name, address) in YEAR {
                                li {
                                    @if name == step {
                                        a href=(address) aria-current="page" { (name) }
                                    } @else {
                                        a href=(address) { (name) }
                                    }
                                }
                            }
                        }
                    }
                }
                main id="main" { (body) }
                footer {
                    p {
                        a href="/materials" { "Materials" } " · "
                        a href="/farm" { "The farm" } " · "
                        a href="/changes" { "Changes and undo" } " · "
                        a href="/book" { "Take the book along" } " · "
                        a href="/phones" { "Phones" }
                    }
                    p { "Follow the label, local rules and a licensed adviser: they stand above anything written here." }
                }
            }
        }
    }
}

/// A page without the farm, for when it cannot be read.
pub(crate) fn bare(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(title, &[]))
            body {
                header.top { a.farm href="/" { "Spadework" } }
                main.wide id="main" { (body) }
            }
        }
    }
}

/// A button that prints the page; it stands on pages that bring in `print.js`, and shows with script.
pub(crate) fn print_button() -> Markup {
    html! { button.btn.q type="button" data-print hidden { "Print this page" } }
}

/// A sentence on top of a page after something was done.
pub(crate) fn said(text: Option<&str>) -> Markup {
    html! {
        @if let Some(text) = text {
            p.said role="status" { (text) }
        }
    }
}

/// A sentence on top of a form that did not fit.
pub(crate) fn wrong(text: Option<&str>) -> Markup {
    html! {
        @if let Some(text) = text {
            p.wrong role="alert" { (text) }
        }
    }
}
