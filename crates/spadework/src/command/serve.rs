use anyhow::Context;
use clap::Args;
use farmbook::Book;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// Not a port of any known service.
pub(super) const PORT: u16 = 8737;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework serve farm.book\n  spadework serve farm.book --port 9000"
)]
pub(crate) struct Serve {
    /// The book
    book: PathBuf,
    /// The port on this computer; 0 takes a free one
    #[arg(long, default_value_t = PORT)]
    port: u16,
}

pub(super) fn run(args: Serve, json: bool) -> anyhow::Result<()> {
    open(Book::open(&args.book)?, args.port, json)
}

/// Serves a book on loopback until it is stopped.
pub(super) fn open(book: Book, port: u16, json: bool) -> anyhow::Result<()> {
    let app = web::App::new(book);
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?
        .block_on(web::serve(app, address, |at| {
            if json {
                println!(
                    "{}",
                    serde_json::json!({ "address": format!("http://{at}/") })
                );
            } else {
                println!("Open http://{at}/ in your browser. Stop with Ctrl-C.");
            }
        }))
        .with_context(|| format!("Port {port} on this computer cannot be used; try --port 0"))
}
