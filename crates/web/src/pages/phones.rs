//! Letting phones in, and how a phone comes in.

use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{bare, page, said, wrong};
use crate::network::entry::{COOKIE, device};
use crate::network::{self, FromNetwork, OpenAt, Peer, at_door, only_here};
use crate::pages::log::today;
use crate::state::{App, held};
use axum::Extension;
use axum::extract::{ConnectInfo, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use door::{Authority, Device};
use farmbook::Farm;
use maud::{Markup, PreEscaped, html};
use std::time::Instant;

type Far = Option<Extension<FromNetwork>>;

pub(crate) async fn show(
    State(app): State<App>,
    far: Far,
    headers: HeaderMap,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    let farm = app.farm().await?;
    if far.is_some() {
        let mine = device(&app, &headers).await?;
        let authority = at_door(&app, door::Door::authority).await?;
        return Ok(page(
            &farm,
            "",
            "This phone",
            &on_phone(mine.as_ref(), &authority)?,
        ));
    }
    let done = match Fields(query).text("done") {
        "set" => Some("The password is set."),
        "open" => Some("Phones on this network are let in."),
        "closed" => Some("Only this computer can open the book now."),
        "out" => Some("That phone is shut out. What it kept for use without a signal stays on it."),
        _ => None,
    };
    here(&app, &farm, done, None).await
}

async fn here(
    app: &App,
    farm: &Farm,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let (authority, devices) = at_door(app, |d| {
        let authority = d.is_set()?.then(|| d.authority()).transpose()?;
        Ok((authority, d.devices()?))
    })
    .await?;
    let open = app.network.open_at();
    let body = html! {
        div {
            h1 { "Phones" }
            @match &open {
                Some(_) => p.lede { "Phones on this network can open the book with the password." }
                None => p.lede { "Only this computer can open the book. Let phones on the farm’s own network in, and the crew ticks off cores and writes down jobs where they stand." }
            }
            (said(done))
            (wrong(problem))
            @match (&open, &authority) {
                (Some(at), Some(authority)) => (opened(at, authority)?),
                (_, Some(_)) => {
                    form method="post" action="/phones/open" { button { "Let phones in" } }
                    p.meta { "Until you close it here or this program stops." }
                }
                (_, None) => (password("Set the password")),
            }
            @if authority.is_some() {
                h2 { "Let in so far" }
                (let_in(&devices))
                details {
                    summary { "Another password" }
                    p { "Every phone has to give the new one then." }
                    (password("Change the password"))
                }
            }
        }
        aside {
            h3 { "Who can do what" }
            p { "Whoever has the password can read and change everything in the book. Each change is noted under the name given at the phone, and can be undone." }
            p { "Do this on the farm’s own network alone, not on one that strangers use. Addresses of the internet are turned away." }
        }
    };
    Ok(page(farm, "", "Phones", &body))
}

fn password(words: &str) -> Markup {
    html! {
        form method="post" action="/phones" {
            div.row {
                div.field {
                    label for="password" { "Password for phones " small { "at least " (door::SHORTEST) " letters" } }
                    input id="password" name="password" type="password" autocomplete="new-password" minlength=(door::SHORTEST) required;
                }
                div.field {
                    label for="again" { "The same again" }
                    input id="again" name="again" type="password" autocomplete="new-password" required;
                }
            }
            p { button { (words) } }
        }
    }
}

fn opened(at: &OpenAt, authority: &Authority) -> Result<Markup, Page> {
    let close = html! {
        form method="post" action="/phones/close" data-port=(at.port) { button.q { "Shut phones out" } }
    };
    let links = at.links();
    let first = links.first().map_or("", String::as_str);
    if at.addresses.is_empty() {
        return Ok(html! {
            p.wrong role="alert" { "This computer is on no network that a phone could be on too. Join the farm’s Wi-Fi, shut phones out here and let them in again." }
            (close)
        });
    }
    let code = sheets::address_code(first)?;
    Ok(html! {
        h2 { "On the phone" }
        ol {
            li {
                "Open " b.num { (first) } ", or hold the camera at this code:"
                div.code { (PreEscaped(code)) }
                @if links.len() > 1 {
                    p.meta { "If that does not open: " (links[1..].join(", or ")) "." }
                }
            }
            li { "The phone warns that it does not know this computer yet. Let it show the page all the same, once." }
            li { "Give your name and the password." }
            li { "For pages that open without a signal, take in the certificate that “Phones” at the foot of each page offers there, and compare its fingerprint (SHA-256):"
                p.fingerprint.num { (authority.fingerprint()?) }
            }
        }
        (close)
    })
}

fn let_in(devices: &[Device]) -> Markup {
    if devices.is_empty() {
        return html! { p { "No phone has given the password yet." } };
    }
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows {
            thead { tr { th.l scope="col" { "Name" } th.l scope="col" { "Since" } th.l scope="col" { "Last seen" } th.l scope="col" { "" } } }
            tbody { @for d in devices { tr {
                td.l { b { (d.name) } }
                td.l.num { (d.since) }
                td.l.num { (d.last_seen) }
                td.l { form method="post" action={ "/phones/" (d.id) "/out" } { button.link aria-label={ "Shut out " (d.name) } { "Shut out" } } }
            } } }
        } }
    }
}

fn on_phone(mine: Option<&Device>, authority: &Authority) -> Result<Markup, Page> {
    Ok(html! {
        div {
            h1 { "This phone" }
            @if let Some(d) = mine {
                p.lede { "Let in as " b { (d.name) } " since " (d.since) ". What you change is noted under this name." }
            }
            h2 { "Without a signal" }
            p { "Boxes and the Log open without a signal once the phone trusts the farm’s computer. Until then, leave a page open while you are out: what you write on it is kept and sent later." }
            ol {
                li { a href="/phones/certificate" { "Take the certificate" } " of " b { (authority.name()) } "." }
                li { "Android: in the settings look for “install a certificate”, then “CA certificate”, and choose the file. iPhone: let the profile load, install it in the settings, and turn it on under the certificate trust settings. Names differ from phone to phone." }
                li { "Its fingerprint (SHA-256) must be the one that the farm’s computer shows on its page “Phones”:" p.fingerprint.num { (authority.fingerprint()?) } }
                li { "Close the browser and open this address again: the warning is gone." }
            }
            p.meta { "It can vouch for addresses of home networks alone, and for no site of the internet. Take it off the phone when you leave the farm." }
            form method="post" action="/phones/leave" { button.q { "Sign this phone out" } }
        }
    })
}

/// The password for phones, typed twice.
pub(crate) async fn set(
    State(app): State<App>,
    far: Far,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    only_here(far.as_ref())?;
    let farm = app.farm().await?;
    let f = Fields(fields);
    // As typed: a space at either end is part of a password.
    let (password, again) = (f.raw("password").to_owned(), f.raw("again"));
    let why = if password == again {
        let name = farm.name.clone();
        match at_door(&app, move |d| d.set_password(&password, &name, today())).await {
            Ok(()) => return Err(Page::Go("/phones?done=set".to_owned())),
            Err(why) => why.says(),
        }
    } else {
        "The two passwords differ; type the same twice.".to_owned()
    };
    here(&app, &farm, None, Some(&why)).await
}

pub(crate) async fn open(State(app): State<App>, far: Far) -> Result<Markup, Page> {
    only_here(far.as_ref())?;
    match network::open(&app, today()).await {
        Ok(_) => Err(Page::Go("/phones?done=open".to_owned())),
        Err(why) => here(&app, &app.farm().await?, None, Some(&why.says())).await,
    }
}

pub(crate) async fn close(State(app): State<App>, far: Far) -> Result<Redirect, Page> {
    only_here(far.as_ref())?;
    app.network.close();
    Ok(Redirect::to("/phones?done=closed"))
}

pub(crate) async fn out(
    State(app): State<App>,
    far: Far,
    At(id): At<u32>,
) -> Result<Redirect, Page> {
    only_here(far.as_ref())?;
    at_door(&app, move |d| d.shut_out(id)).await?;
    Ok(Redirect::to("/phones?done=out"))
}

pub(crate) async fn certificate(State(app): State<App>) -> Result<Response, Page> {
    let authority = at_door(&app, door::Door::authority)
        .await
        .map_err(|why| Page::Missing(why.says()))?;
    let kind = "application/x-x509-ca-cert";
    Ok(crate::files::download(
        "farm-certificate.crt",
        kind,
        authority.pem().as_bytes().to_vec(),
    ))
}

/// Takes this phone’s own pass away.
pub(crate) async fn leave(
    State(app): State<App>,
    far: Far,
    headers: HeaderMap,
) -> Result<Response, Page> {
    if far.is_some()
        && let Some(mine) = device(&app, &headers).await?
    {
        at_door(&app, move |d| d.shut_out(mine.id)).await?;
    }
    let gone = format!("{COOKIE}=; Path=/; Secure; HttpOnly; SameSite=Lax; Max-Age=0");
    Ok(([(header::SET_COOKIE, gone)], Redirect::to("/")).into_response())
}

/// An address of these pages, from the root and nowhere else.
fn inside(to: &str) -> &str {
    let ours = to.starts_with('/') && !to.starts_with("//") && !to.contains('\\');
    if ours && !to.chars().any(char::is_control) {
        to
    } else {
        "/"
    }
}

fn asks(to: &str, name: &str, problem: Option<&str>) -> Markup {
    let body = html! {
        div {
            h1 { "Come in" }
            p.lede { "This is a farm’s book. The password is the one that was set on the computer that keeps it." }
            (wrong(problem))
            form method="post" action="/sign-in" {
                input type="hidden" name="to" value=(to);
                div.field {
                    label for="name" { "Your name" }
                    input id="name" name="name" value=(name) autocomplete="name" required maxlength="60";
                }
                div.field {
                    label for="password" { "Password" }
                    input id="password" name="password" type="password" autocomplete="current-password" required;
                }
                p { button { "Come in" } }
            }
        }
    };
    bare("Come in", &body)
}

pub(crate) async fn sign_in(far: Far, Asked(query): Asked) -> Result<Markup, Page> {
    if far.is_none() {
        return Err(Page::Go("/".to_owned()));
    }
    Ok(asks(inside(Fields(query).text("to")), "", None))
}

pub(crate) async fn come_in(
    State(app): State<App>,
    far: Far,
    from: Option<Extension<ConnectInfo<Peer>>>,
    Sent(fields): Sent,
) -> Result<Response, Page> {
    if far.is_none() {
        return Err(Page::Go("/".to_owned()));
    }
    let f = Fields(fields);
    let (to, name) = (inside(f.text("to")).to_owned(), f.text("name").to_owned());
    let peer = network::peer(from.as_ref()).ip();
    let misses = || held(&app.network.misses);
    if let Some(minutes) = misses().wait(peer, Instant::now()) {
        let why = format!(
            "Too many wrong passwords came from here; try again in {minutes} min, or ask at the computer that keeps the book."
        );
        let body = asks(&to, &name, Some(&why));
        return Ok((StatusCode::TOO_MANY_REQUESTS, body).into_response());
    }
    // Counted before it is looked at: tries made side by side count each.
    misses().note(peer, Instant::now());
    let password = f.raw("password").to_owned();
    let called = name.clone();
    match at_door(&app, move |d| d.let_in(&password, &called, today())).await? {
        Some(pass) => {
            misses().forgive(peer);
            let year = 365 * 24 * 3600;
            let cookie = format!(
                "{COOKIE}={}; Path=/; Secure; HttpOnly; SameSite=Lax; Max-Age={year}",
                pass.text()
            );
            Ok(([(header::SET_COOKIE, cookie)], Redirect::to(&to)).into_response())
        }
        None => {
            let body = asks(
                &to,
                &name,
                Some(
                    "That is not the password. Ask at the computer that keeps the book, or type it again.",
                ),
            );
            Ok((StatusCode::UNAUTHORIZED, body).into_response())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::inside;

    #[test]
    fn signing_in_leads_nowhere_else() {
        for (to, kept) in [
            ("/log/new?job=3&pass=2", "/log/new?job=3&pass=2"),
            ("//elsewhere.example", "/"),
            ("/\\elsewhere.example", "/"),
            ("https://elsewhere.example", "/"),
            ("/a\r\nset-cookie: x", "/"),
            ("", "/"),
        ] {
            assert_eq!(inside(to), kept);
        }
    }
}
