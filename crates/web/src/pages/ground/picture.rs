//! A photo or scan under the sheet.

use crate::ask::Parcel;
use crate::error::Page;
use crate::fields::Fields;
use crate::state::App;
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use farmbook::{Book, PicturePlace};
use farmwork::{drawing, map_picture};
use ground::Frame;
use quantity::Length;
use serde::Deserialize;

pub(crate) async fn show(State(app): State<App>) -> Result<Response, Page> {
    let bytes = app.with(|book| Ok(book.picture_bytes()?)).await?;
    let missing = || Page::Missing("No picture lies under the sheet.".to_owned());
    let bytes = bytes.ok_or_else(missing)?;
    let kind = map_picture::kind(&bytes).ok_or_else(missing)?;
    Ok(([(header::CONTENT_TYPE, kind)], bytes).into_response())
}

pub(crate) async fn load(
    State(app): State<App>,
    Parcel(mut form): Parcel,
) -> Result<Response, Page> {
    let unfit = |_| {
        Page::TooLarge(
            "The picture is larger than 20 MB or did not arrive whole; nothing was kept."
                .to_owned(),
        )
    };
    let mut file = None;
    let mut fields = Fields::default();
    while let Some(part) = form.next_field().await.map_err(unfit)? {
        let key = part.name().unwrap_or_default().to_owned();
        if key == "picture" {
            let name = part.file_name().unwrap_or_default().to_owned();
            file = Some((name, part.bytes().await.map_err(unfit)?));
        } else {
            let bytes = part.bytes().await.map_err(unfit)?;
            fields
                .0
                .push((key, String::from_utf8_lossy(&bytes).into_owned()));
        }
    }
    app.with(move |book| {
        if fields.text("do") == "remove" {
            book.remove_picture()?;
            return Err(Page::Go("/ground/diagram".to_owned()));
        }
        let chosen = file.filter(|(name, _)| !name.is_empty());
        let pixels = match (&chosen, book.picture()?) {
            (Some((_, bytes)), _) => map_picture::pixels(bytes)?,
            (None, Some(held)) => held.place.pixels,
            (None, None) => return Err(Page::sentence("No picture was chosen.")),
        };
        let place = place(book, &fields, pixels)?;
        match chosen {
            Some((name, bytes)) => book.set_picture(&short(&name), &bytes, &place)?,
            None => book.place_picture(&place)?,
        }
        Err(Page::Go("/ground/draw".to_owned()))
    })
    .await
}

/// The end of a file’s name, which tells more than its beginning.
fn short(name: &str) -> String {
    let clean: Vec<char> = name.chars().filter(|c| !c.is_control()).collect();
    clean[clean.len().saturating_sub(80)..].iter().collect()
}

fn place(book: &Book, f: &Fields, pixels: [u32; 2]) -> Result<PicturePlace, Page> {
    let frame = drawing::frame(book)?;
    if f.maybe("width").is_some() {
        let width = f
            .positive("width", "how wide it is")
            .map_err(Page::Sentence)?;
        return Ok(map_picture::by_width(
            frame,
            pixels,
            Length::feet(width).si(),
        ));
    }
    let known = |at: &str| -> Result<map_picture::Known, String> {
        let number = |key: &str, what: &str| f.number(&format!("{key}{at}"), what);
        let feet = |key: &str, what: &str| number(key, what).map(|v| Length::feet(v).si());
        Ok((
            [
                number(
                    "across",
                    "how many points from the left, or how wide the picture is",
                )?,
                number("down", "how many points from above")?,
            ],
            [
                feet("east", "how far east it lies")?,
                feet("north", "how far north it lies")?,
            ],
        ))
    };
    let both = [
        known("1").map_err(Page::Sentence)?,
        known("2").map_err(Page::Sentence)?,
    ];
    Ok(map_picture::by_places(frame, pixels, &both)?.0)
}

/// Places of the picture on the sheet and what is asked of them: where each lies, or how far the first
/// two are from each other.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Fit {
    frame: Frame,
    /// How it lies now.
    held: PicturePlace,
    /// Points from the left and from above, and metres east and north.
    places: Vec<([f64; 2], Option<[f64; 2]>)>,
    /// Metres between the first two places.
    #[serde(default)]
    distance: Option<f64>,
}

fn fitted(fit: &Fit) -> farmwork::Result<(PicturePlace, f64)> {
    let known: Vec<map_picture::Known> = fit
        .places
        .iter()
        .filter_map(|(point, ground)| Some((*point, (*ground)?)))
        .collect();
    let held = PicturePlace {
        frame: fit.frame,
        ..fit.held
    };
    match (fit.distance, fit.places.as_slice()) {
        (Some(metres), [(from, _), (to, _), ..]) if known.len() < 2 => {
            let stretched = map_picture::by_distance(&held, [*from, *to], metres)?;
            Ok((stretched, 0.0))
        }
        _ => map_picture::by_places(fit.frame, held.pixels, &known),
    }
}

/// Where the picture would lie by its places; nothing is kept.
pub(crate) async fn fit(body: Result<Bytes, BytesRejection>) -> Response {
    let asked = body
        .ok()
        .and_then(|b| serde_json::from_slice::<Fit>(&b).ok());
    let Some(asked) = asked else {
        return super::draw::told(
            StatusCode::UNPROCESSABLE_ENTITY,
            "The places did not arrive as the page sends them; open the page again.",
        );
    };
    match fitted(&asked) {
        Ok((place, worst)) => super::draw::json(
            StatusCode::OK,
            serde_json::json!({ "place": place, "worst": worst }).to_string(),
        ),
        Err(why) => super::draw::told(StatusCode::UNPROCESSABLE_ENTITY, &why.to_string()),
    }
}
