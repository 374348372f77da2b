//! The pages for other devices of the farm’s network: shut until the grower asks, then over TLS and with a
//! password.

pub(crate) mod entry;
mod misses;
mod tls;

use crate::error::Page;
use crate::state::{App, held};
use crate::{every_page, guard};
use axum::middleware;
use door::{Door, DoorError};
use jiff::civil::Date;
use misses::Misses;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::{Arc, Mutex};
pub(crate) use tls::Peer;
use tls::TlsListener;
use tokio::net::TcpListener;
use tokio::sync::oneshot;

/// The port for other devices, next to the one of this computer’s own pages.
pub const NETWORK_PORT: u16 = 8738;

impl From<DoorError> for Page {
    fn from(e: DoorError) -> Self {
        Self::Sentence(e.to_string())
    }
}

/// A request that came from another device.
#[derive(Clone, Copy)]
pub(crate) struct FromNetwork;

/// The way in for other devices.
pub(crate) struct Network {
    pub(crate) door: Door,
    pub(crate) port: u16,
    pub(crate) misses: Mutex<Misses>,
    open: Mutex<Option<Open>>,
}

struct Open {
    at: OpenAt,
    /// Dropped or sent to, it ends the serving.
    _stop: oneshot::Sender<()>,
}

/// Where the pages stand open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenAt {
    pub addresses: Vec<Ipv4Addr>,
    /// The name that networks which announce names know this computer by.
    pub name: Option<String>,
    pub port: u16,
}

impl OpenAt {
    /// Whether this is a name of this computer; any other is somebody’s who points at it.
    pub(crate) fn is_called(&self, host: &str) -> bool {
        self.name.as_deref() == Some(host)
            || host
                .parse::<Ipv4Addr>()
                .is_ok_and(|a| self.addresses.contains(&a) || a == Ipv4Addr::LOCALHOST)
    }

    /// Every address as a phone is given it, the likeliest first.
    pub fn links(&self) -> Vec<String> {
        let names = self.addresses.iter().map(ToString::to_string);
        names
            .chain(self.name.clone())
            .map(|host| format!("https://{host}:{}", self.port))
            .collect()
    }
}

impl Network {
    pub(crate) fn beside(book: &Path) -> Self {
        Self {
            door: Door::beside(book),
            port: NETWORK_PORT,
            misses: Mutex::default(),
            open: Mutex::new(None),
        }
    }

    pub(crate) fn open_at(&self) -> Option<OpenAt> {
        held(&self.open).as_ref().map(|o| o.at.clone())
    }

    /// The address to give a phone; none while the pages are shut to them.
    pub(crate) fn link(&self) -> Option<String> {
        self.open_at()?.links().into_iter().next()
    }

    pub(crate) fn close(&self) {
        *held(&self.open) = None;
    }
}

/// Opens the pages to other devices of the network, until they are closed or the program stops.
///
/// # Errors
/// No password is set, or the port is taken.
pub(crate) async fn open(app: &App, today: Date) -> Result<OpenAt, Page> {
    let network = Arc::clone(&app.network);
    if let Some(at) = network.open_at() {
        return Ok(at);
    }
    let addresses = door::addresses();
    let certificate = network.door.certificate(&addresses, today)?;
    let listener = bound(network.port).await.map_err(|e| {
        Page::Sentence(format!(
            "Port {} cannot be used for phones ({e}); another program, or this one a second time, may have it.",
            network.port
        ))
    })?;
    let listener = TlsListener::new(listener, certificate).map_err(Page::Sentence)?;
    let at = OpenAt {
        addresses,
        name: door::host_name(),
        port: listener.port(),
    };
    let (stop, stopped) = oneshot::channel();
    let pages = network_routes(app.clone());
    tokio::spawn(async move {
        let serving = axum::serve(
            listener,
            pages.into_make_service_with_connect_info::<Peer>(),
        );
        let _ = serving
            .with_graceful_shutdown(async {
                let _ = stopped.await;
            })
            .await;
    });
    *held(&network.open) = Some(Open {
        at: at.clone(),
        _stop: stop,
    });
    Ok(at)
}

/// A port that was closed a moment ago may take another moment to be free.
async fn bound(port: u16) -> std::io::Result<TcpListener> {
    let mut tries = 0;
    loop {
        match TcpListener::bind((Ipv4Addr::UNSPECIFIED, port)).await {
            Err(e) if e.kind() == std::io::ErrorKind::AddrInUse && tries < 10 => {
                tries += 1;
                tokio::time::sleep(std::time::Duration::from_millis(100)).await;
            }
            done => return done,
        }
    }
}

/// Runs work on the door away from the threads that answer: it reads a file, and a password takes a moment
/// by design.
pub(crate) async fn at_door<T: Send + 'static>(
    app: &App,
    work: impl FnOnce(&Door) -> door::Result<T> + Send + 'static,
) -> Result<T, Page> {
    let network = Arc::clone(&app.network);
    tokio::task::spawn_blocking(move || work(&network.door))
        .await
        .map_err(|_| Page::sentence("The password could not be handled; try again."))?
        .map_err(Page::from)
}

/// Every page and form as another device reaches it.
fn network_routes(app: App) -> axum::Router {
    every_page(app.clone())
        .layer(middleware::from_fn_with_state(app.clone(), entry::entry))
        .layer(middleware::from_fn_with_state(app, guard::from_network))
        .layer(middleware::from_fn(crate::drain::drain))
}

/// Asked of the pages that only the computer itself may show.
pub(crate) fn only_here(from: Option<&axum::Extension<FromNetwork>>) -> Result<(), Page> {
    match from {
        None => Ok(()),
        Some(_) => Err(Page::sentence(
            "This is done on the computer that keeps the book, not from another device.",
        )),
    }
}

/// The address that a request came from; this computer’s own where it came without a network.
pub(crate) fn peer(from: Option<&axum::Extension<axum::extract::ConnectInfo<Peer>>>) -> SocketAddr {
    from.map_or(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)), |c| c.0.0.0)
}
