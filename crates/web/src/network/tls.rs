//! Connections of other devices: from networks of one’s own alone, and over TLS.

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use door::Certificate;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::AsyncWriteExt;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use tokio_rustls::server::TlsStream;

/// How long a device may take to greet.
const PATIENCE: Duration = Duration::from_secs(10);
/// Greetings heard at a time.
const AT_ONCE: usize = 32;
/// The first byte of a TLS greeting (RFC 8446, record type handshake).
const HANDSHAKE: u8 = 0x16;

/// Where a device is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Peer(pub(crate) SocketAddr);

impl Connected<IncomingStream<'_, TlsListener>> for Peer {
    fn connect_info(stream: IncomingStream<'_, TlsListener>) -> Self {
        Self(*stream.remote_addr())
    }
}

pub(crate) struct TlsListener {
    at: SocketAddr,
    greeted: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
}

impl TlsListener {
    /// # Errors
    /// The certificate and its key do not fit one another.
    pub(crate) fn new(listener: TcpListener, certificate: Certificate) -> Result<Self, String> {
        let chain = certificate.chain.into_iter().map(CertificateDer::from);
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(certificate.key));
        let mut config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .and_then(|c| {
                c.with_no_client_auth()
                    .with_single_cert(chain.collect(), key)
            })
            .map_err(|e| format!("The certificate for phones cannot be used ({e})."))?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        let at = listener.local_addr().map_err(|e| e.to_string())?;
        let (send, greeted) = mpsc::channel(AT_ONCE);
        tokio::spawn(greet_all(
            listener,
            TlsAcceptor::from(Arc::new(config)),
            send,
        ));
        Ok(Self { at, greeted })
    }

    pub(crate) fn port(&self) -> u16 {
        self.at.port()
    }
}

type Greeted = mpsc::Sender<(TlsStream<TcpStream>, SocketAddr)>;

/// Hears greetings side by side, so that a slow device holds no other up; ends with the listener.
async fn greet_all(listener: TcpListener, tls: TlsAcceptor, send: Greeted) {
    let seats = Arc::new(Semaphore::new(AT_ONCE));
    loop {
        let Ok(seat) = Arc::clone(&seats).acquire_owned().await else {
            return;
        };
        let (stream, peer) = tokio::select! {
            () = send.closed() => return,
            came = listener.accept() => match came {
                Ok(came) => came,
                // Out of handles, most likely: let some go first.
                Err(_) => { sleep(Duration::from_millis(200)).await; continue }
            },
        };
        if !door::is_near(peer.ip()) {
            continue;
        }
        let (tls, send) = (tls.clone(), send.clone());
        tokio::spawn(async move {
            let _seat = seat;
            if let Ok(Some(stream)) = timeout(PATIENCE, greet(stream, tls)).await {
                let _ = send.send((stream, peer)).await;
            }
        });
    }
}

async fn greet(stream: TcpStream, tls: TlsAcceptor) -> Option<TlsStream<TcpStream>> {
    let mut first = [0];
    if stream.peek(&mut first).await.ok()? == 0 {
        return None;
    }
    if first[0] != HANDSHAKE {
        show_the_way(stream).await;
        return None;
    }
    tls.accept(stream).await.ok()
}

/// An address typed without `https://` is asked for in plain HTTP: send the phone to the right one.
async fn show_the_way(mut stream: TcpStream) {
    let Ok(here) = stream.local_addr() else {
        return;
    };
    let answer = format!(
        "HTTP/1.1 307 Temporary Redirect\r\nlocation: https://{here}/\r\ncontent-length: 0\r\nconnection: close\r\n\r\n"
    );
    let _ = stream.write_all(answer.as_bytes()).await;
    let _ = stream.shutdown().await;
    // What the device still says is heard, or its own failure would hide the answer.
    let mut rest = [0; 4096];
    while let Ok(n) = tokio::io::AsyncReadExt::read(&mut stream, &mut rest).await
        && n > 0
    {}
}

impl Listener for TlsListener {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.greeted.recv().await {
            Some(came) => came,
            // The other end never hangs up before this one.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> std::io::Result<SocketAddr> {
        Ok(self.at)
    }
}
