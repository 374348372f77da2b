//! The pages for the browser: server-rendered, working without script, on loopback until the grower lets
//! phones in.
//!
//! Routes read as a table in [`routes`]; every page is a function of the book; every form is checked
//! before anything is written and comes back with a sentence when it does not fit.

mod ask;
mod at_hand;
mod drain;
mod error;
mod fields;
mod files;
mod guard;
mod layout;
mod network;
mod pages;
mod parts;
mod search;
mod state;

pub use network::{NETWORK_PORT, OpenAt};
pub use state::App;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware;
use axum::routing::{get, post};
use std::net::SocketAddr;
use tokio::net::TcpListener;

/// The most that a form may carry, bytes; a lab’s file has its own limit.
const FORM_LIMIT: usize = 256 * 1024;
/// The most that a drawing may carry, bytes.
const DRAWING_LIMIT: usize = 8 * 1024 * 1024;
/// The most that a lab’s file may carry, bytes, with a little for the form around it.
const FILE_LIMIT: usize = 20 * 1024 * 1024 + 64 * 1024;

/// Every page and form, as this computer’s own browser reaches them.
pub fn routes(app: App) -> Router {
    every_page(app)
        .layer(middleware::from_fn(guard::from_here))
        .layer(middleware::from_fn(drain::drain))
}

/// Every page and form, without what stands before them.
fn every_page(app: App) -> Router {
    use pages::{
        adviser, book, calendar, changes, compare, compost, costs, farm, ground, jobs, lab, log,
        materials, now, nutrient_plan, order, phones, plan, reading, record, sampling, spreaders,
        stock, suppliers, typing, wait, years,
    };
    let upload = Router::new()
        .route("/lab", post(lab::load))
        .route("/ground/diagram", post(ground::diagram::load))
        .route("/stock", post(stock::came))
        .route("/stock/delivery/{id}", post(stock::correct_delivery))
        .route("/ground/picture", post(ground::picture::load))
        .layer(DefaultBodyLimit::max(FILE_LIMIT));
    let drawing = Router::new()
        .route("/ground/draw/keep", post(ground::draw::keep))
        .route("/ground/draw/cut", post(ground::draw::cut))
        .route("/ground/draw/join", post(ground::draw::join))
        .route("/ground/picture/fit", post(ground::picture::fit))
        .layer(DefaultBodyLimit::max(DRAWING_LIMIT));
    let beside = Router::new()
        .route("/book/beside", post(book::beside))
        .layer(DefaultBodyLimit::max(book::MOST_BYTES));
    Router::new()
        .route("/", get(now::first))
        .route("/now", get(now::show))
        .route("/farm", get(farm::show).post(farm::change))
        .route("/ground", get(ground::list).post(ground::add))
        .route("/ground/new", get(ground::blank))
        .route("/ground/diagram", get(ground::diagram::show))
        .route(
            "/ground/draw",
            get(ground::draw::show).post(ground::draw::add),
        )
        .route("/ground/draw/sheet", get(ground::draw::sheet))
        .route("/ground/picture", get(ground::picture::show))
        .route("/ground/place", post(ground::draw::place))
        .route("/ground/map.pdf", get(ground::diagram::pdf))
        .route("/ground/outlines.geojson", get(ground::diagram::file))
        .route(
            "/ground/setbacks",
            get(ground::setbacks::show).post(ground::setbacks::keep),
        )
        .route(
            "/ground/warmth",
            get(ground::warmth::show).post(ground::warmth::keep),
        )
        .route("/ground/parcel/{id}", get(ground::parcel::show))
        .route("/ground/parcel/{id}/beds", post(ground::parcel::set_beds))
        .route("/ground/parcel/{id}/spots", post(ground::parcel::set_spots))
        .route("/ground/parcel/{id}/split", post(ground::parcel::split))
        .route("/ground/parcel/{id}/merge", post(ground::parcel::merge))
        .route("/ground/walk/{id}", get(ground::walk::show))
        .route("/ground/walk/{id}/cores.gpx", get(ground::walk::gpx))
        .route("/ground/walk/{id}/area", post(ground::diagram::area))
        .route(
            "/ground/walk/{id}/drop",
            post(ground::diagram::drop_outline),
        )
        .route("/ground/{id}", get(ground::show).post(ground::change))
        .route("/ground/{id}/remove", post(ground::remove))
        .route("/sampling", get(sampling::show).post(sampling::make))
        .route("/sampling/fees", post(sampling::keep_fees))
        .route(
            "/sampling/boxes",
            get(sampling::boxes::list).post(sampling::boxes::keep),
        )
        .route("/sampling/labels.pdf", get(sampling::paper::labels))
        .route("/sampling/walks.pdf", get(sampling::paper::walks))
        .route("/sampling/box/{id}", get(sampling::one_box::show))
        .route("/sampling/box/{id}/core", post(sampling::one_box::tick))
        .route("/sampling/box/{id}/step", post(sampling::one_box::step))
        .route(
            "/sampling/{id}",
            get(sampling::block::show).post(sampling::block::keep),
        )
        .route("/lab", get(lab::list))
        .route("/lab/type", get(typing::blank).post(typing::keep))
        .route("/lab/paste", post(lab::paste))
        .route("/lab/boxes", get(sampling::boxes::moved))
        .route("/lab/{id}", get(lab::show))
        .route("/lab/{id}/read", post(lab::read))
        .route("/lab/{id}/match", post(lab::place))
        .route("/lab/{id}/settle", post(lab::doubt::settle))
        .route("/lab/{id}/unsettle", post(lab::doubt::unsettle))
        .route("/lab/{id}/remove", post(lab::remove))
        .route("/lab/{id}/file", get(lab::file))
        .route("/lab/{id}/cut", get(lab::doubt::cut))
        .route("/lab/{id}/results/{form}", get(lab::results))
        .route("/reading", get(reading::list))
        .route("/reading/{id}", get(reading::show))
        .route("/reading/{id}/compare", get(compare::show))
        .route("/materials", get(materials::list).post(materials::ticks))
        .route("/materials/usual", post(materials::usual))
        .route(
            "/materials/{id}",
            get(materials::show).post(materials::change),
        )
        .route(
            "/materials/{id}/made",
            get(compost::show).post(compost::keep),
        )
        .route("/suppliers", get(suppliers::list).post(suppliers::add))
        .route(
            "/suppliers/{id}",
            get(suppliers::show).post(suppliers::change),
        )
        .route("/suppliers/{id}/remove", post(suppliers::remove))
        .route("/plan", get(plan::show).post(plan::make))
        .route("/plan/how", get(plan::how).post(plan::change_how))
        .route("/plan/offers", get(plan::offers).post(plan::find_offers))
        .route("/plan/choose", post(plan::choose))
        .route("/plan/give-way", post(plan::give_way))
        .route("/plan/limits", get(plan::limits).post(plan::find_limits))
        .route(
            "/plan/left-out",
            get(plan::left_out).post(plan::find_left_out),
        )
        .route("/plan/compare", get(plan::compare))
        .route("/plan/years", get(plan::years))
        .route("/plan/{id}", get(plan::block).post(plan::hold))
        .route("/order", get(order::show))
        .route("/order/place", post(order::place))
        .route("/order/close/{id}", post(order::close))
        .route("/stock", get(stock::show))
        .route("/stock/count", post(stock::count))
        .route("/stock/delivery/{id}", get(stock::one_delivery))
        .route(
            "/stock/counted/{id}",
            get(stock::one_count).post(stock::correct_count),
        )
        .route("/stock/paper/{id}", get(stock::paper))
        .route("/wait", get(wait::show))
        .route("/wait/end", post(wait::end))
        .route("/order.pdf", get(order::pdf))
        .route("/calendar", get(calendar::show))
        .route("/calendar.ics", get(calendar::file))
        .route("/jobs", get(jobs::list))
        .route("/jobs/{id}", get(jobs::show))
        .route("/jobs.pdf", get(jobs::pdf))
        .route("/job-sheets.pdf", get(jobs::crew_pdf))
        .route("/spreaders", get(spreaders::show).post(spreaders::keep))
        .route("/spreaders/bucket", post(spreaders::keep_bucket))
        .route("/spreaders/bucket/forget", post(spreaders::forget_bucket))
        .route(
            "/spreaders/{id}",
            get(spreaders::walk).post(spreaders::change),
        )
        .route("/spreaders/{id}/forget", post(spreaders::forget))
        .route("/years", get(years::list))
        .route("/years/{id}", get(years::show))
        .route("/years/{id}/taught", post(years::decide))
        .route("/years/{id}/sheet.pdf", get(years::pdf))
        .route("/log", get(log::list).post(log::keep))
        .route("/log/new", get(log::blank))
        .route("/log/harvest", post(log::keep_harvest))
        .route(
            "/log/harvest/{id}",
            get(log::one_harvest).post(log::correct_harvest),
        )
        .route("/adviser", get(adviser::list))
        .route("/adviser/{id}", get(adviser::show))
        .route("/adviser.pdf", get(adviser::pdf))
        .route("/nutrient-plan", get(nutrient_plan::show))
        .route("/nutrient-plan.pdf", get(nutrient_plan::pdf))
        .route("/record", get(record::show))
        .route("/record/{name}", get(record::file))
        .route("/record.pdf", get(record::pdf))
        .route("/costs", get(costs::show))
        .route("/costs/{name}", get(costs::file))
        .route("/book", get(book::show))
        .route("/book/farm.zip", get(book::zip))
        .route("/changes", get(changes::list))
        .route("/changes/undo", post(changes::undo))
        .route("/phones", get(phones::show).post(phones::set))
        .route("/phones/open", post(phones::open))
        .route("/phones/close", post(phones::close))
        .route("/phones/leave", post(phones::leave))
        .route("/phones/certificate", get(phones::certificate))
        .route("/phones/{id}/out", post(phones::out))
        .route("/sign-in", get(phones::sign_in).post(phones::come_in))
        .route("/worker.js", get(files::worker))
        .route("/static/{name}", get(files::serve))
        .fallback(error::not_found)
        .method_not_allowed_fallback(error::go_up)
        .layer(DefaultBodyLimit::max(FORM_LIMIT))
        .merge(upload)
        .merge(drawing)
        .merge(beside)
        .layer(tower_http::compression::CompressionLayer::new())
        .with_state(app)
}

/// Opens the pages to phones on the network, until the program stops.
///
/// # Errors
/// In a sentence: no password is set, or the port is taken.
pub async fn let_phones_in(app: &App) -> Result<OpenAt, String> {
    let opened = network::open(app, pages::log::today()).await;
    opened.map_err(error::Page::says)
}

/// Serves the pages until a stop signal; `ready` is told the address.
///
/// # Errors
/// The address is not loopback or cannot be bound.
pub async fn serve(
    app: App,
    address: SocketAddr,
    ready: impl FnOnce(SocketAddr),
) -> std::io::Result<()> {
    if !address.ip().is_loopback() {
        return Err(std::io::Error::other(
            "without a password the pages are served on this computer only (127.0.0.1)",
        ));
    }
    let listener = TcpListener::bind(address).await?;
    ready(listener.local_addr()?);
    axum::serve(listener, routes(app))
        .with_graceful_shutdown(async {
            let _ = tokio::signal::ctrl_c().await;
        })
        .await
}
